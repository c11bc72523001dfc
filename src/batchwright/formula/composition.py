"""What a formula holds, as mixed and as finished: every content with the doubt of amounts, ingredients and oven."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition_records import Composition, Content, Mass
from batchwright.formula.contents import CONTENT_KEYS, Floats
from batchwright.formula.mixture import Copies, Mixture, copies_of, impossible_losses, mixture_of
from batchwright.formula.processes import WATER
from batchwright.formula.records import Formula

METHOD = "doubts of amounts, ingredients, processes and loss in quadrature, each side by itself"
MOST = {"energy_kcal": 902.0, "sodium_mg": 39337.0}  # pure fat; pure salt. Grams: 100 of 100
_MOST = np.array([MOST.get(key, 100.0 if key.endswith("_g") else np.inf) for key in CONTENT_KEYS])
_UNITS = tuple(f"{key.rsplit('_', 1)[1]} per 100 g" for key in CONTENT_KEYS)


def composition_of(formula: Formula) -> Composition:
    """Return the composition of a formula, as mixed and as finished, for each part and the whole.

    formula: in grams; lines without grams are left out and named. A part's bake loss is the one it carries, else such
    as brings it to the water usual for its sort of food (said in the notes). Water leaves first, and of the alcohol of
    baked parts a share. The range is 90 %: the doubt of each amount (lines of one ingredient err together), of each
    ingredient's contents, of each process and of the loss, in quadrature, each side by itself. Raises InputError where
    nothing is weighed, a process cannot be, or a loss is more than there is water.
    """
    mix = mixture_of(formula)
    copies = copies_of(mix)
    faults = impossible_losses(formula, mix, copies)
    if faults:
        raise InputError(faults)
    return composition_from(formula, mix, copies)


def composition_from(formula: Formula, mix: Mixture, copies: Copies) -> Composition:
    """Return the composition from a formula's arrays, where they are at hand already."""
    parts = tuple(
        _content(part.name, mix, copies, [place]) for place, part in enumerate(formula.parts)
        if bool((mix.part == place).any())
    )  # fmt: skip
    whole = _content(formula.name, mix, copies, list(range(mix.part_count)))
    notes = [finish.note for place, finish in enumerate(mix.finishes) if finish.note and (mix.part == place).any()]
    unknown = [each.line.item or each.line.text for each, what in zip(mix.lines, mix.contents, strict=True)
               if not what.known]  # fmt: skip
    if unknown:
        notes.append(f"not on the shelf, may hold anything a food can: {', '.join(dict.fromkeys(unknown))}")
    if mix.left_out:
        notes.append(f"left out, no weight: {'; '.join(mix.left_out)}")
    return Composition(whole, parts, balance_of(mix, copies), mix.left_out, tuple(notes))


def balance_of(mix: Mixture, copies: Copies) -> tuple[Mass, ...]:
    """Return where the mass goes [g]: written, gained and lost in processes, lost in the oven, finished."""
    items: dict[str, float] = {"written": float(mix.grams.sum())}
    for each, change, grams in zip(mix.lines, mix.changes, mix.grams, strict=True):
        for sign, table in ((1.0, change.gained_g), (-1.0, change.lost_g)):
            for what, per_gram in table.items():
                key = f"{each.line.item or each.line.text}, {each.line.process}: {what}"
                items[key] = items.get(key, 0.0) + sign * per_gram * float(grams)
    for key, name in (("water_g", "water"), ("alcohol_g", "alcohol")):
        place = CONTENT_KEYS.index(key)
        gone = float(copies.mixed[0, :, place].sum() - copies.finished[0, :, place].sum())
        if gone > 1e-9:
            items[f"oven: {name}"] = -gone
    items["finished"] = float(copies.finished_g[0].sum())
    return tuple(Mass(what, grams) for what, grams in items.items())


def finished_table(mix: Mixture, copies: Copies) -> Mapping[str, Estimate]:
    """Return what 100 g of the finished whole hold, under the names of CONTENT_KEYS."""
    off = _off(mix, copies, list(range(mix.part_count)), finished=True)
    return _table(copies.finished.sum(axis=1), copies.finished_g.sum(axis=1), *off)


def _off(mix: Mixture, copies: Copies, places: list[int], finished: bool) -> tuple[Floats, Floats]:
    """Return how far the contents (K,) of some parts may be off, up and down, by the lots of their ingredients.

    A part that is taken to end at a certain water keeps that whatever water went in.
    """
    sides = []
    for side in (copies.off_up, copies.off_down):
        chosen = side[places].copy()
        for row, place in enumerate(places):
            if finished and mix.finishes[place].water is not None:
                chosen[row, :, WATER] = 0.0
        sides.append(np.sqrt((chosen.sum(axis=0) ** 2).sum(axis=0)))
    return sides[0], sides[1]


def _content(name: str, mix: Mixture, copies: Copies, places: list[int]) -> Content:
    """Return the content of some parts taken together."""
    mixed_g, finished_g = copies.mixed_g[:, places].sum(axis=1), copies.finished_g[:, places].sum(axis=1)
    loss = 100.0 * (1.0 - finished_g / mixed_g)
    return Content(
        name, _one(mixed_g, "g"), _one(finished_g, "g"), _one(loss, "%", most=100.0),
        _table(copies.mixed[:, places].sum(axis=1), mixed_g, *_off(mix, copies, places, finished=False)),
        _table(copies.finished[:, places].sum(axis=1), finished_g, *_off(mix, copies, places, finished=True)),
        any(mix.finishes[place].loss is not None or mix.finishes[place].water is not None for place in places),
    )  # fmt: skip


def _table(amounts: Floats, mass: Floats, off_up: Floats, off_down: Floats) -> Mapping[str, Estimate]:
    """Return estimates per 100 g. amounts: (S, K) of copies; mass: (S,); off: (K,) doubts of the contents."""
    values = 100.0 * amounts / mass[:, None]
    up, down = spread_of(values)
    likely = values[0]
    high = likely + np.hypot(up, 100.0 * off_up / mass[0])
    low = np.maximum(0.0, likely - np.hypot(down, 100.0 * off_down / mass[0]))
    high = np.maximum(likely, np.minimum(high, _MOST))
    ends = zip(CONTENT_KEYS, likely.tolist(), low.tolist(), high.tolist(), _UNITS, strict=True)
    return {key: Estimate(middle, least, most, unit=unit, method=METHOD) for key, middle, least, most, unit in ends}


def spread_of(values: Floats) -> tuple[Floats, Floats]:
    """Return how far shifted copies (1..S) lie above and below copy 0, in quadrature; along the first axis."""
    steps = values[1:] - values[0]
    return np.sqrt((np.maximum(steps, 0.0) ** 2).sum(axis=0)), np.sqrt((np.minimum(steps, 0.0) ** 2).sum(axis=0))


def _one(values: Floats, unit: str, most: float = np.inf) -> Estimate:
    up, down = spread_of(values)
    middle = float(values[0])
    return Estimate(middle, max(0.0, middle - float(down)), min(most, middle + float(up)), unit=unit, method=METHOD)
