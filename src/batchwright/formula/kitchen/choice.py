"""The best writing of all lines at once: the ratios between the lines move least, and that is proven.

Line i asks for g_i and may be written in ways c that weigh m_ic and cost k_ic. With the common factor s = exp(u),

    moved(u) = sum_i min_c [ w_i (ln(m_ic / g_i) - u)^2 + k_ic ] + w_0 u^2,        w_i = 1 / tolerance_i^2

is looked for over every u that is allowed. At the best u the first terms are, but for a factor, the sum over all pairs
of lines of w_i w_j times the squared log change of their ratio: no line is the yardstick of the others. For one
line, w (a - u)^2 + k = w u^2 - (2 w a u - w a^2 - k): less the common parabola, every way is a straight line in u, and
the least of them is their lower hull. So `moved` is a parabola plus a concave broken line; between two breaks it is a
parabola whose lowest point is known. Visiting every stretch between breaks finds the least there is, in the time of
sorting the breaks.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, fsum, log


@dataclass(frozen=True, slots=True)
class Way:
    """One way to write a line: what it weighs `mass_g` [> 0, g] and its `cost` [>= 0, squares of the tolerance]."""

    mass_g: float
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What one line asks for: `mass_g` [> 0, g], its relative `tolerance_fraction` [> 0, 0..1] and its `ways`."""

    mass_g: float
    tolerance_fraction: float
    ways: Sequence[Way]


@dataclass(frozen=True, slots=True)
class Choice:
    """The way taken for each line (its place among the ways), the common `factor`, and `moved`, the least there is."""

    ways: tuple[int, ...]
    factor: float
    moved: float


@dataclass(frozen=True, slots=True)
class _Break:
    """Where, going up in u, a line turns from one way to the next on its hull."""

    at: float
    line: int
    way: int


def choose(asked: Sequence[Asked], lowest: float, highest: float, size_tolerance_fraction: float) -> Choice:
    """Return the way of each line, and the common factor, for which the ratios move least: the least there is.

    asked: the lines, each with one way or more; lowest, highest: the factors allowed [0 < lowest <= 1 <= highest];
    size_tolerance_fraction: how far the whole batch may grow before that counts like one line at its tolerance
    [> 0, 0..1]. Time grows with the number of ways, times its logarithm. No random numbers, no search that stops early.
    """
    low, high = log(lowest), log(highest)
    weights = [each.tolerance_fraction**-2 for each in asked]
    places = [[log(way.mass_g / each.mass_g) for way in each.ways] for each in asked]
    current: list[int] = []
    breaks: list[_Break] = []
    for line, each in enumerate(asked):
        first, later = _hull(line, weights[line], places[line], each.ways, low, high)
        current.append(first)
        breaks += later
    taken = list(current)
    breaks.sort(key=lambda one: (one.at, one.line))
    whole_weight = fsum(weights) + size_tolerance_fraction**-2
    slope = fsum(weight * at[way] for weight, at, way in zip(weights, places, current, strict=True))
    level = fsum(_level(each, weight, at, way)
                 for each, weight, at, way in zip(asked, weights, places, current, strict=True))  # fmt: skip
    best, best_u, best_stretch = float("inf"), 0.0, 0
    start = low
    for stretch in range(len(breaks) + 1):
        end = breaks[stretch].at if stretch < len(breaks) else high
        u = min(max(slope / whole_weight, start), end)
        value = whole_weight * u * u - 2.0 * slope * u + level
        if value < best - 1e-12:  # of equals the first: the smaller batch
            best, best_u, best_stretch = value, u, stretch
        if stretch < len(breaks):
            turn = breaks[stretch]
            each, weight, at, old = asked[turn.line], weights[turn.line], places[turn.line], current[turn.line]
            slope += weight * (at[turn.way] - at[old])
            level += _level(each, weight, at, turn.way) - _level(each, weight, at, old)
            current[turn.line] = turn.way
            start = end
    for turn in breaks[:best_stretch]:
        taken[turn.line] = turn.way
    return Choice(tuple(taken), exp(best_u), moved(asked, taken, best_u, size_tolerance_fraction))


def moved(asked: Sequence[Asked], taken: Sequence[int], u: float, size_tolerance_fraction: float) -> float:
    """Return what is made least, for given ways and a given logarithm `u` of the common factor [1, no unit]."""
    terms = [((log(each.ways[way].mass_g / each.mass_g) - u) / each.tolerance_fraction) ** 2 + each.ways[way].cost
             for each, way in zip(asked, taken, strict=True)]  # fmt: skip
    return fsum((*terms, (u / size_tolerance_fraction) ** 2))


def _level(each: Asked, weight: float, at: Sequence[float], way: int) -> float:
    return weight * at[way] * at[way] + each.ways[way].cost


def _hull(
    line: int, weight: float, at: Sequence[float], ways: Sequence[Way], low: float, high: float
) -> tuple[int, list[_Break]]:
    """Return the best way at `low` and the breaks up to `high`, for one line."""
    order = _worth_trying(at, ways, low, high)
    hull: list[int] = []
    begins: list[float] = []
    for way in order:
        if hull and at[way] - at[hull[-1]] < 1e-12:  # as heavy as the cheaper one before it
            continue
        begin = -float("inf")
        while hull:
            begin = _crossing(weight, at, ways, hull[-1], way)
            if begin > begins[-1]:
                break
            hull.pop()
            begins.pop()
            begin = -float("inf")
        hull.append(way)
        begins.append(begin)
    first = max(place for place, begin in enumerate(begins) if begin <= low)
    later = [_Break(begins[place], line, hull[place]) for place in range(first + 1, len(hull)) if begins[place] < high]
    return hull[first], later


def _worth_trying(at: Sequence[float], ways: Sequence[Way], low: float, high: float) -> list[int]:
    """Return the ways by mass, without those that another beats at every u allowed: nearer, and not dearer."""
    order = sorted(range(len(ways)), key=lambda way: (at[way], ways[way].cost))
    split = bisect_left(order, low, key=at.__getitem__)
    end = bisect_right(order, high, key=at.__getitem__)
    kept = order[split:end]
    for outside, nearest_first in ((order[:split], True), (order[end:], False)):
        least = float("inf")
        for way in reversed(outside) if nearest_first else outside:
            if ways[way].cost < least:
                least = ways[way].cost
                kept.append(way)
    return sorted(kept, key=lambda way: (at[way], ways[way].cost))


def _crossing(weight: float, at: Sequence[float], ways: Sequence[Way], lighter: int, heavier: int) -> float:
    """Return the u from which on the heavier way is the better one."""
    return 0.5 * (at[heavier] + at[lighter]) + 0.5 * (ways[heavier].cost - ways[lighter].cost) / (
        weight * (at[heavier] - at[lighter])
    )
