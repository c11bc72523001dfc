"""Exact ends of many linear functions over one region {x >= 0, G x <= h}: one tableau, walked from corner to corner.

Small regions (a label has some eight unknowns and forty rows) are walked in a dense tableau that carries every
objective, so that each one starts at the corner where the last one ended. Every answer is checked afterwards from the
untouched rows: the corner is recomputed from its active rows, must satisfy all rows, and its multipliers must prove
that nothing lies beyond. What fails the check, and what is large, goes to the HiGHS library instead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from batchwright.original.region.chains import answers_by_chains
from batchwright.original.region.highs import Answers, Ints, Marks, none_found
from batchwright.original.region.problem import Floats

ENTERING = 1e-10  # a reduced cost below this is none, rows scaled to a largest factor of 1
PIVOT = 1e-9  # the smallest factor a row may leave by
FEASIBLE = 1e-9  # by how much a corner may miss a scaled row
PROOF = 1e-7  # how far below zero a multiplier may lie by rounding
SMALL = 6_000  # cells of a tableau that is still walked here (some 50 unknowns) rather than by HiGHS


@dataclass(frozen=True, slots=True)
class Ends:
    """Least and greatest values of r linear functions.

    low, high: (r,), infinite where unbounded, nan where the region is empty; `feasible` false then.
    low_multipliers, high_multipliers: (r, rows), how much each row's limit moves that end (>= 0; free for equalities),
    zero rows where an end is unbounded. corners: (2 r, N), the points of the lows, then of the highs.
    """

    feasible: bool
    low: Floats
    high: Floats
    low_multipliers: Floats
    high_multipliers: Floats
    corners: Floats


def ends(rows: Floats, limits: Floats, equal: Marks, objectives: Floats) -> Ends:
    """Return the least and the greatest value of each objective over {x >= 0, rows x <= limits, some met exactly}.

    rows: (R, N), best scaled to a largest factor near 1; limits: (R,); equal: (R,) true where `=` stands for `<=`;
    objectives: (r, N). Small regions are walked here and proven, others are solved by HiGHS (dual simplex).
    """
    count = len(objectives)
    found = _answers(rows, limits, equal, objectives, np.repeat([-1.0, 1.0], count))
    values, multipliers = found.values, found.multipliers
    return Ends(found.feasible, values[:count], values[count:], multipliers[:count], multipliers[count:], found.points)


def least(rows: Floats, limits: Floats, equal: Marks, cost: Floats) -> tuple[float, Floats, Floats]:
    """Return the least value of cost . x, the point (N,) and the rows' multipliers (R,); nan where the region is empty.

    rows, limits, equal as in `ends`; cost: (N,).
    """
    found = _answers(rows, limits, equal, cost[None, :], np.array([-1.0]))
    return float(found.values[0]), found.points[0], found.multipliers[0]


def nonempty(rows: Floats, limits: Floats, equal: Marks) -> bool:
    """Return whether any x >= 0 meets all rows (as in `ends`)."""
    return _answers(rows, limits, equal, np.zeros((0, rows.shape[1])), np.zeros(0)).feasible


def _answers(rows: Floats, limits: Floats, equal: Marks, objectives: Floats, signs: Floats) -> Answers:
    """Return the answers of the objectives, repeated as often as `signs` (J,) is longer; sign 1 greatest, -1 least."""
    if (len(rows) + len(objectives)) * rows.shape[1] <= SMALL:
        answer = _walk(rows, limits, equal, objectives, signs)
        if answer is not None:
            return answer
    return answers_by_chains(rows, limits, equal, objectives, signs)


class _Tableau:
    """basic = last column - rest x nonbasic; the rows above `top` are demands, those below are objectives."""

    def __init__(self, rows: Floats, limits: Floats, equal: Marks, objectives: Floats) -> None:
        self.top, width = rows.shape
        self.cells = np.zeros((self.top + len(objectives), width + 1))
        self.cells[: self.top, :-1] = rows
        self.cells[: self.top, -1] = limits
        self.cells[self.top :, :-1] = -objectives
        self.basic = np.arange(width, width + self.top)
        self.free = np.arange(width)
        self.steps = 0
        self.most = 60 * (self.top + width)
        self.lost = False
        for place in np.flatnonzero(equal):
            self._meet(int(place), width + int(place))

    def _meet(self, place: int, slack: int) -> None:
        """Hold an equality for good: its slack leaves the basis and its column goes."""
        column = int(np.abs(self.cells[place, :-1]).argmax()) if len(self.free) else -1
        if column < 0 or abs(self.cells[place, column]) < PIVOT:
            self.lost = True  # rows that repeat one another: left to HiGHS
            return
        self.pivot(place, column)
        self._drop(slack)

    def _drop(self, label: int) -> None:
        """Take away a nonbasic column that stays zero."""
        column = int(np.flatnonzero(self.free == label)[0])
        self.cells = np.delete(self.cells, column, axis=1)
        self.free = np.delete(self.free, column)

    def pivot(self, place: int, column: int) -> None:
        """Exchange a basic row and a nonbasic column."""
        cells = self.cells
        factors = cells[:, column].copy()
        pivot = factors[place]
        row = cells[place] / pivot
        cells -= factors[:, None] * row
        cells[:, column] = factors / -pivot
        cells[place] = row
        cells[place, column] = 1.0 / pivot
        self.basic[place], self.free[column] = self.free[column], self.basic[place]
        self.steps += 1

    def leaving(self, column: int) -> int:
        """Return the row that stops a move along a column; -1 where nothing does."""
        factors = self.cells[: self.top, column]
        rising = (factors > PIVOT).nonzero()[0]
        if not rising.size:
            return -1
        factors = factors[rising]
        reach = np.maximum(self.cells[rising, -1], 0.0) / factors
        ties = (reach <= reach[reach.argmin()] + 1e-12).nonzero()[0]
        return int(rising[ties[0] if ties.size == 1 else ties[factors[ties].argmax()]])

    def enter(self) -> bool | None:
        """Walk to a corner of the region; False where it is empty, None where the walk gives up."""
        if self.lost:
            return None
        worst = int(self.cells[: self.top, -1].argmin())
        if self.cells[worst, -1] >= 0.0:
            return True
        helper = -1
        extra = np.zeros((len(self.cells), 1))
        extra[: self.top] = -1.0
        self.cells = np.concatenate([self.cells[:, :-1], extra, self.cells[:, -1:]], axis=1)
        self.free = np.append(self.free, helper)
        self.pivot(worst, len(self.free) - 1)
        place = worst
        while self.steps < self.most:
            cost = self.cells[place, :-1]
            column = int(cost.argmax())
            if self.cells[place, -1] <= 1e-13 or cost[column] <= ENTERING:
                break
            out = self.leaving(column)
            if self.cells[place, column] > PIVOT and out >= 0:
                reach = max(self.cells[out, -1], 0.0) / self.cells[out, column]
                if max(self.cells[place, -1], 0.0) / self.cells[place, column] <= reach + 1e-12:
                    out = place
            if out < 0:
                return None
            self.pivot(out, column)
            if out == place:
                self._drop(helper)
                return True
        if self.steps >= self.most:
            return None
        missed = self.cells[place, -1]
        if missed > 10.0 * FEASIBLE:
            return False
        if missed > FEASIBLE:
            return None
        self.cells[place, -1] = 0.0
        column = int(np.abs(self.cells[place, :-1]).argmax())
        if abs(self.cells[place, column]) < PIVOT:
            return None
        self.pivot(place, column)
        self._drop(helper)
        return True

    def climb(self, row: int, sign: float) -> bool | None:
        """Walk until an objective row (sign 1: greatest, -1: least) can rise no more; False where it is unbounded."""
        while self.steps < self.most:
            cost = self.cells[row, :-1] * sign
            column = int(cost.argmin())
            if cost[column] >= -ENTERING:
                return True
            out = self.leaving(column)
            if out < 0:
                return False
            self.pivot(out, column)
        return None


def _walk(rows: Floats, limits: Floats, equal: Marks, objectives: Floats, signs: Floats) -> Answers | None:
    """Return the answers by walking the tableau; None where a proof fails."""
    count, jobs = len(objectives), len(signs)
    table = _Tableau(rows, limits, equal, objectives)
    found = table.enter()
    if found is None:
        return None
    if not found or not jobs:
        return none_found(found, jobs, rows)
    values = np.full(jobs, np.nan)
    active = np.zeros((jobs, len(table.free)), dtype=np.int64)
    waiting = np.arange(jobs)
    places = table.top + np.arange(jobs) % count
    while len(waiting):
        # the objective with the least left to gain comes next; those with nothing to gain end here
        gains = np.minimum(table.cells[places[waiting], :-1] * signs[waiting, None], 0.0).sum(axis=1)
        done = gains > -ENTERING
        if done.any():
            active[waiting[done]] = table.free
            values[waiting[done]] = table.cells[places[waiting[done]], -1]
            waiting = waiting[~done]
            continue
        job = int(waiting[gains.argmax()])
        table.most = table.steps + 40 * (table.top + rows.shape[1])
        climbed = table.climb(int(places[job]), float(signs[job]))
        if climbed is None:
            return None
        if not climbed:
            values[job] = signs[job] * np.inf
        else:
            values[job] = table.cells[places[job], -1]
            active[job] = table.free
        waiting = waiting[waiting != job]
    wanted = np.tile(objectives, (jobs // count, 1)) * signs[:, None]
    return _proven(rows, limits, equal, wanted, signs, values, active)


def _proven(
    rows: Floats, limits: Floats, equal: Marks, wanted: Floats, signs: Floats, values: Floats, active: Ints
) -> Answers | None:
    """Return the answers recomputed from the untouched rows, None where corner or multipliers fail the check."""
    width = rows.shape[1]
    bounded = np.isfinite(values)
    whole = np.concatenate([-np.eye(width), rows])
    whole_limits = np.concatenate([np.zeros(width), limits])
    fixed = width + np.flatnonzero(equal)
    chosen = np.concatenate([active[bounded], np.broadcast_to(fixed, (int(bounded.sum()), len(fixed)))], axis=1)
    square = whole[chosen]
    try:
        points = np.linalg.solve(square, whole_limits[chosen][..., None])[..., 0]
        weights = np.linalg.solve(square.transpose(0, 2, 1), wanted[bounded][..., None])[..., 0]
    except np.linalg.LinAlgError:
        return None
    missed = points @ whole.T - whole_limits
    missed[:, fixed] = np.abs(missed[:, fixed])
    either_sign = np.zeros(len(whole), dtype=bool)
    either_sign[fixed] = True
    if not (
        np.isfinite(points).all()
        and missed.max(initial=0.0) <= FEASIBLE * max(1.0, float(np.abs(points).max(initial=0.0)))
        and np.where(either_sign[chosen], 0.0, weights).min(initial=0.0) >= -PROOF
    ):
        return None
    answer = none_found(True, len(values), rows)
    answer.values[:] = values
    answer.values[bounded] = signs[bounded] * (wanted[bounded] * points).sum(axis=1)
    scattered = np.zeros((len(chosen), len(whole)))
    np.put_along_axis(scattered, chosen, weights, axis=1)
    answer.multipliers[bounded] = scattered[:, width:]
    answer.at_zero[bounded] = scattered[:, :width]
    answer.points[bounded] = points
    return answer
