"""The record of an ingredient line that has been read."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from batchwright.formula.lines.choice import first_choice
from batchwright.formula.lines.draft import Draft
from batchwright.formula.lines.steps import is_step
from batchwright.formula.lines.tokens import Token, text_of
from batchwright.formula.lines.words import MEASURES
from batchwright.formula.records import MARKS, ReadLine

_SIFTED_FIRST = re.compile(r"\bsift(?:ed)? (?:and then measured|before (?:measuring|you measure|it is measured))\b"
                           r"|\bmeasured? after sifting\b", re.I)  # fmt: skip
"""Words behind the food that say it was sifted before, not after, it was measured."""


def finish(draft: Draft, line: str, tokens: Sequence[Token], item: str) -> ReadLine:
    """Return the record of a draft, with what was assumed and whether it could be made out."""
    assumptions = list(draft.assumptions)
    after = "; ".join(draft.after)
    filling = draft.filling or ("sifted" if _SIFTED_FIRST.search(after) else "")
    amounts = [replace(each, place=draft.place) if draft.place and not each.place and each.unit in MEASURES else each
               for each in draft.amounts]  # fmt: skip
    if " or " in f" {item} ":
        assumptions.append(f"a choice is left: {first_choice(item)} taken")
    read = not draft.faulty
    if not any(letter.isalpha() for letter in item):
        read = False
        assumptions.append("no ingredient in this line")
    elif not draft.amounts and is_step(tokens):
        read = False
        assumptions.append("reads like a step of the method, not like an ingredient")
    elif not draft.amounts and not latin(item):
        read = False
        assumptions.append("letters of another script: not read")
    return ReadLine(
        text=text_of(line, list(tokens)) if tokens else line,
        amounts=tuple(amounts),
        item=item,
        before=tuple(draft.before),
        after=after,
        size=draft.size,
        filling=filling,
        marks=tuple(mark for mark in MARKS if mark in draft.marks),
        assumptions=tuple(assumptions),
        read=read,
    )


def latin(text: str) -> bool:
    """Whether most letters of a text are Latin."""
    letters = [letter for letter in text if letter.isalpha()]
    return sum(letter < "\u0370" for letter in letters) * 2 >= len(letters)
