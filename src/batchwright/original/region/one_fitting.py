"""One coherent formula that fits the label: the middle of the likely ones, moved as little as makes every line true."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from batchwright.original.region.bounds import region
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.region.simplex import least
from batchwright.original.region.strain import nearest

LEAST_SCALE = 0.005  # a share below half a percent may move as far as one of half a percent (judgement)


def nearest_fitting(problem: Problem, shares: Floats, finished: Floats) -> tuple[Floats, Floats]:
    """Return the formula nearest to a middle one that meets every line with typical compositions.

    shares: (n,) as added, fractions that sum to 1; finished: (m,) finished mass of each part as a fraction of all that
    is added. Nearest: the sum of changes, each in parts of the amount itself, is least. Where no formula of typical
    compositions fits, the lines give way as little as they must.
    """
    exact = replace(
        problem, low=problem.typical, high=problem.typical, water_low=problem.water_typical,
        water_high=problem.water_typical,
    )  # fmt: skip
    found = _nearest(exact, shares, finished)
    return found or _nearest(nearest(exact), shares, finished) or (shares, finished)


def _nearest(problem: Problem, shares: Floats, finished: Floats) -> tuple[Floats, Floats] | None:
    """Return the nearest formula of a region, None where the region is empty."""
    rows, limits, equal, _ = region(problem).demands()
    centre = np.concatenate([shares, finished])
    size, none = np.eye(len(centre)), np.zeros((len(rows), len(centre)))
    widened = np.block([[rows, none], [size, -size], [-size, -size]])
    ends = np.concatenate([limits, centre, -centre])
    marks = np.concatenate([equal, np.zeros(2 * len(centre), dtype=bool)])
    cost = np.concatenate([np.zeros(len(centre)), 1.0 / np.maximum(centre, LEAST_SCALE)])
    value, point, _ = least(widened, ends, marks, cost)
    if not np.isfinite(value):
        return None
    return point[: len(shares)], point[len(shares) : len(centre)]
