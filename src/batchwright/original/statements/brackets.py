"""Brackets paired into groups; a lost or doubled bracket is mended at the nearest sensible place and reported."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from batchwright.original.statements.lexer import Token

DEEPEST = 20
"""Brackets nested deeper than this are read as if they stood at this depth, and reported."""

_PAIR = {"(": ")", "[": "]", "{": "}", "（": "）", ")": "(", "]": "[", "}": "{", "）": "（"}


@dataclass(slots=True)
class Group:
    """A bracket and what it holds, as tokens and groups in order."""

    start: int
    end: int
    parts: list[Token | Group] = field(default_factory=list)


Part = Token | Group
Report = Callable[[str, str, str, int, int], bool]
"""Called with kind, before, after and the two places in the plain text."""


def _pairs(found: list[Token], report: Report) -> tuple[dict[int, int], list[int]]:
    """Return which opening token each closing token ends, and the opening tokens left open."""
    closed_by: dict[int, int] = {}
    stack: list[int] = []
    waiting = {"(": 0, "[": 0, "{": 0, "（": 0}
    for place, token in enumerate(found):
        if token.kind == "open":
            stack.append(place)
            waiting[token.sign] += 1
        elif token.kind == "close":
            want = _PAIR[token.sign]
            if waiting[want]:
                while found[stack[-1]].sign != want:
                    inner = stack.pop()
                    waiting[found[inner].sign] -= 1
                    closed_by[inner] = place
                    report("bracket closed", "", _PAIR[found[inner].sign], token.start, token.start)
                closed_by[stack.pop()] = place
                waiting[want] -= 1
            elif stack:
                inner = stack.pop()
                waiting[found[inner].sign] -= 1
                closed_by[inner] = place
                report("bracket kind", token.sign, _PAIR[found[inner].sign], token.start, token.end)
            else:
                report("bracket removed", token.sign, "", token.start, token.end)
    return closed_by, stack


def grouped(found: list[Token], report: Report, closing_place: Callable[[list[Token], int], int]) -> list[Part]:
    """Return the tokens with each bracket made one group.

    `closing_place` is asked where a bracket ends that never closes: given the tokens and the place of the opening one,
    it returns the place of the token before which the bracket closes. Stray closing brackets are left out.
    """
    closed_by, left_open = _pairs(found, report)
    ends_at: dict[int, int] = {}
    for opening in left_open:
        place = closing_place(found, opening)
        at = found[place].start if place < len(found) else found[-1].end
        report("bracket closed", "", _PAIR[found[opening].sign], at, at)
        ends_at[opening] = place
    ends_at.update(closed_by)
    top: list[Part] = []
    open_groups: list[tuple[int, Group]] = []
    flattened = 0
    for place, token in enumerate(found):
        while open_groups and open_groups[-1][0] <= place:
            open_groups[-1][1].end = token.end if token.kind == "close" else found[place - 1].end
            open_groups.pop()
        into = open_groups[-1][1].parts if open_groups else top
        if token.kind == "open":
            if len(open_groups) >= DEEPEST:
                if not flattened:
                    report("bracket too deep", token.sign, "", token.start, token.end)
                flattened += 1
                into.append(Token("sep", token.start, token.end, ","))
                continue
            group = Group(token.start, token.end)
            into.append(group)
            ends = ends_at[place]
            if open_groups:
                ends = min(ends, open_groups[-1][0])
            open_groups.append((ends, group))
        elif token.kind != "close":
            into.append(token)
    for _, group in open_groups:
        group.end = found[-1].end
    return top
