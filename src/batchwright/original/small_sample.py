"""A mean of few weighings with an honest range."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.base.tables import rows

NORMAL_90 = 1.645
SURE_TIMES = 3.0  # the sure ends of a measurement: three likely half widths; nothing measured is surer than that


@cache
def spread_table() -> dict[str, float]:
    """Return the stated common-practice spreads by name."""
    return {row["what"]: float(row["value"]) for row in rows("panel_spread")}


@cache
def student_table() -> dict[int, float]:
    """Return the two-sided 90 % points of Student's t by degrees of freedom."""
    return {int(row["degrees_of_freedom"]): float(row["t_two_sided_90"]) for row in rows("panel_student")}


def student_90(degrees: float) -> float:
    """Return the two-sided 90 % point of Student's t; degrees: [1 or more] rounded down, above 30 close to normal."""
    table = student_table()
    whole = max(1, int(degrees))
    return table[whole] if whole in table else NORMAL_90 + 1.52 / degrees


def resolution_of(values: Sequence[float]) -> float:
    """Return the finest decimal step the readings show (10.2, 10.0, 9.8 -> 0.1; whole numbers -> 1)."""
    digits = 0
    for value in values:
        text = f"{value:.6f}".rstrip("0")
        digits = max(digits, len(text.split(".")[1]))
    return float(10.0**-digits)


def half_width_90(values: Sequence[float], relative_spread: float) -> float:
    """Return half the width of the 90 % range of the mean.

    values: (n,) readings, n >= 1; relative_spread: [fraction] the stated spread of one reading, which counts for two
    readings beside the measured ones (pooled variance), so that one weighing or two alike do not look exact. The step
    of the scale is added. Student's t, source: the NIST handbook.
    """
    readings = np.asarray(values, dtype=float)
    count = len(readings)
    prior = spread_table()["prior_pieces"]
    mean = float(readings.mean())
    squares = float(((readings - mean) ** 2).sum())
    degrees = prior + count - 1
    variance = (prior * (relative_spread * mean) ** 2 + squares) / degrees + resolution_of(values) ** 2 / 12
    return student_90(degrees) * float(np.sqrt(variance / count))


def mean_estimate(values: Sequence[float], relative_spread: float, unit: str, method: str) -> Estimate:
    """Return the mean of a few readings with its range; never below 0.

    values: (n,) readings, n >= 1; relative_spread: [fraction] as for `half_width_90`; sure ends: three half widths.
    """
    mean = float(np.mean(np.asarray(values, dtype=float)))
    return around(mean, half_width_90(values, relative_spread), unit, method, len(values))


def around(middle: float, half: float, unit: str, method: str, count: int, top: float | None = None) -> Estimate:
    """Return an estimate `middle` +- `half` [in `unit`], kept within 0 and `top` [in `unit`].

    middle, half: [in `unit`]; sure ends three half widths away.
    """
    ends = [middle - half, middle + half, middle - SURE_TIMES * half, middle + SURE_TIMES * half]
    low, high, sure_low, sure_high = (max(0.0, end if top is None else min(top, end)) for end in ends)
    notes = (f"{count} reading{'s' if count > 1 else ''}; sure ends are three times the likely half width",)
    return Estimate(middle, low, high, sure_low, sure_high, unit, method, ("nist_handbook", "trade_practice"), notes)
