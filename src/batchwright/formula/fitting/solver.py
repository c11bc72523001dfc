"""The solver under `fit`: amounts that hold rules, meet what is asked for and change as few lines as little as may be.

Works on bare arrays and knows neither recipes nor ingredients. Two whole-number linear programs, each solved to its
optimum by the HiGHS library: first how near the wishes can be come to, then the fewest and smallest changes that do.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NEARLY = 1e-9  # primal tolerance asked of the solver, in percent of the batch and after rows are scaled to 1
WHOLE = 1e-6  # how far from whole the solver may take a number for whole; what that leaves is cleaned up after
GUESSES = ("feasibility_jump", "rins", "rens", "root_reduced_cost", "zi_round", "shifting")
MISS_SLACK = 0.01  # share of what a fit gains that it may give back for fewer changes, where not all can be met
ROUGH_ROUNDS = 2
MOST_ROUNDS = 12  # of laying straight lines along quotients; three or four are usual
NEAR_ENOUGH = 1e-6  # relative: what a round must gain
LEAST_WHOLE = 1e-3  # of the start's: a share of less is of nothing
LONGEST_S = 20.0  # seconds after which the best found so far is taken, and said so


@dataclass(frozen=True, slots=True)
class Program:
    """Amounts to find [g], for N lines.

    start: as they stand; low, high: what each may be [g, high finite]; step: whole multiples of this once a line is
    changed [g], 0 = any amount; touch: cost of changing a line at all; per_gram: cost of each gram of change.
    rules (Q, N) with rules_low, rules_high: always hold. rows (R, N) with rows_low, rows_high: wished for; a miss of 1
    in a row's own unit costs miss_cost. bases (R, N): what a row is a share of, as a multiple of the start's; a miss
    counts the more the less there is of it, else a small batch would miss little. A row of zeros is no share.
    far (R,), where given: what a miss of 1 in a row adds to a distance, the root of the sum of squares. The distance
    then comes first and is made as small as may be; rows with 0 there are preferences, weighed against changes. Rows
    that add to it are shares of one whole.
    """

    start: Floats
    low: Floats
    high: Floats
    step: Floats
    touch: Floats
    per_gram: Floats
    rules: Floats
    rules_low: Floats
    rules_high: Floats
    rows: Floats
    rows_low: Floats
    rows_high: Floats
    miss_cost: Floats
    bases: Floats
    far: Floats | None = None


@dataclass(frozen=True, slots=True)
class _Tilt:
    """Misses of shares as straight lines around an answer: `weight` of each row's miss, less `slope` of each gram.

    What the slopes make of that answer is `held`.
    """

    weight: Floats
    slope: Floats
    held: float


@dataclass(frozen=True, slots=True)
class Cone:
    """A distance as the largest of its projections: `directions` (C, R) of length 1 over the rows, `whole` (N,) what
    the distance is a share of, as a multiple of the start's."""

    directions: Floats
    whole: Floats


@dataclass(frozen=True, slots=True)
class Solution:
    """What was found: amounts [g], the cost of what is missed (0 = all met), the cost of the changes.

    `proven` is False where time ran out before the optimum was proven.
    """

    grams: Floats
    miss: float
    change: float
    proven: bool = True


def solve(program: Program) -> Solution | None:
    """Return the fewest and smallest changes that meet every wish, else those that come nearest; None without either.

    None means that the rules alone contradict each other.
    """
    found = least_change(program, 0.0)
    if found is not None:
        return found
    nearest = _nearest(program)
    if nearest is None:
        return None
    here = _miss_of(program, program.start)
    budget = nearest.miss + MISS_SLACK * max(0.0, here - nearest.miss) + NEARLY
    found = least_change(program, budget, _tilt(program, nearest.grams))
    if found is None or found.miss > budget + NEAR_ENOUGH * max(1.0, budget):
        return nearest
    return replace(found, proven=found.proven and nearest.proven)


def _nearest(program: Program) -> Solution | None:
    """Return the amounts that miss least; None where the rules contradict each other.

    A miss of a share is a quotient. Straight lines are laid along it at the answer before, until nothing comes nearer:
    with one whole that all are shares of this ends at the optimum (Dinkelbach 1967, Management Science 13, 492).
    """
    best = run(program, "miss", np.inf)
    if best is None:
        return None
    for _ in range(MOST_ROUNDS):
        found = run(program, "miss", np.inf, _tilt(program, best.grams))
        if found is None or found.miss >= best.miss * (1.0 - NEAR_ENOUGH):
            return best
        best = replace(found, proven=found.proven and best.proven)
    return best


def _wholes(program: Program, grams: Floats) -> Floats:
    """Return what each row is a share of, as a multiple of the start's; 1 for a row that is no share."""
    shares = program.bases.any(axis=1)
    return np.where(shares, np.maximum(program.bases @ grams, LEAST_WHOLE), 1.0)


def _tilt(program: Program, grams: Floats) -> _Tilt:
    """Return the straight lines along the misses at some amounts."""
    wholes = _wholes(program, grams)
    slope = (program.miss_cost * misses_of(program, grams) / wholes**2) @ program.bases
    return _Tilt(1.0 / wholes, slope, float(slope @ grams))


def least_change(
    program: Program, budget: float, tilt: _Tilt | None = None, cone: Cone | None = None
) -> Solution | None:
    """Return the fewest and smallest changes with misses of at most a budget [cost, or distance]; None without any.

    A rough answer comes first, with lines counted in part: nothing better can move a line further than what the rough
    answer costs in all, and such narrow bounds make the whole-number search short.
    """
    tight = program
    for _ in range(ROUGH_ROUNDS):
        rough = run(tight, "rough", budget, tilt, cone)
        if rough is None:
            return None
        reach = np.maximum(rough.change * (1.0 + 1e-6) - program.touch, 0.0) / np.maximum(program.per_gram, 1e-12)
        tight = replace(program, low=np.maximum(program.low, np.minimum(program.start - reach, program.high)),
                        high=np.minimum(program.high, np.maximum(program.start + reach, program.low)))  # fmt: skip
    found = run(tight, "change", budget, tilt, cone)
    if found is None or not found.change:
        return found
    # whole-number searches leave crumbs on lines they call unchanged: solve once more with what is settled held still
    still = found.grams == program.start
    whole = (program.step > 0) & ~still
    held = np.where(still | whole, found.grams, np.nan)
    settled = replace(
        tight, step=np.zeros(len(still)), low=np.where(np.isnan(held), tight.low, held),
        high=np.where(np.isnan(held), tight.high, held), touch=np.zeros(len(still)),
    )  # fmt: skip
    clean = run(settled, "rough", budget, tilt, cone)
    if clean is None:
        return found
    return replace(clean, change=_cost(program, clean.grams), proven=found.proven)


def _cost(program: Program, grams: Floats) -> float:
    """Return what the changes cost, and what is missed of preferences."""
    moved = np.abs(grams - program.start)
    beside = 0.0 if program.far is None else float(program.miss_cost @ misses_of(program, grams))
    return float((moved > 0) @ program.touch + moved @ program.per_gram) + beside


def possible(program: Program) -> bool:
    """Return whether any amounts hold all rules and meet every wish."""
    return run(program, "any", 0.0) is not None


def misses_of(program: Program, grams: Floats) -> Floats:
    """Return how far each row is missed, in its own unit."""
    values = program.rows @ grams
    return np.maximum(program.rows_low - values, 0.0) + np.maximum(values - program.rows_high, 0.0)


def _miss_of(program: Program, grams: Floats) -> float:
    """Return what the amounts miss, in cost; a share is missed by its own share, whatever the batch weighs."""
    return float(misses_of(program, grams) / _wholes(program, grams) @ program.miss_cost)


@lru_cache(maxsize=1)
def _highs() -> Any:
    """Return one quiet single-threaded HiGHS solver, made on first need."""
    import highspy  # heavy: only when something is fitted

    # the bare solver: the convenience class around it prints a banner to standard output when it is made
    bare: Any = getattr(highspy, "_core", highspy)
    solver: Any = getattr(bare, "_Highs", highspy.Highs)()
    options: list[tuple[str, Any]] = [
        ("output_flag", False), ("threads", 1), ("presolve", "off"), ("primal_feasibility_tolerance", NEARLY),
        ("dual_feasibility_tolerance", NEARLY),
        ("mip_feasibility_tolerance", WHOLE), ("mip_rel_gap", 0.0), ("mip_abs_gap", 1e-7),
        ("mip_heuristic_effort", 0.0), ("mip_allow_cut_separation_at_nodes", False), ("mip_detect_symmetry", False),
    ]  # fmt: skip
    # tasks so small are searched through sooner than HiGHS's guesses at good answers are made: a tenth of the time
    options += [(f"mip_heuristic_run_{guess}", False) for guess in GUESSES]
    for option, value in options:
        solver.setOptionValue(option, value)
    return solver


def run(
    program: Program, aim: str, budget: float, tilt: _Tilt | None = None, cone: Cone | None = None
) -> Solution | None:
    """Return the optimum for an aim ("any", "miss", "far", "rough", "change") missing at most a budget; None without.

    budget: [cost]; with a cone a distance [no unit], for the aim "far" that which is to be beaten.
    """
    import highspy  # heavy: only when something is fitted

    unit = 100.0 / max(float(program.start.sum()), 1e-9)  # percent of the batch, so that figures are of one size
    level = tilt or _Tilt(np.ones(len(program.rows)), np.zeros(len(program.start)), 0.0)
    model, places = _model(program, aim, budget, unit, level, cone)
    solver = _highs()
    solver.clearModel()
    solver.passModel(model)
    solver.setOptionValue("time_limit", solver.getRunTime() + LONGEST_S)  # its clock runs on from task to task
    solver.run()
    status, kinds = solver.getModelStatus(), highspy.HighsModelStatus
    if status not in (kinds.kOptimal, kinds.kTimeLimit):
        return None
    values = np.array(solver.getSolution().col_value)
    if len(values) == 0 or (status == kinds.kTimeLimit and not np.isfinite(solver.getInfo().objective_function_value)):
        return None
    return _solution(program, aim, values, places, unit, status == kinds.kOptimal)


def _solution(
    program: Program, aim: str, values: Floats, places: dict[str, slice], unit: float, proven: bool
) -> Solution:
    """Return the solver's values in grams: lines left alone exactly as they stood, whole steps exactly whole."""
    grams = values[places["x"]] / unit
    touched = values[places["z"]] > 0.5
    stepped = program.step > 0
    grams = np.where(stepped & touched, np.round(values[places["k"]]) * program.step, grams)
    if aim == "change":
        grams = np.where(touched, grams, program.start)
    grams = np.clip(grams, program.low, program.high)
    moved = np.abs(grams - program.start)
    moved[moved < 1e-6 * max(1.0, float(program.start.sum()) / 100.0)] = 0.0
    grams = np.where(moved == 0.0, np.clip(program.start, program.low, program.high), grams)
    return Solution(grams, _miss_of(program, grams), _cost(program, grams), proven)


def _model(
    program: Program, aim: str, budget: float, unit: float, tilt: _Tilt, cone: Cone | None
) -> tuple[Any, dict[str, slice]]:
    """Return the linear program for HiGHS and where its unknowns stand.

    Unknowns: x amounts, up and down changes, z whether a line is changed, k how many steps, s what is missed, d the
    length of what is missed.
    """
    n, wishes = len(program.start), len(program.rows)
    stepped = np.flatnonzero(program.step > 0)
    spans = {"x": n, "up": n, "down": n, "z": n, "k": n, "s": wishes, "d": 1}
    ends = np.cumsum(list(spans.values()))
    places = {name: slice(int(end) - size, int(end)) for (name, size), end in zip(spans.items(), ends, strict=True)}
    width = int(ends[-1])
    start, low, high, step = (each * unit for each in (program.start, program.low, program.high, program.step))
    room_up, room_down = np.maximum(high - start, 0.0), np.maximum(start - low, 0.0)
    most = np.zeros(n)
    most[stepped] = np.floor(high[stepped] / step[stepped] + 1e-9)

    sizes = np.abs(program.rows).max(axis=1, initial=0.0)
    sizes[sizes == 0.0] = 1.0
    open_low, open_high = np.isfinite(program.rows_low), np.isfinite(program.rows_high)
    blocks: list[tuple[Floats, Floats, Floats]] = []

    def add(count: int, cells: dict[str, Floats], least: Floats, largest: Floats) -> None:
        block = np.zeros((count, width))
        for name, cell in cells.items():
            block[:, places[name]] = cell
        blocks.append((block, least, largest))

    eye, zero, inf = np.eye(n), np.zeros(n), np.full(n, np.inf)
    add(n, {"x": eye, "up": -eye, "down": eye}, start, start)
    # a line goes up or down, never both: one row says so for both and is tighter than one for each
    parts = [np.diag(np.where(room > NEARLY, 1.0 / np.maximum(room, NEARLY), 0.0)) for room in (room_up, room_down)]
    add(n, {"up": parts[0], "down": parts[1], "z": -eye}, -inf, zero)
    if len(stepped):
        picked = eye[stepped]
        add(len(stepped), {"x": picked, "z": picked * start, "k": -picked * step}, start[stepped], start[stepped])
        add(len(stepped), {"k": picked, "z": -picked * most}, -inf[stepped], zero[stepped])
    if len(program.rules):
        largest = np.maximum(np.abs(program.rules).max(axis=1), 1e-12)
        add(len(program.rules), {"x": program.rules / largest[:, None]}, program.rules_low * unit / largest,
            program.rules_high * unit / largest)  # fmt: skip
    if wishes:
        scaled, slack = program.rows / sizes[:, None], np.eye(wishes)
        least, largest = program.rows_low * unit / sizes, program.rows_high * unit / sizes
        add(wishes, {"x": scaled, "s": slack}, np.where(open_low, least, -np.inf), np.full(wishes, np.inf))
        add(wishes, {"x": scaled, "s": -slack}, np.full(wishes, -np.inf), np.where(open_high, largest, np.inf))
        if cone is not None:
            lengths = cone.directions * (program.far if program.far is not None else 0.0) * sizes / unit
            add(len(lengths), {"s": lengths, "d": -np.ones((len(lengths), 1))}, np.full(len(lengths), -np.inf),
                np.zeros(len(lengths)))  # fmt: skip
            if aim != "far":
                add(1, {"d": np.ones((1, 1)), "x": -budget * cone.whole / unit}, np.array([-np.inf]), np.zeros(1))
        elif aim in ("rough", "change") and budget > 0:
            cost = program.miss_cost * tilt.weight * sizes / unit
            largest_cost = max(cost.max(), 1e-12)
            add(1, {"s": cost / largest_cost, "x": -tilt.slope / unit / largest_cost}, np.array([-np.inf]),
                np.array([(budget - tilt.held) / largest_cost]))  # fmt: skip
    cost = np.zeros(width)
    if aim == "miss":
        cost[places["s"]] = program.miss_cost * tilt.weight * sizes / unit
        cost[places["x"]] = -tilt.slope / unit
    elif aim == "far" and cone is not None:
        cost[places["d"]], cost[places["x"]] = 1.0, -budget * cone.whole / unit
    elif aim in ("rough", "change"):
        if program.far is not None:
            cost[places["s"]] = program.miss_cost * sizes / unit
        cost[places["z"]] = program.touch
        cost[places["up"]] = cost[places["down"]] = program.per_gram / unit
    bottom, top = np.zeros(width), np.full(width, np.inf)
    bottom[places["x"]], top[places["x"]] = low, high
    top[places["up"]], top[places["down"]], top[places["z"]], top[places["k"]] = room_up, room_down, 1.0, most
    if aim not in ("rough", "change"):  # whether a line is changed matters only where steps hang on it
        bottom[places["z"]] = np.where(program.step > 0, 0.0, 1.0)
    if budget <= 0 and cone is None:
        top[places["s"]] = 0.0 if program.far is None else np.where(program.far > 0, 0.0, np.inf)
    whole = np.zeros(width, dtype=bool)
    whole[places["k"]] = program.step > 0
    whole[places["z"]] = (program.step > 0) | (aim == "change")
    kept = [~(np.isneginf(block[1]) & np.isposinf(block[2])) for block in blocks]
    cells = [np.concatenate([block[part][keep] for block, keep in zip(blocks, kept, strict=True)]) for part in range(3)]
    return _highs_model(cells[0], cells[1], cells[2], cost, bottom, top, whole), places


def _highs_model(
    rows: Floats, least: Floats, largest: Floats, cost: Floats, bottom: Floats, top: Floats, whole: NDArray[np.bool_]
) -> Any:
    """Return the arrays as HiGHS takes them: least cost . x, least <= rows x <= largest, bottom <= x <= top."""
    import highspy  # heavy: only when something is fitted

    model = highspy.HighsLp()
    model.num_row_, model.num_col_ = rows.shape
    model.col_cost_, model.col_lower_, model.col_upper_ = cost, bottom, top
    model.row_lower_, model.row_upper_ = least, largest
    row_places, columns = np.nonzero(rows)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.searchsorted(row_places, np.arange(len(rows) + 1)).astype(np.int32)
    model.a_matrix_.index_ = columns.astype(np.int32)
    model.a_matrix_.value_ = rows[row_places, columns]
    if whole.any():
        kinds = highspy.HighsVarType
        model.integrality_ = [kinds.kInteger if each else kinds.kContinuous for each in whole]
    return model
