"""All amounts at the head of an ingredient line: the first, sums, contents and second writings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from batchwright.formula.lines.brackets import bracket
from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.numbers import number
from batchwright.formula.lines.quantity import Quantity, add_quantity, add_sum, combined, quantity
from batchwright.formula.lines.tokens import Token, tokens_of
from batchwright.formula.lines.units import is_length, unit_at
from batchwright.formula.lines.words import (
    ARTICLES,
    CONTAINERS,
    FILLINGS,
    IN_OUNCES,
    IN_TEASPOONS,
    MEASURES,
    PLACES,
    SIZES,
    STEPS_UP,
    WEIGHTS,
)
from batchwright.formula.records import Written

_PIECES = frozenset({"piece", "stick", "knob", "chunk", "slice", "square", "strip"})
"""What a length may be said of: 2-inch piece."""


def leading(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read all amounts from a token on: the first, its container, sums and second writings; return the token after.

    Nothing is read and the same token returned where no amount stands there.
    """
    first = quantity(tokens, i, draft)
    if first is None:
        return i
    word = at(tokens, i).lower
    if word in ARTICLES and not first.unit:
        first = replace(first, implied=True)
    first = _small_packages(tokens, i, first, draft)
    end = first.end
    long = first.unit == "inch" and (first.hyphen or at(tokens, first.end).lower in _PIECES)
    if long or (not first.unit and is_length(tokens, first.end)):
        return _length_first(tokens, i, draft)
    if not first.unit:
        nested = _count_of_packages(tokens, first, draft)
        if nested is not None:
            return following(tokens, nested, draft)
        end = _length(tokens, end, draft)
        unit = unit_at(tokens, end, draft) if end != first.end else None
        if unit is not None and unit[0] not in WEIGHTS:
            first, end = replace(first, unit=unit[0]), unit[1]
        if at(tokens, end).kind == "b":
            inner = tokens_of(at(tokens, end).text)
            if _length(inner, 0, draft) == len(inner) > 0:
                unit = unit_at(tokens, end + 1, draft)
                unit = unit if unit is not None and unit[0] in _PIECES else ("", end + 1)
                first, end = replace(first, unit=unit[0]), unit[1]
        end = _bracket_before_unit(tokens, first, end, draft)
        if end < 0:
            return following(tokens, -end, draft)
    add_quantity(replace(first, end=end), "first", draft)
    return following(tokens, end, draft)


def _small_packages(tokens: Sequence[Token], i: int, first: Quantity, draft: Draft) -> Quantity:
    """Read "2 1/4-ounce envelopes" as two of a quarter ounce: yeast and gelatin are sold so, 2 1/4 ounces are not."""
    while at(tokens, i).kind == "w":  # about
        i += 1
    count, part = at(tokens, i), at(tokens, i + 1)
    if first.container not in ("envelope", "sachet", "package") or first.unit != "ounce":
        return first
    if count.kind != "n" or count.fraction or part.value != 0.25 or first.low != (count.value or 0) + 0.25:
        return first
    draft.say(f"read as {count.text} of {part.text} ounce each")
    draft.amounts.append(Written(count.value or 1.0, count.value or 1.0, first.container))
    return replace(first, low=0.25, high=0.25, container="each")


def _length_first(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read "2-inch piece ginger", "9-inch pie shell": one of that size."""
    end = _length(tokens, i, draft)
    unit = unit_at(tokens, end, draft)
    if unit is not None and unit[0] in _PIECES:
        draft.amounts.append(Written(1.0, 1.0, unit[0]))
        return following(tokens, unit[1], draft)
    draft.amounts.append(Written(1.0, 1.0, ""))
    draft.say("no number: one taken")
    return following(tokens, end, draft)


def _length(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Take a length as the size: 1 9-inch pie shell, 2-inch piece."""
    silent = Draft()
    found = number(tokens, i, silent)
    if found is None or not is_length(tokens, found[2]):
        return i
    end = found[2] + (at(tokens, found[2]).text == "-")
    end += 1
    if at(tokens, end).text == ".":
        end += 1
    draft.size = " ".join(token.text for token in tokens[i:end]).replace(" - ", "-").replace(" .", "")
    return end + (at(tokens, end).text == "-")


def _count_of_packages(tokens: Sequence[Token], first: Quantity, draft: Draft) -> int | None:
    """Read "1 8-ounce package", "2 14 oz cans"; return the token after, None where it is something else."""
    token = at(tokens, first.end)
    if token.kind != "n":
        return None
    silent = Draft()
    inner = quantity(tokens, first.end, silent)
    if inner is None or inner.unit not in MEASURES:
        return None
    draft.amounts.append(Written(first.low, first.high, inner.container))
    draft.amounts.append(inner.written("each"))
    return inner.end


def _bracket_before_unit(tokens: Sequence[Token], first: Quantity, end: int, draft: Draft) -> int:
    """Read "1 (8-oz) package", "1 large (400 g) can"; return minus the token after where that was found."""
    j = end
    size = ""
    while at(tokens, j).lower in SIZES:
        size, j = SIZES[at(tokens, j).lower], j + 1 + (at(tokens, j + 1).text == ".")
    if at(tokens, j).kind != "b":
        return end
    inner_tokens = tokens_of(at(tokens, j).text)
    unit = unit_at(tokens, j + 1, draft)
    inner = quantity(inner_tokens, 0, Draft())
    if unit is None or inner is None or inner.unit not in MEASURES:
        return end
    rest = [token.text for token in inner_tokens[inner.end :] if token.kind in "wb" and token.lower not in ("each",)]
    draft.after.extend(rest[:0] or ([" ".join(rest)] if rest else []))
    draft.size = size or draft.size
    if unit[0] in MEASURES:
        draft.amounts.append(Written(first.low, first.high, unit[0]))
        draft.amounts.append(inner.written("same"))
    else:
        draft.amounts.append(Written(first.low, first.high, unit[0]))
        draft.amounts.append(inner.written("each"))
    return -unit[1]


def following(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read what follows a first amount: sums, second writings after a slash, brackets with amounts, ways of filling."""
    while True:
        j = _one_more(tokens, i, draft)
        if j == i:
            return i
        i = j


def _one_more(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    token, last = at(tokens, i), draft.amounts[-1]
    if token.kind == "b" and token.lower == "" and token.text.lower().strip(". ") in PLACES:
        draft.where(token.text.lower().strip(". "))
        return i + 1
    if token.kind == "b":
        return i + 1 if bracket(token.text, draft, counted=not draft.amounts[0].unit) else i
    if token.text in (",",) and at(tokens, i + 1).lower in ("plus", "packed", "firmly", "scant", "heaped", "heaping"):
        nxt = at(tokens, i + 1).lower
        if nxt != "plus" or quantity(tokens, i + 2, Draft()) is not None:
            j = _one_more(tokens, i + 1, draft)
            return i if j == i + 1 else j + (at(tokens, j).text == ",")
        return i
    if token.lower in ("plus", "+", "and", "&", "minus", "less"):
        return add_sum(tokens, i, draft)
    if token.text in ("/", "|", "=", ",", ";") or (token.text == "-" and token.end < at(tokens, i + 1).start):
        other = quantity(tokens, i + 1, Draft())
        if token.text == "," and other is not None and _smaller_part(last, other):
            add_quantity(replace(other, container=""), "plus", draft)
            return other.end + (at(tokens, other.end).text == ",")
        closed = token.text in "/|=-" or at(tokens, other.end if other else 0).text == ","
        if other is not None and other.unit in MEASURES | CONTAINERS and closed:
            if token.text == "-" and other.unit == last.unit and other.low > last.high:
                draft.amounts[-1] = replace(last, high=other.high)
                return other.end
            smaller = quantity(tokens, other.end, Draft()) if at(tokens, other.end).kind == "n" else None
            if smaller is not None and (other.unit, smaller.unit) in STEPS_UP:
                other = combined(other, smaller) or other
            join = "each" if last.unit in CONTAINERS and token.text == "," else "same"
            add_quantity(replace(other, container=""), join, draft)
            return other.end + (at(tokens, other.end).text == ",")
        return i
    if token.lower == "to" and at(tokens, i + 1).kind == "n":
        other = quantity(tokens, i + 1, Draft())
        if other is not None and other.unit and other.end > i + 1:
            return _range_over_units(other, draft, i)
    if token.lower == "of" and last.unit in CONTAINERS and at(tokens, i + 1).kind == "n":
        other = quantity(tokens, i + 1, Draft())
        if other is not None and not other.container:
            draft.amounts.append(other.written("each"))
            return other.end
    if token.lower == "or" and at(tokens, i + 1).lower == "so":
        draft.marks.add("about")
        return i + 2
    if token.kind == "n":
        return _side_by_side(tokens, i, draft)
    if token.lower in FILLINGS and token.lower in ("packed", "heaped", "heaping", "level", "scant", "rounded"):
        draft.fill(token.lower)
        return i + 1 + (at(tokens, i + 1).text == ",")
    if (
        token.lower in ("us", "uk", "au", "imperial", "metric", "australian")
        and last.unit in MEASURES
        and not draft.place
    ):
        draft.where(token.lower)
        return i + 1
    if token.lower in ("firmly", "lightly", "tightly", "well") and at(tokens, i + 1).lower == "packed":
        draft.fill("packed")
        draft.before.append(token.lower)
        return i + 2 + (at(tokens, i + 2).text == ",")
    return i


def _smaller_part(last: Written, other: Quantity) -> bool:
    """Whether "1 lb., 2 oz." goes on: the next smaller unit, less than one of the larger."""
    for ratio in (IN_TEASPOONS, IN_OUNCES):
        if last.unit in ratio and other.unit in ratio and (last.unit, other.unit) in STEPS_UP:
            return other.high * ratio[other.unit] < ratio[last.unit]
    return False


def _range_over_units(other: Quantity, draft: Draft, i: int) -> int:
    """Read "1 tbsp to 2 tbsp", "1 teaspoon to 1 tablespoon" as a range in the first unit."""
    last = draft.amounts[-1]
    if other.unit == last.unit:
        draft.amounts[-1] = replace(last, high=max(last.high, other.high))
        return other.end
    if other.unit in IN_TEASPOONS and last.unit in IN_TEASPOONS:
        high = other.high * IN_TEASPOONS[other.unit] / IN_TEASPOONS[last.unit]
        if high > last.high:
            draft.amounts[-1] = replace(last, high=high)
            draft.say(f"up to {other.words()} is {high:g} {last.unit}s")
            return other.end
    return i


def _side_by_side(tokens: Sequence[Token], i: int, draft: Draft) -> int:
    """Read "1 lb 4 oz" as a sum and "1 can 400 g" as its content."""
    last = draft.amounts[-1]
    silent = Draft()
    other = quantity(tokens, i, silent)
    if other is None or not other.unit:
        return i
    if (last.unit, other.unit) in STEPS_UP:
        add_quantity(replace(other, container=""), "plus", draft)
        return other.end
    if last.unit in CONTAINERS and other.unit in MEASURES:
        draft.amounts.append(other.written("each"))
        return other.end
    return i
