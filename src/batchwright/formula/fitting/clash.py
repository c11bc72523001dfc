"""Which wishes and rules cannot hold together: a smallest set, by taking one after the other away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from batchwright.formula.fitting.solver import Program, possible

KINDS = ("row", "rule", "line", "step")


@dataclass(frozen=True, slots=True)
class Member:
    """Something that may be to blame: `kind` one of KINDS, `place` its place in the program, `name` in words."""

    kind: str
    place: int
    name: str


def clashing(program: Program, members: Sequence[Member], free_high_g: float) -> tuple[Member, ...]:
    """Return a set of members that cannot hold together, though they can as soon as any one of them is left out.

    members: what may be left out; everything else of the program always holds. free_high_g: how far a line may go once
    its bounds are left out [g]. Empty where the program is possible, or where it is not even without all members.
    """
    if possible(program) or not possible(without(program, members, free_high_g)):
        return ()
    blamed, rest = list(members), list(members)
    size = max(1, len(rest) // 4)
    while size >= 1:  # whole groups first, then one by one: most members have no part in it
        for first in range(0, len(rest), size):
            group = [member for member in rest[first : first + size] if member in blamed]
            kept = [member for member in blamed if member not in group]
            if group and not possible(without(program, [each for each in members if each not in kept], free_high_g)):
                blamed = kept
        rest = list(blamed)
        size = size // 2 if size > 1 else 0
    return tuple(blamed)


def without(program: Program, members: Sequence[Member], free_high_g: float) -> Program:
    """Return the program with members left out; see `clashing`."""
    low, high, step = program.low.copy(), program.high.copy(), program.step.copy()
    rows, rules = np.ones(len(program.rows), dtype=bool), np.ones(len(program.rules), dtype=bool)
    for member in members:
        if member.kind == "row":
            rows[member.place] = False
        elif member.kind == "rule":
            rules[member.place] = False
        elif member.kind == "line":
            low[member.place], high[member.place] = 0.0, max(free_high_g, high[member.place])
        else:
            step[member.place] = 0.0
    return replace(
        program, low=low, high=high, step=step,
        rules=program.rules[rules], rules_low=program.rules_low[rules], rules_high=program.rules_high[rules],
        rows=program.rows[rows], rows_low=program.rows_low[rows], rows_high=program.rows_high[rows],
        miss_cost=program.miss_cost[rows], bases=program.bases[rows],
        far=None if program.far is None else program.far[rows],
    )  # fmt: skip
