"""Units of an ingredient line in every spelling, slips of the pen included."""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.tokens import Token
from batchwright.formula.lines.words import AWKWARD, CASED_UNITS, FOREIGN, SLIPS, UNITS

_LONG_UNITS = ("tablespoon", "teaspoon", "kilogram", "millilitre", "dessertspoon")
_LENGTHS = frozenset(
    {"inch", "inches", "in", "cm", "mm", '"', "centimetre", "centimeter", "centimetres", "centimeters"}
)


def unit_at(
    tokens: Sequence[Token], i: int, draft: Draft | None = None, counted: bool = True
) -> tuple[str, int] | None:
    """Return the unit that stands at a token, singular and in full, and the token after it.

    counted: whether a number stands before it; some spellings are units only then.
    """
    token = at(tokens, i)
    if token.text == "#" and counted and at(tokens, i + 1).kind != "n":
        return "pound", i + 1
    if token.kind != "w":
        return None
    word = token.lower
    dot = at(tokens, i + 1).text == "."
    after = i + 1 + dot
    if word in ("fl", "fluid", "fld") and UNITS.get(at(tokens, after).lower) == "ounce":
        return "fluid ounce", after + 1 + (at(tokens, after + 1).text == ".")
    if word == "floz":
        return "fluid ounce", after
    cased = CASED_UNITS.get(token.text)
    if cased is not None:
        if token.text in ("EL", "TL") and draft is not None:
            draft.say(f"{token.text} read as {cased}")
        return (cased, after) if counted else None
    unit = UNITS.get(word)
    if unit is None:
        unit = _misspelt(word) if counted else None
        if unit is not None and draft is not None:
            draft.say(f"{token.text} read as {unit}")
        return None if unit is None else (unit, after)
    if word in AWKWARD and (not counted or (word == "in" and not dot)):
        return None
    if word == "c" and not counted:
        return None
    if draft is not None and (word in SLIPS or word in FOREIGN):
        draft.say(f"{token.text} read as {unit}")
    return unit, after


def is_unit(tokens: Sequence[Token], i: int) -> bool:
    """Whether a unit stands here."""
    return unit_at(tokens, i) is not None


def _misspelt(word: str) -> str | None:
    if not 7 <= len(word) <= 13:
        return None
    bare = word.removesuffix("s")
    for name in _LONG_UNITS:
        if abs(len(bare) - len(name)) <= 1 and bare[0] == name[0] and _one_slip(bare, name):
            return name
    return None


def _one_slip(a: str, b: str) -> bool:
    """Whether two words differ by one letter more, less, other, or by two neighbours swapped."""
    if a == b:
        return True
    start = 0
    while start < min(len(a), len(b)) and a[start] == b[start]:
        start += 1
    x, y = a[start:], b[start:]
    return x[1:] == y[1:] or x[1:] == y or x == y[1:] or (x[:2] == y[1::-1] and x[2:] == y[2:])


def is_length(tokens: Sequence[Token], i: int) -> bool:
    """Whether a unit of length stands here (inch, cm)."""
    i += at(tokens, i).text == "-"
    token = at(tokens, i)
    return token.lower.split("-")[0] in _LENGTHS and (token.lower != "in" or at(tokens, i + 1).text == ".")
