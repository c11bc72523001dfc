"""Sure ranges against plain linear programs, ratios, moisture, and lists of any length."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from batchwright.base.errors import InputError
from batchwright.original.region.bounds import bounds_of, linear_form, ratio_bounds, region, sure_bounds
from batchwright.original.region.chains import answers_by_chains
from batchwright.original.region.highs import answers_by_highs
from batchwright.original.region.problem import PanelRow, Problem, Row
from tests.clock import within
from tests.original.invented import Invented, invented_label


def varied(count: int, seed: int) -> list[Invented]:
    """Return invented labels of all sorts."""
    luck = np.random.default_rng(seed)
    sizes = luck.integers(4, 12, count)
    return [
        invented_label(luck, int(sizes[number]), 1 + number % 3, 0.1 * (number % 2), number % 5 == 0)
        for number in range(count)
    ]


def plain_rows(problem: Problem) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return A_ub, b_ub, A_eq, b_eq written straight from what a label says, sharing no code with the package."""
    n, m = problem.n, problem.m
    upper: list[np.ndarray] = []
    limits: list[float] = []

    def at_most(row: np.ndarray, limit: float) -> None:
        upper.append(row)
        limits.append(limit)

    for part in range(m):
        mass, loss_cap, water = np.zeros(n + m), np.zeros(n + m), np.zeros(n + m)
        for i in range(n):
            if problem.part_of[i] == part:
                mass[i] = -1.0
                loss_cap[i] = 1.0 - problem.loss_max
                water[i] = 1.0 - problem.water_high[i] / 100.0
        mass[n + part], loss_cap[n + part], water[n + part] = 1.0, -1.0, -1.0
        for row in (mass, loss_cap, water):
            at_most(row, 0.0)
    for demand in problem.rows:
        row = np.zeros(n + m)
        for place, factor in demand.coefficients.items():
            row[place] = factor
        if np.isfinite(demand.high):
            at_most(row, demand.high)
        if np.isfinite(demand.low):
            at_most(-row, -demand.low)
    for figure in problem.panel:
        k = problem.nutrients.index(figure.nutrient)
        over, under = np.zeros(n + m), np.zeros(n + m)
        over[:n], over[n:] = problem.low[k], -figure.high
        under[:n], under[n:] = -problem.high[k], figure.low
        at_most(over, 0.0)
        at_most(under, 0.0)
    whole = np.zeros((1, n + m))
    whole[0, :n] = 1.0
    return np.array(upper), np.array(limits), whole, np.ones(1)


def starch_and_oil(rows: tuple[Row, ...], panel: tuple[PanelRow, ...]) -> Problem:
    """Return two dry ingredients, the second pure fat."""
    fat, dry = np.array([[0.0, 100.0]]), np.zeros(2)
    return Problem(
        ("starch", "oil"), (0, 0), ("whole",), ("fat_g",), fat, 0 * fat, fat, fat, dry, dry, dry, rows, panel
    )


def test_sure_ranges_equal_a_plain_linear_program_on_200_labels() -> None:
    """Every end within 0.01 point, and the formula the label was printed from inside."""
    for label in varied(200, seed=11):
        problem = label.problem
        A_ub, b_ub, A_eq, b_eq = plain_rows(problem)
        found = sure_bounds(problem)
        assert found.feasible
        low, high = np.append(found.low, found.finished_low), np.append(found.high, found.finished_high)
        for place in range(problem.n + problem.m):
            cost = np.zeros(problem.n + problem.m)
            cost[place] = 1.0
            least = linprog(cost, A_ub=A_ub, b_ub=b_ub, A_eq=A_eq, b_eq=b_eq, bounds=(0, None), method="highs")
            most = linprog(-cost, A_ub=A_ub, b_ub=b_ub, A_eq=A_eq, b_eq=b_eq, bounds=(0, None), method="highs")
            assert 100.0 * abs(low[place] - least.fun) <= 0.01
            assert 100.0 * abs(high[place] + most.fun) <= 0.01
        assert (low <= label.truth + 1e-7).all()
        assert (label.truth <= high + 1e-7).all()


def test_both_solvers_agree() -> None:
    """The tableau's ends are those of HiGHS."""
    for label in varied(20, seed=3):
        rows, limits, equal, _ = region(label.problem).demands()
        size = rows.shape[1]
        other = answers_by_highs(rows, limits, equal, np.eye(size), np.repeat([-1.0, 1.0], size)).values
        found = sure_bounds(label.problem)
        own = np.concatenate([found.low, found.finished_low, found.high, found.finished_high])
        assert own == pytest.approx(other, abs=1e-7)
        stepped = answers_by_chains(rows, limits, equal, np.eye(size), np.repeat([-1.0, 1.0], size))
        assert own == pytest.approx(stepped.values, abs=1e-7)
        # multipliers prove each end: no point of the region lies beyond
        pushed = stepped.multipliers @ rows - stepped.at_zero
        assert pushed == pytest.approx(np.concatenate([-np.eye(size), np.eye(size)]), abs=1e-6)
        assert np.abs(stepped.multipliers @ limits) == pytest.approx(own, abs=1e-6)


def test_rows_hold_at_the_truth_and_name_their_lines() -> None:
    """G x <= h at the true formula; an equality is two rows; without the panel no panel row."""
    label = invented_label(np.random.default_rng(4), parts=2)
    G, h, lines, families = linear_form(label.problem)
    assert len(h) == len(lines) == len(families) == len(G)
    assert (G @ label.truth <= h + 1e-9).all()
    assert set(lines) >= {row.line for row in (*label.problem.rows, *label.problem.panel)}
    assert np.array_equal(G[0], -G[1])
    assert h[0] == -h[1]
    assert "panel" not in linear_form(label.problem, include_panel=False)[3]


def test_impossible_label_has_no_ranges() -> None:
    """More fat than the fattest ingredient holds: not feasible, nothing invented."""
    problem = invented_label(np.random.default_rng(5)).problem
    found = sure_bounds(replace(problem, panel=(PanelRow("fat_g", 150.0, 160.0, "fat 150 g"),)))
    assert not found.feasible
    assert np.isnan(found.low).all()
    assert np.isnan(found.finished_high).all()


def test_fixed_share_and_half_share() -> None:
    """Two ingredients in order, one of them pure fat: worked by hand."""
    order = Row({0: 1.0, 1: -1.0}, 0.0, np.inf, "order: starch before oil", "order")
    problem = starch_and_oil((order,), ())
    found = sure_bounds(problem)
    assert found.low == pytest.approx([0.5, 0.0])
    assert found.high == pytest.approx([1.0, 0.5])
    assert found.finished_low == pytest.approx([1.0])  # nothing wet, nothing lost
    found = sure_bounds(replace(problem, panel=(PanelRow("fat_g", 25.0, 35.0, "fat 30 g"),)))
    assert found.low == pytest.approx([0.65, 0.25])
    assert found.high == pytest.approx([0.75, 0.35])
    fixed = replace(problem, rows=(Row({1: 1.0}, 0.2, 0.2, "oil 20 %", "quid"),))
    assert sure_bounds(fixed).high == pytest.approx([0.8, 0.2])


def test_ratio_of_two_shares() -> None:
    """Oil : starch between 25/75 and 35/65; a denominator that can vanish gives an open end."""
    problem = starch_and_oil((), (PanelRow("fat_g", 25.0, 35.0, "fat 30 g"),))
    oil, starch = np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0])
    low, high = ratio_bounds(problem, oil, starch)
    assert low == pytest.approx([25 / 75])
    assert high == pytest.approx([35 / 65])
    low, high = ratio_bounds(replace(problem, panel=()), np.array([oil, starch]), starch)
    assert low == pytest.approx([0.0, 1.0])
    assert high[0] == np.inf
    assert high[1] == pytest.approx(1.0)


def test_ratios_hold_the_truth_and_agree_with_bisection() -> None:
    """The greatest ratio r is where the greatest numerator - r x denominator is zero."""
    for label in varied(12, seed=8):
        problem, size = label.problem, label.problem.n + label.problem.m
        numerator, denominator = np.zeros(size), np.zeros(size)
        numerator[1], denominator[0] = 1.0, 1.0
        low, high = ratio_bounds(problem, numerator, denominator)
        assert low[0] - 1e-7 <= label.truth[1] / label.truth[0] <= high[0] + 1e-7
        for ratio, end in ((low[0], 0), (high[0], 1)):
            if np.isfinite(ratio):
                rest = bounds_of(problem, numerator - ratio * denominator)[end]
                assert rest == pytest.approx([0.0], abs=1e-6)


def test_measured_moisture_narrows_the_loss() -> None:
    """A moisture of the finished food is a panel row on water_g: water as added less the loss."""
    label = invented_label(np.random.default_rng(21), n=6)
    problem, truth = label.problem, label.truth
    finished = truth[-1]
    moisture = 100.0 * (problem.water_typical @ truth[:-1] / 100.0 - (1.0 - finished)) / finished
    before = sure_bounds(problem)
    row = PanelRow("water_g", moisture - 0.5, moisture + 0.5, "moisture measured")
    after = sure_bounds(replace(problem, panel=(*problem.panel, row)))
    assert after.feasible
    assert (after.low >= before.low - 1e-9).all()
    assert (after.high <= before.high + 1e-9).all()
    assert (after.high - after.low).sum() < (before.high - before.low).sum()
    assert after.finished_low[0] - 1e-9 <= finished <= after.finished_high[0] + 1e-9


def test_unknown_nutrient_and_part_are_refused() -> None:
    """A panel row on what the problem does not hold."""
    problem = invented_label(np.random.default_rng(2)).problem
    for row in (PanelRow("zinc_mg", 1.0, 2.0, "zinc 1 mg"), PanelRow("fat_g", 1.0, 2.0, "fat 1 g", parts=(7,))):
        with pytest.raises(InputError):
            sure_bounds(replace(problem, panel=(row,)))


def test_long_list_within_ten_seconds() -> None:
    """A list of 400 items."""
    label = invented_label(np.random.default_rng(9), n=400)
    with within(10.0):
        found = sure_bounds(label.problem)
    assert found.feasible
    assert (found.low <= label.truth[:400] + 1e-6).all()
    assert (label.truth[:400] <= found.high + 1e-6).all()
