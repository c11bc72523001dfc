"""Juice, zest and peel of a fruit: juice of half a lemon, zest of 2 oranges and juice of 1."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from batchwright.formula.lines.amounts import leading
from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.finish import finish
from batchwright.formula.lines.item import split_item
from batchwright.formula.lines.numbers import number
from batchwright.formula.lines.quantity import quantity
from batchwright.formula.lines.tokens import Token
from batchwright.formula.lines.words import ABOUT, ADVERBS, FRUITS, OF_FRUIT, PREPARED, SIZES
from batchwright.formula.records import ReadLine, Written


def fruit_taken(tokens: Sequence[Token], i: int) -> tuple[list[tuple[str, list[str]]], int] | None:
    """Read "juice of", "grated zest and juice of": what is taken, each with its preparation, and the token after."""
    taken: list[tuple[str, list[str]]] = []
    before: list[str] = []
    j = i
    while j < len(tokens):
        word = at(tokens, j).lower
        if word in OF_FRUIT:
            taken.append((OF_FRUIT[word], before))
            before = []
        elif word in PREPARED or word in ADVERBS:
            before = [*before, at(tokens, j).text]
        elif word not in ("and", "&", ",", "the", "+") or (not taken and word != "the"):
            break
        j += 1
    if not taken:
        return None
    said_of = at(tokens, j).lower in ("of", "from")
    k = j + said_of
    while at(tokens, k).lower in ABOUT:
        k += 1
    found = quantity(tokens, k, Draft())
    if found is None and not (said_of and at(tokens, k).lower in FRUITS):
        return None
    end = k if found is None else found.end
    if found is not None and found.unit:
        return None
    while at(tokens, end).lower in SIZES or at(tokens, end).lower in ("fresh", "ripe", "organic", "unwaxed", "whole"):
        end += 1 + (at(tokens, end + 1).text == ".")
    return (taken, k) if at(tokens, end).lower in FRUITS else None


def read_fruit(tokens: Sequence[Token], line: str, taken: list[tuple[str, list[str]]], i: int) -> ReadLine:
    """Return juice or zest of a fruit as read; `taken` and the token `i` come from `fruit_taken`."""
    draft = Draft()
    after = leading(tokens, i, draft)
    if after == i:
        draft.amounts.append(Written(1.0, 1.0, ""))
        draft.say("no number: one fruit taken")
    end, further = _juice_too(tokens, after)
    fruit_phrase = split_item(tokens[after:end], line, draft)
    fruit = next((FRUITS[word] for word in fruit_phrase.lower().split() if word in FRUITS), fruit_phrase)
    first = draft.amounts[0]
    draft.amounts = [Written(first.low, first.high, fruit, "first"), *draft.amounts[1:]]
    kinds = [word for word in fruit_phrase.split() if word.lower() not in FRUITS]
    reads = []
    for what, before in taken:
        draft.before = [*before, *kinds]
        reads.append(finish(draft, line, tokens, f"{fruit} {what}"))
    for what, before, low, high in further:
        draft.before, draft.amounts = before, [Written(low, high, fruit)]
        reads.append(finish(draft, line, tokens, f"{fruit} {what}"))
    return replace(reads[0], also=tuple(reads[1:]))


def _juice_too(tokens: Sequence[Token], i: int) -> tuple[int, list[tuple[str, list[str], float, float]]]:
    """Read "and juice of 1" behind a fruit: where the fruit ends, and what else is taken of the same fruit."""
    for index in range(i + 1, len(tokens)):
        if at(tokens, index).lower not in OF_FRUIT:
            continue
        begin = index
        while at(tokens, begin - 1).lower in PREPARED or at(tokens, begin - 1).lower in ADVERBS:
            begin -= 1
        count = number(tokens, index + 1 + (at(tokens, index + 1).lower == "of"), Draft())
        if at(tokens, begin - 1).lower not in ("and", "plus", ",", "&", "+") or count is None or count[2] < len(tokens):
            continue
        before = [token.text for token in tokens[begin:index]]
        while at(tokens, begin - 1).lower in ("and", "plus", ",", "&", "+"):
            begin -= 1
        return begin, [(OF_FRUIT[tokens[index].lower], before, count[0], count[1])]
    return len(tokens), []
