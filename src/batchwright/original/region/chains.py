"""Long ordered lists as steps: x_1 >= x_2 >= ... becomes x = steps from the last item up, each at least zero."""

from __future__ import annotations

import numpy as np

from batchwright.original.region.highs import Answers, Marks, answers_by_highs
from batchwright.original.region.problem import Floats


def answers_by_chains(rows: Floats, limits: Floats, equal: Marks, objectives: Floats, signs: Floats) -> Answers:
    """Return the answers of `answers_by_highs`, found in the steps of the order: a list of 400 keeps some 30 rows.

    rows: (R, N); limits, equal: (R,); objectives: (r, N); signs: (J,). Multipliers are those of the rows given.
    """
    sums, places, steps = _steps(rows, limits, equal)
    if not len(places):
        return answers_by_highs(rows, limits, equal, objectives, signs)
    kept = np.setdiff1d(np.arange(len(rows)), places)
    inner = rows[kept] @ sums
    scale = np.abs(inner).max(axis=1, initial=0.0)
    scale[scale == 0.0] = 1.0
    found = answers_by_highs(inner / scale[:, None], limits[kept] / scale, equal[kept], objectives @ sums, signs)
    multipliers = np.zeros((len(signs), len(rows)))
    multipliers[:, kept] = found.multipliers / scale
    multipliers[:, places] = found.at_zero[:, steps]
    at_zero = found.at_zero.copy()
    at_zero[:, steps] = 0.0
    return Answers(found.feasible, found.values, multipliers, at_zero, found.points @ sums.T)


def _steps(rows: Floats, limits: Floats, equal: Marks) -> tuple[Floats, list[int], list[int]]:
    """Return sums (N, N) with x = sums . steps, the order rows (places) that become a step's sign, and those steps."""
    width = rows.shape[1]
    filled = rows != 0.0
    pairs = np.flatnonzero((filled.sum(axis=1) == 2) & (rows.sum(axis=1) == 0.0) & (limits == 0.0) & ~equal)
    follower: dict[int, tuple[int, int]] = {}
    led: set[int] = set()
    for place in pairs.tolist():
        row = rows[place]
        more, less = int(row.argmin()), int(row.argmax())  # less - more <= 0
        if row[less] == 1.0 and more not in follower and less not in led:
            follower[more] = (less, place)
            led.add(less)
    sums = np.eye(width)
    places: list[int] = []
    steps: list[int] = []
    for start in [item for item in follower if item not in led]:
        chain = [start]
        while chain[-1] in follower:
            less, place = follower[chain[-1]]
            places.append(place)
            steps.append(chain[-1])
            chain.append(less)
        for depth, item in enumerate(chain):
            sums[item, chain[depth:]] = 1.0
    return sums, places, steps
