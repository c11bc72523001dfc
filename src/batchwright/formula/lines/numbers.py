"""Numbers of an ingredient line in every habit: fractions, ranges, words, a letter read for a figure."""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.tokens import Token
from batchwright.formula.lines.units import is_length, is_unit
from batchwright.formula.lines.words import ARTICLES, FRACTIONS, NUMBERS

_DOZENS = frozenset({"dozen", "doz", "dz"})


def number(tokens: Sequence[Token], i: int, draft: Draft) -> tuple[float, float, int] | None:
    """Return low, high and the token after a number or a range (2-3, 2 to 3, 1/4 to 1/3)."""
    if at(tokens, i).text == "-" and at(tokens, i + 1).kind == "n" and at(tokens, i + 1).start == at(tokens, i).end:
        found = _single(tokens, i + 1, draft)
        if found is None:
            return None
        draft.faulty = True
        draft.say("an amount below zero cannot be weighed")
        return -found[0], -found[0], found[1]
    if at(tokens, i).lower == "between":
        i += 1
    first = _single(tokens, i, draft)
    if first is None:
        return None
    low, end = first
    link = at(tokens, end).lower
    if link == "-" and at(tokens, end + 1).lower in ("to", "or"):
        end, link = end + 1, "to"
    if link in ("-", "to", "or", "through", "till") or (link == "and" and at(tokens, i - 1).lower == "between"):
        step = end + 1 + (at(tokens, end + 1).text == "-")
        if at(tokens, step).kind == "n" or at(tokens, step).lower in NUMBERS:
            second = _single(tokens, step, draft)
            if second is not None and _dozens(tokens[step : second[1]]) and not _dozens(tokens[i:end]):
                low *= 12.0
            if second is not None and second[0] > low and not is_length(tokens, second[1]):
                return low, second[0], second[1]
    return low, low, end


def _dozens(tokens: Sequence[Token]) -> bool:
    return any(token.lower in _DOZENS for token in tokens)


def _single(tokens: Sequence[Token], i: int, draft: Draft) -> tuple[float, int] | None:
    """Return one number (1, 1.5, 1/2, 1 1/2, 1-1/2, one and a half, a dozen) and the token after it."""
    token = at(tokens, i)
    if token.kind == "n":
        if at(tokens, i + 1).text in ("%", "°", "º") or at(tokens, i + 1).lower in ("percent", "degrees"):
            return None
        if token.value is None:
            draft.faulty = True
            draft.say(f"{token.text} is no amount: nothing can be divided by zero")
            return 0.0, i + 1
        value, i = token.value, i + 1
        if not token.fraction:
            step = i + (at(tokens, i).lower in ("-", "&", "and", "+"))
            part = at(tokens, step)
            if part.fraction and part.value is not None and part.value < 1 and "." not in token.text:
                joined = step == i or at(tokens, i).text != "-" or part.start == at(tokens, i).end
                if joined:
                    value, i = value + part.value, step + 1
            elif (
                at(tokens, i).lower == "and"
                and at(tokens, i + 1).lower in ("a", "one")
                and at(tokens, i + 2).lower in FRACTIONS
            ):
                value, i = value + FRACTIONS[at(tokens, i + 2).lower], i + 3
        if at(tokens, i).lower in ("dozen", "doz", "dz"):
            return value * 12, i + 1 + (at(tokens, i + 1).text == ".")
        return value, i
    return _in_words(tokens, i, draft)


def _in_words(tokens: Sequence[Token], i: int, draft: Draft) -> tuple[float, int] | None:
    word, nxt = at(tokens, i).lower, at(tokens, i + 1).lower
    if word in ("l", "i", "|") and (nxt == "/" or is_unit(tokens, i + 1)) and at(tokens, i).text != "L":
        if nxt == "/" and at(tokens, i + 2).value:
            draft.say("a letter read as the figure 1")
            return 1 / (at(tokens, i + 2).value or 1.0), i + 3
        if nxt != "/" and nxt not in ("i", "l"):
            draft.say("a letter read as the figure 1")
            return 1.0, i + 1
    if word in ARTICLES:
        if nxt in ("dozen", "couple", "half", "quarter", "third"):
            value = NUMBERS[nxt]
            i += 2
            if nxt == "half" and at(tokens, i).lower == "dozen":
                return 6.0, i + 1
            return value, _skip_of(tokens, i, articles=True)
        return (1.0, i + 1) if nxt else None
    if word in ("dozen", "doz"):
        return 12.0, i + 1 + (nxt == ".")
    if word not in NUMBERS:
        return None
    value, i = NUMBERS[word], i + 1
    if word == "half" and nxt in ("and", "&"):
        return None
    if (word == "half" and nxt == "-") or (word in ("half", "quarter") and nxt == "pound"):
        i += nxt == "-"
    if nxt in FRACTIONS and word not in FRACTIONS:
        value, i = value * FRACTIONS[nxt], i + 1
    elif nxt in ("and", "&") and at(tokens, i + 1).lower in ("a", "one") and at(tokens, i + 2).lower in FRACTIONS:
        value, i = value + FRACTIONS[at(tokens, i + 2).lower], i + 3
    elif nxt == "-" and at(tokens, i + 1).lower in FRACTIONS:
        value, i = value * FRACTIONS[at(tokens, i + 1).lower], i + 2
    elif nxt == "dozen":
        value, i = value * 12, i + 1
    i = _skip_of(tokens, i, articles=value < 1)
    if value < 1 and at(tokens, i).lower in ("dozen", "doz"):
        return value * 12, i + 1
    return value, i


def _skip_of(tokens: Sequence[Token], i: int, articles: bool = False) -> int:
    if at(tokens, i).lower == "of":
        i += 1
    return i + 1 if articles and at(tokens, i).lower in ARTICLES else i
