"""Labels that no formula satisfies: the fewest lines that contradict one another, and what to re-check."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from batchwright.original.answers.suspects import check_words, scaled, suspects
from batchwright.original.region.bounds import Region, region
from batchwright.original.region.highs import loaded_highs
from batchwright.original.region.pinned import pinned_by, pins
from batchwright.original.region.problem import Problem
from batchwright.original.region.strain import fits, irreducible, nearest, programs, strain

__all__ = ["Conflict", "nearest", "pinned_by", "pins", "scaled", "smallest_conflict", "suspects"]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Label lines that cannot all be right, and what to look at again.

    lines: the contradicting label lines, each as the label says it (empty: the structure alone is impossible);
    smallest: true if no smaller set of lines contradicts itself, false if the search stopped before that was
    known; check: what to re-check, in words, the likeliest first.
    """

    lines: tuple[str, ...]
    check: str
    smallest: bool = True


def smallest_conflict(
    problem: Problem, tries: int | None = None, serving_lines: Collection[str] | None = None
) -> Conflict | None:
    """Return the smallest set of label lines that contradict one another; None where the label is possible.

    All rows of one line go together, structure is always kept. tries: how many linear programs the search may take
    [-, >= 0] (absent: 400, fewer for long lists); beyond it the set found last is returned. serving_lines: the
    panel lines given per serving (absent: all), for the check of the serving weight.
    The smallest set hits every set of lines whose removal mends the label; both kinds are found in turn until the
    smallest hitting set is itself contradictory (duality of minimal infeasible and correction sets).
    """
    found = region(problem)
    if fits(found):
        return None
    if not fits(found.only(())):
        return Conflict((), "these ingredients cannot make up a whole at all: check loss, parts and composition")
    conflict = _smallest(found, programs(found) if tries is None else tries)
    words = check_words(suspects(problem, serving_lines, conflict.lines))
    return replace(conflict, check=words or f"no single slip explains it; look first at {conflict.lines[0]}")


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
