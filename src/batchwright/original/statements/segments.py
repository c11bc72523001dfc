"""The stretches of one level between its separators."""

from __future__ import annotations

from dataclasses import dataclass

from batchwright.original.statements.brackets import Part
from batchwright.original.statements.lexer import CUT, Token
from batchwright.original.statements.names import cleaned

_BARE_ADJECTIVES = frozenset(
    [
        "unbleached",
        "bleached",
        "enriched",
        "unbromated",
        "unbleached/unbromated",
        "organic",
        "pasteurized",
        "pasteurised",
        "homogenized",
        "cultured",
        "filtered",
        "raw",
        "degerminated",
        "refined",
        "deodorized",
        "natural",
        "roasted",
        "non-gmo",
        "grade",
        "dried",
        "whole",
        "unsalted",
        "salted",
        "sliced",
        "cooked",
        "boneless",
        "skinless",
        "fresh",
        "ground",
    ]
)


@dataclass(slots=True)
class Segment:
    """What stands between two separators: `sign` is the separator before it."""

    sign: str
    parts: list[Part]


def segments(parts: list[Part]) -> list[Segment]:
    """Return the stretches between separators; empty ones are left out, the strongest separator wins."""
    out: list[Segment] = []
    now = Segment("", [])
    rank = {"": 0, ",": 1, "-": 2, "|": 2, "•": 2, "\n": 2, ";": 3, ".": 4, CUT: 5}
    for part in parts:
        if isinstance(part, Token) and part.kind == "sep":
            if now.parts:
                out.append(now)
                now = Segment(part.sign, [])
            elif rank.get(part.sign, 1) > rank.get(now.sign, 1) or not now.sign:
                now.sign = part.sign
        else:
            if len(now.parts) >= 40:
                out.append(now)
                now = Segment("", [])
            now.parts.append(part)
    if now.parts:
        out.append(now)
    return out


def with_adjectives(text: str, listed: list[Segment]) -> list[Segment]:
    """Join "unbleached, unbromated flour": a lone adjective belongs to the name behind the comma."""
    for place in range(len(listed) - 2, -1, -1):
        here, after = listed[place], listed[place + 1]
        first = here.parts[0]
        nearest = after.parts[0]
        if (
            len(here.parts) == 1
            and after.sign == ","
            and isinstance(first, Token)
            and isinstance(nearest, Token)
            and nearest.kind == "text"
            and first.kind == "text"
            and cleaned(text[first.start : first.end]) in _BARE_ADJECTIVES
        ):
            joined = Token("text", first.start, nearest.end)
            listed[place] = Segment(here.sign, [joined, *after.parts[1:]])
            del listed[place + 1]
    return listed


def text_token(text: str, start: int, end: int) -> Token | None:
    """Return the stretch as a token without blanks at its ends; None where nothing is left."""
    piece = text[start:end]
    start += len(piece) - len(piece.lstrip())
    end -= len(piece) - len(piece.rstrip())
    return Token("text", start, end) if end > start else None
