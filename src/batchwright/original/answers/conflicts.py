"""Labels that no formula satisfies: the fewest lines that contradict one another, and what to re-check."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from batchwright.original.answers.improbable import improbable
from batchwright.original.answers.suspects import Suspicion, check_words, scaled, suspects
from batchwright.original.region.bounds import Region, region
from batchwright.original.region.highs import loaded_highs
from batchwright.original.region.pinned import pinned_by, pins
from batchwright.original.region.problem import Problem
from batchwright.original.region.strain import fits, irreducible, nearest, programs, strain
from batchwright.original.sampling.prior import Prior

__all__ = ["Conflict", "doubt_about", "nearest", "pinned_by", "pins", "scaled", "smallest_conflict", "suspects"]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Label lines that cannot all be right, and what to look at again.

    lines: the contradicting label lines, each as the label says it (empty: the structure alone is impossible);
    smallest: true if no smaller set of lines contradicts itself, false if the search stopped before that was
    known; check: what to re-check, in words, the likeliest first; possible: true where the lines can all be right but
    hardly are; slips: the single slips behind `check`, the likeliest first.
    """

    lines: tuple[str, ...]
    check: str
    smallest: bool = True
    possible: bool = False
    slips: tuple[Suspicion, ...] = ()


def doubt_about(
    problem: Problem,
    prior: Prior,
    tries: int | None = None,
    serving_lines: Collection[str] | None = None,
    loose: Problem | None = None,
) -> Conflict | None:
    """Return what a cook is told about a label: its contradiction, or the slip that makes it improbable; else None.

    prior: how such foods are usually made; tries, serving_lines as in `smallest_conflict`; loose: the same label with
    the room that packets take, which is looked at for what is improbable (absent: as it is printed).
    """
    found = smallest_conflict(problem, tries, serving_lines, prior)
    if found is not None:
        return found
    hardly = improbable(loose or problem, prior, serving_lines)
    return None if hardly is None else Conflict(hardly.lines, hardly.check, True, True, hardly.slips)


def smallest_conflict(
    problem: Problem,
    tries: int | None = None,
    serving_lines: Collection[str] | None = None,
    prior: Prior | None = None,
) -> Conflict | None:
    """Return the smallest set of label lines that contradict one another; None where the label is possible.

    All rows of one line go together, structure is always kept. tries: how many linear programs the search may take
    [-, >= 0] (absent: 400, fewer for long lists); beyond it the set found last is returned. serving_lines: the
    panel lines given per serving (absent: all), for the check of the serving weight. prior: how such foods are usually
    made, for what to re-check first (absent: not looked at).
    The smallest set hits every set of lines whose removal mends the label; both kinds are found in turn until the
    smallest hitting set is itself contradictory (duality of minimal infeasible and correction sets).
    """
    found = region(problem)
    if fits(found):
        return None
    if not fits(found.only(())):
        return Conflict((), "these ingredients cannot make up a whole at all: check loss, parts and composition")
    conflict = _smallest(found, programs(found) if tries is None else tries)
    slips = suspects(problem, serving_lines, conflict.lines, prior)
    words = check_words(slips) or f"no single slip explains it; look first at {conflict.lines[0]}"
    return replace(conflict, check=words, slips=slips)


def _smallest(found: Region, tries: int) -> Conflict:
    """Return the smallest contradiction of an empty region, nothing to check yet."""
    lines, used, done = irreducible(found, tries)
    if len(lines) <= 1 or not done:
        return Conflict(lines, "", done)
    every = found.label_lines()
    corrections: list[frozenset[str]] = []
    while used < tries:
        chosen = _hitting_set(every, corrections)
        if len(chosen) >= len(lines):
            return Conflict(lines, "")
        used += 1
        if not fits(found.only(chosen)):
            return Conflict(tuple(line for line in every if line in chosen), "")
        kept, cost = _grown(found, every, chosen)
        used += cost
        corrections.append(frozenset(every) - kept)
    return Conflict(lines, "", False)


def _grown(found: Region, every: tuple[str, ...], chosen: Collection[str]) -> tuple[frozenset[str], int]:
    """Return lines that hold together, with the chosen ones among them, to which none can be added; programs used."""
    point = strain(found, dict.fromkeys(chosen, np.inf)).point
    missed = found.G @ point - found.h > 1e-8
    broken = {line for line, miss in zip(found.lines, missed, strict=True) if miss}
    kept = {line for line in every if line not in broken} | set(chosen)
    used = 1
    for line in every:
        if line not in kept:
            used += 1
            if fits(found.only(kept | {line})):
                kept.add(line)
    return frozenset(kept), used


def _hitting_set(every: tuple[str, ...], sets: list[frozenset[str]]) -> frozenset[str]:
    """Return the fewest lines of which each set holds at least one."""
    union = [line for line in every if any(line in one for one in sets)]
    if not union:
        return frozenset()
    rows = np.array([[float(line in one) for line in union] for one in sets])
    ones = np.ones(len(union))
    solver = loaded_highs(rows, np.ones(len(sets)), np.full(len(sets), np.inf), ones, ones, ones > 0.0)
    solver.run()
    solution = solver.getSolution().col_value
    return frozenset(line for line, value in zip(union, solution, strict=True) if value > 0.5)
