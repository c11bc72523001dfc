"""One slip on a label, and how well the label fits without it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

import numpy as np

from batchwright.original.region.bounds import region
from batchwright.original.region.problem import PanelRow, Problem
from batchwright.original.region.simplex import least
from batchwright.original.region.strain import interval_units

DEEPEST = 0.5  # the middle of an interval lies half a width from its ends
REACH = 40.0  # violations beyond so many interval widths are not told apart
SHARPNESS = 1.5  # a mended label that fits with room to spare counts more: score + SHARPNESS x log(room)


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip that may have happened, not yet looked at.

    kind, lines, check, mended: as of a Suspicion; chance: of it, before the label is looked at [-, > 0].
    """

    kind: str
    lines: tuple[str, ...]
    check: str
    chance: float
    mended: Problem


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One slip and how well the label fits without it.

    kind: digit, kilojoules, serving, swap, percent or line (only: something is wrong there); lines: the label lines it
    sits in; check: what to look at, in words; room: how deep inside all panel intervals a formula can lie then
    [widths, up to 0.5; negative: still missed by so much]; score: for ranking, higher is likelier;
    mended: the problem as it would be without the slip.
    """

    kind: str
    lines: tuple[str, ...]
    check: str
    room: float
    score: float
    mended: Problem


def room(problem: Problem) -> float:
    """Return how deep inside all panel intervals one formula can lie [widths, up to 0.5]; negative: missed by so much.

    Order, groups and structure always hold; -inf where they cannot.
    """
    found = region(problem)
    rows, limits, equal, places = found.demands()
    units = interval_units(problem)
    depth = np.array(
        [units.get(found.lines[place], 0.0) if found.families[place] == "panel" else 0.0 for place in places]
    )
    # depth + REACH is the last unknown, so that it is never negative
    lifted = np.concatenate([rows, depth[:, None]], axis=1)
    most = np.zeros((1, lifted.shape[1]))
    most[0, -1] = 1.0
    lifted = np.concatenate([lifted, most])
    limits = np.append(limits + REACH * depth, REACH + DEEPEST)
    value, _, _ = least(lifted, limits, np.append(equal, False), -most[0])
    return -value - REACH if np.isfinite(value) else -np.inf


def suspicion(slip: Slip) -> Suspicion:
    """Return a slip scored by its chance and the room the mended label leaves."""
    depth = room(slip.mended)
    depth = depth if depth < 0.0 else max(depth, 0.0)
    score = log(slip.chance) + (SHARPNESS * log(depth + 0.02) if depth >= -1e-9 else -1e3 + max(depth, -1e3))
    depth = 0.0 if -1e-9 <= depth < 0.0 else depth
    return Suspicion(slip.kind, slip.lines, slip.check, depth, score, slip.mended)


def with_figure(problem: Problem, figure: PanelRow, low: float, high: float) -> Problem:
    """Return the problem with another interval for one panel figure, low to high [its unit per 100 g]."""
    panel = tuple(replace(one, low=low, high=high) if one is figure else one for one in problem.panel)
    return replace(problem, panel=panel)
