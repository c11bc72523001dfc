"""Which label lines pin an end of a sure range."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from batchwright.original.bounds import Region, region, region_ends
from batchwright.original.problem import Floats, Problem

MOST_LINES = 40


def pinned_by(problem: Problem, leaf_index: int, side: str, within: float = 0.001) -> tuple[str, ...]:
    """Return the label lines that alone reproduce one end of a leaf's sure range; () where the label cannot tell.

    leaf_index: place of the leaf [0 to n-1]; side: "low" or "high"; within: how far the end may move [fraction].
    With these lines and the structure alone the end lies within `within` of the true one, and none of them can go.
    """
    return pins(problem, ((leaf_index, side),), within)[0]


def pins(problem: Problem, wanted: Collection[tuple[int, str]], within: float = 0.001) -> list[tuple[str, ...]]:
    """Return `pinned_by` for several ends (leaf_index, side) of one problem, in order.

    within: how far an end may move [fraction]. An end that hangs on more than 40 lines at once counts as one the label cannot tell.
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
        results.append(_needed(found, objectives[job], side, end, sorted(push, key=lambda line: push[line]), within))
    return results


def _needed(
    found: Region, objective: Floats, side: str, end: float, lines: list[str], within: float
) -> tuple[str, ...]:
    """Return the lines, weakest tried first, without which the end would move by more than `within`."""

    def holds(kept: list[str]) -> bool:
        answer, _ = region_ends(found.only(kept), objective[None, :])
        return abs(float((answer.low if side == "low" else answer.high)[0]) - end) <= within

    kept = list(lines) if holds(lines) else list(found.label_lines())
    for line in tuple(kept):
        rest = [other for other in kept if other != line]
        if holds(rest):
            kept = rest
    return tuple(line for line in found.label_lines() if line in kept)
