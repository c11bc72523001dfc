"""Labels that no formula satisfies: the fewest lines that contradict one another, and what to re-check."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from batchwright.original.bounds import Region, region
from batchwright.original.highs import loaded_highs
from batchwright.original.pinned import pinned_by, pins
from batchwright.original.problem import Problem
from batchwright.original.strain import fits, nearest, strain

__all__ = ["Conflict", "nearest", "pinned_by", "pins", "smallest_conflict"]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Label lines that cannot all be right, and what to look at again.

    lines: the contradicting label lines, each as the label says it (empty: the structure alone is impossible);
    smallest: true if no smaller set of lines contradicts itself, false if the search stopped at a set from which
    no line can be left out; check: what to re-check, in words ("" = nothing to suggest).
    """

    lines: tuple[str, ...]
    check: str
    smallest: bool = True


def smallest_conflict(problem: Problem, tries: int = 400) -> Conflict | None:
    """Return the smallest set of label lines that contradict one another; None where the label is possible.

    All rows of one line go together, structure is always kept. tries: how many linear programs the search may take
    [-, >= 0]; beyond it the set found last is returned, irreducible but perhaps not the smallest.
    The smallest set hits every set of lines whose removal mends the label; both kinds are found in turn until the
    smallest hitting set is itself contradictory (duality of minimal infeasible and correction sets).
    """
    found = region(problem)
    if fits(found):
        return None
    if not fits(found.only(())):
        return Conflict((), "these ingredients cannot make up a whole at all: check percentages and part weights")
    lines, used = _irreducible(found)
    if len(lines) <= 1 or tries <= used:
        return Conflict(lines, "", len(lines) <= 1)
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


def _irreducible(found: Region) -> tuple[tuple[str, ...], int]:
    """Return contradicting lines none of which can be left out, and how many programs that took."""
    strains = strain(found, {})
    involved = {line for line, push in zip(found.lines, strains.push, strict=True) if push > 1e-9}
    kept = [line for line in found.label_lines() if line in involved]
    used = 2
    if fits(found.only(kept)):  # rounding took a line from the proof
        kept = list(found.label_lines())
    for line in tuple(kept):
        rest = [other for other in kept if other != line]
        used += 1
        if not fits(found.only(rest)):
            kept = rest
    return tuple(kept), used


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
