"""How much of one thing stands for another: the least squares of what is to be held, with nothing below its floor."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np

from batchwright.formula.contents import Floats

MOST_UNKNOWNS = 8  # 2^8 small systems; a swap has at most four


def amounts(columns: Floats, wanted: Floats, floors: Sequence[float]) -> Floats:
    """Return the grams x >= floors for which `columns @ x` comes nearest to `wanted`.

    columns: (keys, n) contents per gram of each ingredient; wanted: (keys,) [g]; floors: least grams of each, at or
    below 0 (how much of it the recipe can give). Exact: every way of holding some at their floors is tried, and the
    best that keeps to them all is taken. Raises ValueError for more unknowns than MOST_UNKNOWNS.
    """
    count = columns.shape[1]
    if count > MOST_UNKNOWNS:
        raise ValueError(f"unknowns: got {count}; allowed: at most {MOST_UNKNOWNS}")
    least = np.asarray(floors, dtype=float)
    best, error = least.copy(), np.inf
    for held in product((False, True), repeat=count):
        free = [place for place in range(count) if not held[place]]
        tried = least.copy()
        if free:
            rest = wanted - columns @ np.where(held, least, 0.0)
            tried[free] = np.linalg.lstsq(columns[:, free], rest, rcond=None)[0]
        if np.any(tried < least - 1e-9):
            continue
        off = float(np.sum((columns @ tried - wanted) ** 2))
        if off < error - 1e-9:
            best, error = np.maximum(tried, least), off
    return best
