"""The solver under fit against another program, brute force and its own promises."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from batchwright.formula.fitting.clash import Member, clashing, without
from batchwright.formula.fitting.solver import MISS_SLACK, Program, possible, solve


def invented(seed: int, lines: int = 8, wishes: int = 4, reach: float = 0.02, step: float = 0.0) -> Program:
    """Return a task that can be done: wishes drawn round another mix of the same mass."""
    random = np.random.default_rng(seed)
    start = random.uniform(5.0, 200.0, lines)
    total = float(start.sum())
    content = random.uniform(0.0, 1.0, (wishes, lines))
    other = start * random.uniform(0.6, 1.4, lines)
    other *= total / other.sum()
    wanted = content @ other / total
    rows = np.concatenate([content - (1 - reach) * wanted[:, None], (1 + reach) * wanted[:, None] - content])
    steps = np.zeros(lines)
    steps[0] = step
    return Program(
        start, np.zeros(lines), np.full(lines, total), steps, np.full(lines, 0.15),
        1.0 / np.maximum(start, 0.02 * total), np.ones((1, lines)), np.array([total]), np.array([total]),
        rows, np.zeros(2 * wishes), np.full(2 * wishes, np.inf), np.ones(2 * wishes), np.zeros((2 * wishes, lines)),
    )  # fmt: skip


def by_milp(program: Program) -> float:
    """Return the least cost of change by scipy, written down from the task anew: up, down and a mark for each line."""
    n = len(program.start)
    eye, none = np.eye(n), np.zeros((n, n))
    reach = np.maximum(program.high, program.start)
    asked = np.hstack([program.rows, -program.rows, np.zeros_like(program.rows)])
    ruled = np.hstack([program.rules, -program.rules, np.zeros_like(program.rules)])
    found = milp(
        np.concatenate([program.per_gram, program.per_gram, program.touch]),
        constraints=[
            LinearConstraint(np.hstack([eye, eye, -np.diag(reach)]), -np.inf, 0.0),
            LinearConstraint(np.hstack([eye, -eye, none]), program.low - program.start, program.high - program.start),
            LinearConstraint(asked, program.rows_low - program.rows @ program.start, np.inf),
            LinearConstraint(ruled, program.rules_low - program.rules @ program.start,
                             program.rules_high - program.rules @ program.start),
        ],
        bounds=Bounds(np.zeros(3 * n), np.concatenate([np.full(2 * n, np.inf), np.ones(n)])),
        integrality=np.repeat([0, 0, 1], n), options={"mip_rel_gap": 0.0},
    )  # fmt: skip
    return float(found.fun) if found.success else np.inf


@pytest.mark.parametrize("seed", range(6))
def test_least_change_agrees_with_another_solver(seed: int) -> None:
    program = invented(seed)
    found = solve(program)
    assert found is not None
    assert found.change == pytest.approx(by_milp(program), rel=1e-5)


@pytest.mark.parametrize("seed", range(12))
def test_what_is_found_holds(seed: int) -> None:
    program = invented(seed, lines=10, step=25.0 if seed % 2 else 0.0)
    found = solve(program)
    assert found is not None
    assert found.grams.sum() == pytest.approx(program.start.sum(), abs=1e-5), "mass is kept"
    assert (found.grams >= program.low - 1e-9).all()
    assert (found.grams <= program.high + 1e-9).all()
    if found.miss < 1e-9:
        assert (program.rows @ found.grams >= program.rows_low - 1e-4).all()
    if program.step[0]:
        whole = found.grams[0] == program.start[0] or found.grams[0] % 25.0 == pytest.approx(0.0, abs=1e-9)
        assert whole, "in whole steps once it is changed"


def test_locked_lines_do_not_move() -> None:
    program = invented(3, wishes=2, reach=0.2)
    low, high = program.low.copy(), program.high.copy()
    low[2] = high[2] = program.start[2]
    found = solve(replace(program, low=low, high=high))
    assert found is not None
    assert found.grams[2] == program.start[2]


def test_nothing_is_changed_where_all_is_well() -> None:
    program = invented(1)
    reached = solve(program)
    assert reached is not None
    again = solve(replace(program, start=reached.grams))
    assert again is not None
    assert again.change == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_whole_steps_against_every_combination(seed: int) -> None:
    """Three lines in steps: all amounts tried by hand, wishes held, none cheaper."""
    random = np.random.default_rng(seed)
    start, step = np.array([50.0, 30.0, 40.0]), np.array([25.0, 10.0, 20.0])
    content = random.uniform(0.0, 1.0, (1, 3))
    goal = content @ (step * random.integers(0, 5, 3) + 1e-9)
    program = Program(
        start, np.zeros(3), np.full(3, 100.0), step, np.full(3, 0.3), 1.0 / start,
        np.zeros((0, 3)), np.zeros(0), np.zeros(0), content, goal - 1.0, goal + 1.0, np.ones(1),
        np.zeros((1, 3)),
    )  # fmt: skip
    best = np.inf
    tables = [sorted({start[at], *np.arange(0.0, 100.1, step[at])}) for at in range(3)]
    for grams in np.array(np.meshgrid(*tables)).reshape(3, -1).T:
        if abs(float((content @ grams - goal)[0])) <= 1.0:
            moved = np.abs(grams - start)
            best = min(best, float((moved > 0) @ program.touch + moved @ program.per_gram))
    found = solve(program)
    assert found is not None
    if np.isfinite(best):
        assert found.miss == pytest.approx(0.0, abs=1e-6)
        assert found.change == pytest.approx(best, rel=1e-6)
    else:
        assert found.miss > 1e-6


def test_the_nearest_misses_least() -> None:
    """Two wishes that exclude each other: the one that costs more is met, the other missed by what is left."""
    rows = np.array([[1.0, 0.0], [1.0, 0.0]])
    program = Program(
        np.array([50.0, 50.0]), np.zeros(2), np.full(2, 100.0), np.zeros(2), np.full(2, 0.1), np.full(2, 0.01),
        np.ones((1, 2)), np.array([100.0]), np.array([100.0]),
        rows, np.array([70.0, -np.inf]), np.array([np.inf, 40.0]), np.array([5.0, 1.0]),
        np.zeros((2, 2)),
    )  # fmt: skip
    found = solve(program)
    assert found is not None
    assert found.grams[0] == pytest.approx(70.0, abs=0.5)
    assert found.miss == pytest.approx(30.0, abs=1.0)


@pytest.mark.parametrize("seed", range(6))
def test_a_share_is_missed_by_its_own_share(seed: int) -> None:
    """Two shares that cannot both be had: no amounts of a fine grid come nearer, and no small batch passes for near."""
    random = np.random.default_rng(seed)
    start, content = np.array([60.0, 30.0, 10.0]), random.uniform(0.0, 1.0, 3)
    over = np.array([1.0, 0.8, 0.9])
    here = float(content @ start / (over @ start))
    wanted = (0.7 * here, 1.3 * here)  # at most, at least
    rows = np.array([content - end * over for end in wanted])
    program = Program(
        start, np.array([60.0, 0.0, 0.0]), np.array([60.0, 300.0, 300.0]), np.zeros(3), np.full(3, 0.15), 1.0 / start,
        np.zeros((0, 3)), np.zeros(0), np.zeros(0), rows, np.array([-np.inf, 0.0]), np.array([0.0, np.inf]),
        np.array([1.0, 2.0]) / float(over @ start), np.tile(over / float(over @ start), (2, 1)),
    )  # fmt: skip
    found = solve(program)
    assert found is not None

    def miss(grams: np.ndarray) -> float:
        share = float(content @ grams / (over @ grams))
        return max(share - wanted[0], 0.0) + 2.0 * max(wanted[1] - share, 0.0)

    grid = [np.array([60.0, one, other]) for one in np.linspace(0, 300, 61) for other in np.linspace(0, 300, 61)]
    best = min(miss(grams) for grams in grid)
    assert found.miss == pytest.approx(miss(found.grams), abs=1e-6)
    assert found.miss <= best + MISS_SLACK * (miss(start) - best) + 1e-6


def test_twenty_lines_and_twelve_limits_do_not_take_long() -> None:
    """A tenth of a second on a quiet machine; the margin is for slow and busy ones."""
    program = invented(2, lines=20, wishes=6, reach=0.05, step=25.0)
    began = time.process_time()
    found = solve(program)
    assert found is not None
    assert found.proven
    assert time.process_time() - began < 5.0


def test_the_clock_of_one_task_does_not_run_into_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    """The library counts its time over all tasks of a process; a limit has to count from where it stands."""
    monkeypatch.setattr("batchwright.formula.fitting.solver.LONGEST_S", 0.5)
    program = invented(1, lines=6, wishes=2, reach=0.1)
    began = time.perf_counter()
    while time.perf_counter() - began < 1.5:
        found = solve(program)
        assert found is not None
        assert found.proven


def test_rules_that_contradict_each_other_have_no_answer() -> None:
    program = invented(0)
    assert solve(replace(program, rules_low=program.rules_low + 1e4, rules_high=program.rules_high + 1e4)) is None


@pytest.mark.parametrize("seed", range(10))
def test_clash_sets_are_smallest(seed: int) -> None:
    """No member can be spared: without any one of them the rest holds."""
    program = invented(seed, lines=6, wishes=4, reach=0.01)
    random = np.random.default_rng(seed)
    harder = replace(program, rows_low=program.rows_low + random.choice([0.0, 40.0], len(program.rows)))
    low, high = harder.low.copy(), harder.high.copy()
    low[1] = high[1] = harder.start[1]
    harder = replace(harder, low=low, high=high)
    members = [Member("line", 1, "lock"), Member("rule", 0, "mass")]
    members += [Member("row", at, f"wish {at}") for at in range(len(harder.rows))]
    blamed = clashing(harder, members, 1e4)
    if possible(harder):
        assert blamed == ()
        return
    spared = [member for member in members if member not in blamed]
    assert blamed, "something must be to blame"
    assert not possible(without(harder, spared, 1e4)), "they cannot hold together"
    for one in blamed:
        assert possible(without(harder, [*spared, one], 1e4)), f"{one.name} could be spared"


def test_a_clash_of_two_is_found_among_many() -> None:
    program = invented(5)
    rows = np.vstack([program.rows, np.eye(8)[0], np.eye(8)[0]])
    low = np.concatenate([program.rows_low, [90.0, -np.inf]])
    high = np.concatenate([program.rows_high, [np.inf, 10.0]])
    harder = replace(program, rows=rows, rows_low=low, rows_high=high, miss_cost=np.ones(len(rows)),
                     bases=np.zeros(rows.shape))  # fmt: skip
    members = [Member("row", at, str(at)) for at in range(len(rows))]
    names = [member.place for member in clashing(harder, members, 1e4)]
    assert names == [len(rows) - 2, len(rows) - 1]
