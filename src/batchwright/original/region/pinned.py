"""Which label lines pin an end of a sure range."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from batchwright.original.region.bounds import Region, region, region_ends
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.region.simplex import least

MOST_LINES = 40


def pinned_by(problem: Problem, leaf_index: int, side: str, within: float = 0.001) -> tuple[str, ...]:
    """Return the label lines that alone reproduce one end of a leaf's sure range; () where the label cannot tell.

    leaf_index: place of the leaf [0 to n-1]; side: "low" or "high"; within: how far the end may move [fraction].
    With these lines and the structure alone the end lies within `within` of the true one, and none of them can go.
    """
    return pins(problem, ((leaf_index, side),), within)[0]


def pins(problem: Problem, wanted: Collection[tuple[int, str]], within: float = 0.001) -> list[tuple[str, ...]]:
    """Return `pinned_by` for several ends (leaf_index, side) of one problem, in order.

    within: how far an end may move [fraction]. An end that hangs on more than 40 lines at once counts as one the label
    cannot tell.
    """
    found = region(problem)
    objectives = np.zeros((len(wanted), problem.n + problem.m))
    for job, (leaf, _) in enumerate(wanted):
        objectives[job, leaf] = 1.0
    answer, places = region_ends(found, objectives)
    results: list[tuple[str, ...]] = []
    for job, (_, side) in enumerate(wanted):
        low = side == "low"
        end = float((answer.low if low else answer.high)[job])
        if not answer.feasible or (end <= within if low else end >= 1.0 - within):
            results.append(())
            continue
        weights = np.abs((answer.low_multipliers if low else answer.high_multipliers)[job])
        push: dict[str, float] = {}
        for place, weight in zip(places, weights, strict=True):
            if weight > 1e-9 and found.families[place] != "structure":
                push[found.lines[place]] = push.get(found.lines[place], 0.0) + float(weight)
        if len(push) > MOST_LINES:
            results.append(())
            continue
        weakest_first = sorted(push, key=lambda line: push[line])
        point = answer.corners[job if low else job + len(wanted)]
        results.append(_needed(found, objectives[job], point, side, end, weakest_first, within))
    return results


def _needed(
    found: Region, objective: Floats, point: Floats, side: str, end: float, lines: list[str], within: float
) -> tuple[str, ...]:
    """Return the lines, weakest tried first, without which the end would move by more than `within`."""
    rows, limits, equal, places = found.demands()
    line_of = np.array([found.lines[place] if found.families[place] != "structure" else "" for place in places])
    sign = 1.0 if side == "low" else -1.0

    def holds(kept: list[str]) -> bool:
        mask = np.isin(line_of, ["", *kept])
        value, _, _ = least(rows[mask], limits[mask], equal[mask], sign * objective)
        return abs(sign * value - end) <= within

    kept = list(lines) if holds(lines) else list(found.label_lines())
    sure = _surely_needed(rows, limits, line_of, -sign * objective, point, within)
    for line in tuple(kept):
        rest = [other for other in kept if other != line]
        if line not in sure and holds(rest):
            kept = rest
    return tuple(line for line in found.label_lines() if line in kept)


def _surely_needed(
    rows: Floats, limits: Floats, line_of: NDArray[np.str_], outward: Floats, point: Floats, within: float
) -> set[str]:
    """Return lines without which the end moves by more than `within` for certain: along the edge their row lets go.

    rows (R, N), limits, line_of (R,), "" = structure; outward: (N,) the direction of the end; point: (N,) its corner.
    With fewer other lines the edge only grows longer. Where more rows meet than the corner needs, none is certain.
    """
    width = rows.shape[1]
    whole = np.concatenate([rows, -np.eye(width)])
    slack = np.append(limits, np.zeros(width)) - whole @ point
    lines = np.append(line_of, np.full(width, ""))
    active = np.flatnonzero(slack < 1e-9)
    if len(active) != width:
        return set()
    try:
        edges = np.linalg.inv(whole[active]).T
    except np.linalg.LinAlgError:
        return set()
    sure: set[str] = set()
    for row, edge in zip(active, edges, strict=True):
        gain = float(outward @ edge)
        if not lines[row] or gain <= 1e-9:
            continue
        rising = whole @ edge
        stops = (rising > 1e-9) & (lines != lines[row])
        length = float((np.maximum(slack[stops], 0.0) / rising[stops]).min(initial=np.inf))
        if gain * length > 1.01 * within:
            sure.add(str(lines[row]))
    return sure
