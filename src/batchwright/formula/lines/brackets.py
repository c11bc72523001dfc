"""Amounts in brackets: another writing of the same, what each piece holds, a sum."""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.quantity import Quantity, add_sum, combined, quantity
from batchwright.formula.lines.tokens import Token, text_of, tokens_of
from batchwright.formula.lines.words import ABOUT, CONTAINERS, MEASURES, PLACES, STEPS_UP


def bracket(text: str, draft: Draft, counted: bool = False) -> bool:
    """Read amounts in a bracket: another writing of the same, or what each holds; False where none stands there.

    counted: whether the bracket stands between a bare count and the item, so that it says what each weighs.
    """
    plain = text.replace("ca.", "about").replace("~", " about ")
    tokens = tokens_of(plain)
    if at(tokens, 0).lower in ("plus", "+", "minus"):
        return draft.amounts != [] and _bracket_sum(tokens, draft)
    silent = Draft()
    first = quantity(tokens, 0, silent)
    if first is None or first.implied or silent.faulty:
        return False
    each = any(token.lower in ("each", "apiece") for token in tokens)
    if not first.unit:
        return _bracket_count(plain, tokens, first, draft)
    if first.unit not in MEASURES | CONTAINERS | {"stick"}:
        return False
    place = next((PLACES[token.lower] for token in tokens if token.lower in PLACES), "")
    holds = len(draft.amounts) == 1 and draft.amounts[0].unit in CONTAINERS - {"stick"} and not silent.marks
    summed = any(token.lower in ("total", "all", "cup", "cups") for token in tokens)
    join = "each" if each or ((holds or (counted and not silent.marks)) and not summed) else "same"
    found, i, left = [first], first.end, []
    while i < len(tokens):
        token = tokens[i]
        plus = token.lower in ("plus", "+", "and")
        other = quantity(tokens, i + plus, silent) if plus or token.kind == "n" else None
        total = (
            None
            if other is None or (not plus and (found[-1].unit, other.unit) not in STEPS_UP)
            else combined(found[-1], other)
        )
        if total is not None:
            found[-1], i = total, total.end
            continue
        if token.kind == "n" and (other := quantity(tokens, i, silent)) is not None and other.end > i:
            if other.unit in MEASURES | CONTAINERS:
                found.append(other)
            else:
                left.extend(tokens[i : other.end])
            i = other.end
            continue
        if (
            token.lower not in ("each", "apiece", "or", "and", "total", "in", "all", "about", "approx", "approximately")
            or left
        ):
            if token.kind in "wb":
                left.append(token)
        elif token.lower in ABOUT:
            draft.marks.add("about")
        i += 1
    for each_found in found:
        draft.amounts.append(each_found.written(join, place if each_found.unit == first.unit else ""))
    draft.marks |= silent.marks
    draft.filling = draft.filling or silent.filling
    remark = " ".join(word for word in (*silent.before, silent.size, text_of(plain, left)) if word)
    if remark in ("packed", "heaped", "level", "scant", "spooned"):
        draft.fill(remark)
    elif remark:
        draft.after.append(remark)
    return True


def _bracket_sum(tokens: Sequence[Token], draft: Draft) -> bool:
    end = add_sum(tokens, 0, draft)
    if end == 0:
        return False
    if end < len(tokens):
        draft.after.append(" ".join(token.text for token in tokens[end:] if token.kind in "wbn"))
    return True


def _bracket_count(plain: str, tokens: Sequence[Token], first: Quantity, draft: Draft) -> bool:
    """Read "(about 3)", "(5 to 6)" behind a measure as a count of the same."""
    if first.end < len(tokens) or not draft.amounts or draft.amounts[0].unit not in MEASURES:
        return False
    draft.amounts.append(first.written("same"))
    return True
