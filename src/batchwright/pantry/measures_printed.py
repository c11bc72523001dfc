"""Weights as recipes print them: a range between cooks ends at the round weights that people write."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from math import ceil, exp, log

from batchwright.base.tables import rows

LEAST_G = 2.0  # below this a spoon is not weighed, and what is printed is not round (common practice)
EDGE_SIGMAS = 1.645  # low..high of a food holds 90 % of a normal law
STRAY_SHARE, STRAY_SIGMA = 0.10, 0.6  # one printed weight in ten follows no cup at all (common practice)
SHARE_A_WIDTH = 0.52  # ln(high / low) grows by 0.01 only where that takes in 0.52 percent of the printed weights
NEAREST, FURTHEST = 0.4, 1.3  # an end moves no nearer and no further than these times its own distance in ln
_SAME = 1e-6


@cache
def _steps() -> tuple[tuple[float, float, float, float], ...]:
    """Return (step [g], from [g], below [g], share of printed weights that are its multiples and no rounder)."""
    return tuple((float(row["step_g"]), float(row["from_g"]), float(row["below_g"]), float(row["share"]))
                 for row in rows("pantry_round_weights"))  # fmt: skip


def _round_weights(low_g: float, high_g: float) -> Iterator[tuple[float, float]]:
    """Give the round weights of a range [g], each with its share of what is printed within a unit of ln(weight)."""
    for step, start, below, share in _steps():
        first = max(1, ceil(max(low_g, start) / step - _SAME))
        last = int(min(high_g, below - _SAME) / step + _SAME)
        for count in range(first, last + 1):
            yield count * step, share / count


@lru_cache(maxsize=16_384)
def printed_range(low_g: float, likely_g: float, high_g: float) -> tuple[float, float]:
    """Return the range of the weights that recipes print for an amount of a food [g].

    low_g, likely_g, high_g: the food's own range and what it likely weighs [g, > 0]. Each end moves to the round
    weight beyond which further width takes in too few printed weights to be worth it: a range of a steady food may
    reach a little over its own ends, one of an unsteady food stops short of them. Below 2 g, and where an end has no
    room to move, the food's own is returned.
    """
    if likely_g < LEAST_G or not low_g < likely_g < high_g:
        return low_g, high_g
    sigmas = log(likely_g / low_g) / EDGE_SIGMAS, log(high_g / likely_g) / EDGE_SIGMAS
    height = (1.0 - STRAY_SHARE) * 0.7979 / (sigmas[0] + sigmas[1])  # of a normal law with two different halves
    return _end(likely_g, low_g, sigmas[0], height), _end(likely_g, high_g, sigmas[1], height)


def _end(likely_g: float, own_g: float, sigma: float, height: float) -> float:
    """Return the end of the range [g] on the side of the food's own end `own_g` [g]."""
    own = log(own_g / likely_g)
    far_g = likely_g * exp(FURTHEST * own)
    weights = sorted(_round_weights(min(far_g, likely_g), max(far_g, likely_g)), reverse=own < 0.0)
    stray = STRAY_SHARE * 0.3989 / STRAY_SIGMA
    best, held, end = -1.0, 0.0, own_g
    for grams, often in weights:
        away = abs(log(grams / likely_g))
        held += often * (height * exp(-0.5 * (away / sigma) ** 2) + stray * exp(-0.5 * (away / STRAY_SIGMA) ** 2))
        gain = held - SHARE_A_WIDTH * away
        if gain > best + _SAME and away >= NEAREST * abs(own):
            best, end = gain, grams
    return end
