"""Recipes held against the original: every axis inside, above or below its range, ranked, with the reason in words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations
from math import hypot

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.axes import axes_of
from batchwright.formula.comparing.distance import COUNTED, LEAST_STEP, LEAST_STEP_PART, Ruler, distance_of, ruler_of
from batchwright.formula.comparing.records import Band, Beside, Compared, Comparison
from batchwright.formula.comparing.words import reason_of
from batchwright.formula.composition import composition_of
from batchwright.formula.mixture import one_recipe
from batchwright.formula.records import Formula

MOST_PARTS = 6  # parts up to which every pairing is tried
SAME_NAME = 1.0  # steps that a shared word in the names of two parts is worth
_NOTHING = Estimate(0.0, 0.0, 0.0, unit="%")
Pairs = tuple[tuple[str, str], ...]


def compare(band: Band, formulas: Sequence[Formula]) -> Comparison:
    """Return recipes beside the decoded original, the nearest first.

    band: the original's axes with their likely ranges; formulas: recipes in grams, one or more. Each axis of each
    recipe is inside, above or below the original's likely range; `clear` where the likeliest values differ by more than
    both doubts in quadrature. The distance (`distance.Ruler`) counts what lies beyond the original's range in the
    original's own measure, so that it has no unit, and carries the recipe's doubt as its range. Raises InputError for
    no recipe, and every fault of every recipe (nothing weighed, a loss that cannot be) with the recipe's name.
    """
    if not formulas:
        raise InputError([Fault("RECIPE", None, "one recipe or more", "Give the files of the recipes to compare.")])
    found: list[Compared] = []
    faults: list[Fault] = []
    for place, formula in enumerate(formulas):
        try:
            found.append(compared(band, formula, place))
        except InputError as error:
            named = formula.name or f"recipe {place + 1}"
            faults += [replace(fault, field=f"{named}: {fault.field}") for fault in error.faults]
    if faults:
        raise InputError(faults)
    found.sort(key=lambda one: (one.distance.likely, one.place))
    reach = found[0].distance.high
    ranked = [found[0], *(replace(one, as_near=one.distance.low <= reach) for one in found[1:])]
    fits = "no formula fits every line of the original's label: its ranges are the nearest"
    notes = [] if band.consistent else [fits]
    return Comparison(band.name, tuple(ranked), None, tuple(notes))


def compared(band: Band, formula: Formula, place: int = 0) -> Compared:
    """Return one recipe beside the original; see `compare`."""
    one_recipe(formula)
    pairs = paired_parts(band, formula)
    axes = {_renamed(axis.key, pairs): axis for axis in axes_of(formula)}
    ruler = ruler_for(band, formula, [key for key, axis in axes.items() if axis.kind == "class"])
    values = [axes[key].estimate if key in axes else _NOTHING for key in ruler.keys]
    beside = tuple(_beside(ruler, at, value) for at, value in enumerate(values))
    notes = list(composition_of(formula).notes)
    alone = [mine for mine, theirs in pairs if not theirs]
    if len(band.parts) > 1 and not pairs:
        named = " and ".join(part.name for part in band.parts)
        notes.append(f"read as one part, the original has {named}: the shares of the parts are not compared")
    elif alone and len(band.parts) > 1:
        notes.append(f"no part of the original answers to: {', '.join(alone)}")
    distance = distance_of(ruler, values)
    return Compared(place, formula.name or f"recipe {place + 1}", beside, distance, reason_of(beside), False, pairs,
                    tuple(dict.fromkeys(notes)))  # fmt: skip


def ruler_for(band: Band, formula: Formula, classes: Sequence[str]) -> Ruler:
    """Return the axes that count for a recipe; classes: keys of the classes it holds. Parts count where both have."""
    several = len(formula.parts) > 1 and len(band.parts) > 1
    return ruler_of([axis for axis in band.axes if axis.kind != "part" or several], classes)


def _beside(ruler: Ruler, at: int, recipe: Estimate) -> Beside:
    """Return one axis of a recipe beside the original."""
    original, value = ruler.ranges[at], recipe.likely
    if value > original.high:
        relation, by = "above", value - original.high
        doubt = hypot(original.high - original.likely, value - recipe.low)
    elif value < original.low:
        relation, by = "below", original.low - value
        doubt = hypot(original.likely - original.low, recipe.high - value)
    else:
        relation, by, doubt = "inside", 0.0, float("inf")
    clear = abs(value - original.likely) > doubt
    return Beside(ruler.keys[at], ruler.names[at], ruler.kinds[at], original, recipe, relation, by, clear,
                  by / float(ruler.step[at]))  # fmt: skip


def _renamed(key: str, pairs: Pairs) -> str:
    """Return the key of a part's axis under the name of the original's part."""
    if not key.startswith("part:"):
        return key
    mine = key.removeprefix("part:")
    theirs = next((other for name, other in pairs if name == mine), "")
    return f"part:{theirs}" if theirs else f"part:(recipe) {mine}"


def paired_parts(band: Band, formula: Formula) -> Pairs:
    """Return each part of a recipe with the part of the original it answers to: by name, contents and share.

    Names that share a word count for one step; else the pairing whose parts lie nearest to the original's ranges. An
    empty name stands where there is no counterpart.
    """
    mine = [part.name or str(place + 1) for place, part in enumerate(formula.parts)]
    theirs = [part.name for part in band.parts]
    if len(mine) < 2:
        return ()
    if len(theirs) < 2 or max(len(mine), len(theirs)) > MOST_PARTS:
        return tuple((name, name if name in theirs else "") for name in mine)
    cost = _pair_costs(band, formula, mine)
    size = max(len(mine), len(theirs))
    slots = [*range(len(theirs)), *([None] * (size - len(theirs)))]
    best = min(
        permutations(slots, len(mine)),
        key=lambda order: sum(cost[row][to] for row, to in enumerate(order) if to is not None),
    )
    return tuple((name, "" if to is None else theirs[to]) for name, to in zip(mine, best, strict=True))


def _pair_costs(band: Band, formula: Formula, mine: Sequence[str]) -> list[list[float]]:
    """Return how badly each part of the recipe answers to each of the original [steps]."""
    held = {part.name or str(place + 1): part for place, part in enumerate(formula.parts)}
    contents = {part.name: part.finished for part in composition_of(formula).parts}
    shares = {axis.key.removeprefix("part:"): axis.estimate.likely for axis in axes_of(formula) if axis.kind == "part"}
    wanted = {axis.name: axis.estimate for axis in band.axes if axis.kind == "part"}
    costs = []
    for name in mine:
        row = []
        for part in band.parts:
            steps = _beyond(wanted.get(part.name, Estimate(50.0, 0.0, 100.0)), shares.get(name, 0.0)) / LEAST_STEP_PART
            for key in COUNTED:
                value = contents.get(held[name].name, {}).get(key)
                if value is not None and key in part.contents:
                    steps += _beyond(part.contents[key], value.likely) / max(part.contents[key].likely, LEAST_STEP[key])
            row.append(steps - SAME_NAME * len(_words(name) & _words(part.name)))
        costs.append(row)
    return costs


def _beyond(band: Estimate, value: float) -> float:
    """Return how far a value lies from the middle of a range in halves of it, plus how far beyond its ends."""
    half = max(band.high - band.low, 1e-6) / 2.0
    return max(value - band.high, band.low - value, 0.0) + min(1.0, abs(value - band.likely) / half)


def _words(name: str) -> frozenset[str]:
    return frozenset(re.sub(r"s$", "", word) for word in re.findall(r"[a-z]{3,}", name.casefold()))
