"""Linear programs handed to the HiGHS library: what is too large or too delicate for the tableau, and whole numbers."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from batchwright.original.region.problem import Floats

Ints = NDArray[np.int64]
Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Answers:
    """values (J,), multipliers (J, R) of rows and (J, N) of x >= 0, points (J, N) of J objectives with their signs."""

    feasible: bool
    values: Floats
    multipliers: Floats
    at_zero: Floats
    points: Floats


def none_found(feasible: bool, jobs: int, rows: Floats) -> Answers:
    """Return answers not (yet) there."""
    width = rows.shape[1]
    points = np.full((jobs, width), np.nan)
    return Answers(feasible, np.full(jobs, np.nan), np.zeros((jobs, len(rows))), np.zeros((jobs, width)), points)


@lru_cache(maxsize=1)
def _highs() -> Any:
    """Return one quiet single-threaded HiGHS solver, made on first need."""
    import highspy  # heavy: only where the walk does not do

    # the bare solver: the convenience class around it prints a banner to standard output when it is made
    bare: Any = getattr(highspy, "_core", highspy)
    solver: Any = getattr(bare, "_Highs", highspy.Highs)()
    for option, value in (("output_flag", False), ("presolve", "off"), ("solver", "simplex"), ("threads", 1)):
        solver.setOptionValue(option, value)
    for option in ("primal_feasibility_tolerance", "dual_feasibility_tolerance"):
        solver.setOptionValue(option, 1e-9)
    return solver


def loaded_highs(
    rows: Floats, low: Floats, high: Floats, cost: Floats, top: Floats, whole_numbers: Marks | None = None
) -> Any:
    """Return the HiGHS solver holding: least cost . x, low <= rows x <= high, 0 <= x <= top, some x whole numbers.

    rows: (R, N); low, high: (R,), infinite where open; cost, top: (N,); whole_numbers: (N,) or absent.
    """
    import highspy  # heavy: only where the walk does not do

    solver = _highs()
    solver.clearModel()
    model = highspy.HighsLp()
    model.num_row_, model.num_col_ = rows.shape
    model.col_cost_, model.col_lower_, model.col_upper_ = cost, np.zeros(rows.shape[1]), top
    model.row_lower_, model.row_upper_ = low, high
    row_places, columns = np.nonzero(rows)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.searchsorted(row_places, np.arange(len(rows) + 1)).astype(np.int32)
    model.a_matrix_.index_ = columns.astype(np.int32)
    model.a_matrix_.value_ = rows[row_places, columns]
    if whole_numbers is not None:
        kinds = highspy.HighsVarType
        model.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in whole_numbers]
    solver.passModel(model)
    return solver


def answers_by_highs(rows: Floats, limits: Floats, equal: Marks, objectives: Floats, signs: Floats) -> Answers:
    """Return the same answers, each objective solved by HiGHS from the basis of the one before."""
    import highspy  # heavy: only where the walk does not do

    width = rows.shape[1]
    solver = loaded_highs(rows, np.where(equal, limits, -np.inf), limits, np.zeros(width), np.full(width, np.inf))
    places = np.arange(width, dtype=np.int32)
    solver.run()
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return none_found(False, len(signs), rows)
    answer = none_found(True, len(signs), rows)
    for job, sign in enumerate(signs):
        objective = objectives[job % len(objectives)]
        solver.changeColsCost(width, places, -sign * objective)  # HiGHS makes least
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return none_found(False, len(signs), rows)
        if status != highspy.HighsModelStatus.kOptimal:
            answer.values[job] = sign * np.inf
            continue
        solution = solver.getSolution()
        answer.points[job] = solution.col_value
        answer.values[job] = answer.points[job] @ objective
        answer.multipliers[job] = -np.array(solution.row_dual)
        answer.at_zero[job] = np.maximum(solution.col_dual, 0.0)
    return answer
