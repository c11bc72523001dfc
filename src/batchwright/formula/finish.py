"""How dry a part of a formula ends: its water when finished, as the cook measured it or as is usual for such food."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from batchwright.base.estimate import Estimate
from batchwright.base.tables import rows
from batchwright.formula.contents import match_of
from batchwright.formula.records import Formula, Part

UNBAKED = "unbaked"
FLOURY = frozenset({"flour", "whole flour", "grain", "cereal"})
RAISED = frozenset({"leavening", "yeast"})
_BAKED_WORDS = re.compile(r"\b(?:bak(?:e|es|ed|ing)|oven)\b", re.I)
_SIMMERED = re.compile(r"\b(?:simmer|boil|reduce|cook down|cook until thick)", re.I)
SIMMERED_LOSS = (0.0, 0.05, 0.25)
"""What a filling or sauce boils off on the stove, of its mass: from just heated to well thickened; common practice."""
_WORD = re.compile(r"[a-z]+")


@dataclass(frozen=True, slots=True)
class Finish:
    """How a part ends: exactly one of `loss` (of the mixed mass, fractions low, likely, high) and `water` (of the
    finished mass, likewise) is given, or neither where nothing is lost. `taken` is True where the figures are usual
    ones and not the cook's. `note` says why."""

    sort: str
    loss: tuple[float, float, float] | None = None
    water: tuple[float, float, float] | None = None
    note: str = ""
    taken: bool = True


@cache
def _sorts() -> tuple[tuple[str, frozenset[str], tuple[float, float, float] | None], ...]:
    found: list[tuple[str, frozenset[str], tuple[float, float, float] | None]] = []
    for row in rows("formula_finish_water"):
        ends = None
        if row["likely_percent"]:
            low, likely, high = (float(row[f"{end}_percent"]) / 100.0 for end in ("low", "likely", "high"))
            ends = low, likely, high
        found.append((row["sort"], frozenset(filter(None, row["words"].split("|"))), ends))
    return tuple(found)


@cache
def _sort_of(text: str, unbaked_too: bool) -> str:
    """Return the sort named last in a text, as the head noun comes last in English; empty where none is."""
    words = _WORD.findall(text.lower())
    for place in range(len(words) - 1, -1, -1):
        for each in (words[place], words[place].removesuffix("s"), words[place].removesuffix("es"),
                     words[place].removesuffix("ies") + "y"):  # fmt: skip
            pair = f"{words[place - 1]} {each}" if place else ""
            for sort, known, _ in _sorts():
                if (each in known or pair in known) and (unbaked_too or sort != UNBAKED):
                    return sort
    return ""


def finish_of(formula: Formula, part: Part) -> Finish:
    """Return how a part of a formula ends.

    The loss given with the part comes first. Else the water that such food holds when done, read from the part's name,
    the formula's name, or from flour together with a method that bakes; else nothing is lost.
    """
    given: Estimate | None = part.bake_loss_percent
    if given is not None:
        return Finish("", loss=(given.low / 100.0, given.likely / 100.0, given.high / 100.0),
                      taken=False)  # fmt: skip
    kinds = {match_of(line).ingredient_class or "" for line in part.lines if line.grams is not None}
    floury, alone = bool(kinds & FLOURY), len(formula.parts) == 1
    what = f"{formula.name} {formula.makes.what if formula.makes else ''}"
    sort = _sort_of(part.name, True)
    if not sort and (floury or alone):
        sort = _sort_of(what, alone and not floury)
    if not sort and floury:
        oven = any(_BAKED_WORDS.search(step.text) for step in formula.method)
        sort = "baked" if oven or kinds & RAISED else ""
    water = next((ends for name, _, ends in _sorts() if name == sort), None)
    shown = part.name or formula.name or "the food"
    if water is None:
        if any(_SIMMERED.search(step.text) for step in formula.method if alone or step.part == part.name):
            return Finish(UNBAKED, loss=SIMMERED_LOSS, note=f"{shown}: cooked on the stove, how far is not known: "
                          f"taken to lose 0 to {100 * SIMMERED_LOSS[2]:g} % of its mass")  # fmt: skip
        reason = "its bake loss is not given and it is not read as baked: taken as it is mixed"
        return Finish(UNBAKED, note=f"{shown}: {reason}" if floury else "")
    said = "baked food" if sort == "baked" else sort
    return Finish(sort, water=water, note=f"{shown}: bake loss not given, taken to end at {100 * water[0]:g} to "
                  f"{100 * water[2]:g} % water (sort of food: {said})")  # fmt: skip
