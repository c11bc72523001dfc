"""The axes on which recipes and originals are held against each other, and the linear maps behind them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition import METHOD, finished_table, spread_of
from batchwright.formula.composition_records import ends
from batchwright.formula.contents import PLACE, Contents, Floats, class_group, class_groups
from batchwright.formula.finish import UNBAKED
from batchwright.formula.mixture import ALCOHOL_KEPT, Copies, Mixture, copies_of, impossible_losses, mixture_of
from batchwright.formula.processes import ALCOHOL, ENERGY, KCAL_PER_G_ALCOHOL, WATER
from batchwright.formula.records import Formula

__all__ = ["KINDS", "NUTRIENT_AXES", "Axis", "AxisMatrix", "axes_of", "class_group", "class_groups", "held_per_gram",
           "matrix_of", "part_key"]  # fmt: skip

KINDS = ("nutrient", "class", "part")
NUTRIENT_AXES: Mapping[str, str] = {
    "energy_kcal": "energy", "fat_g": "fat", "saturated_fat_g": "saturated fat", "carbohydrate_g": "carbohydrate",
    "sugars_g": "sugars", "added_sugars_g": "added sugars", "starch_g": "starch", "fiber_g": "fibre",
    "protein_g": "protein", "salt_g": "salt", "water_g": "water", "cocoa_solids_g": "cocoa solids",
    "alcohol_g": "alcohol",
}  # fmt: skip
"""Key of a nutrient axis to its name, in the order shown."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a food, in percent of the finished food (energy: kcal per 100 g).

    `key`: a key of NUTRIENT_AXES, "class:NAME" or "part:NAME". `kind` is one of KINDS.
    "nutrient": grams in 100 g of finished food.
    "class": grams of a class's ingredients as they are added (after browning, draining and the like; their water as
    added), per 100 g of finished food. The same as the sum of `finished_percent` over the shares of a decoded original
    whose ingredient is of that class.
    "part": grams of the part as finished, per 100 g of finished food.
    """

    key: str
    name: str
    kind: str
    estimate: Estimate

    def to_json(self) -> dict[str, Any]:
        """Return all fields; the estimate as low, likely and high."""
        return {"key": self.key, "name": self.name, "kind": self.kind, **ends(self.estimate)}


@dataclass(frozen=True, slots=True)
class AxisMatrix:
    """Axes as ratios of linear sums of the grams written, m (n,): value = 100 * (tops @ m) / (bottom @ m).

    `keys` (Q) names the rows of `tops` (Q, n); `bottom` (n,) gives finished grams per gram written; `at` (n,) is each
    line's place in `flat_lines`. Baked parts are taken to end as dry as they do now, so the map holds while amounts
    move; a part that is drier as mixed than that is taken as it is mixed. A part cooked on the stove, nobody knows how
    far, loses the share of its water that it loses now.
    """

    keys: tuple[str, ...]
    tops: Floats
    bottom: Floats
    at: tuple[int, ...]

    def values(self, grams: Floats) -> Floats:
        """Return every axis (Q,) for grams (n,) of the lines [g, as written]."""
        return np.asarray(100.0 * (self.tops @ grams) / float(self.bottom @ grams))


def axes_of(formula: Formula) -> tuple[Axis, ...]:
    """Return every axis of a formula: nutrients, then the classes it holds, then its parts where there are several.

    Ranges as in `composition_of`, and the same faults raised.
    """
    mix = mixture_of(formula)
    copies = copies_of(mix)
    faults = impossible_losses(formula, mix, copies)
    if faults:
        raise InputError(faults)
    held = finished_table(mix, copies)
    found = [Axis(key, name, "nutrient", held[key]) for key, name in NUTRIENT_AXES.items()]
    whole = copies.finished_g.sum(axis=1)
    present = {class_group(what.ingredient_class) for what in mix.contents}
    for place, group in enumerate(class_groups()):
        if group in present:
            values = 100.0 * copies.classes[:, :, place].sum(axis=1) / whole
            found.append(Axis(f"class:{group}", group, "class", _percent(values)))
    if len(formula.parts) > 1:
        for place, part in enumerate(formula.parts):
            values = 100.0 * copies.finished_g[:, place] / whole
            found.append(Axis(part_key(formula, place), part.name or f"part {place + 1}", "part", _percent(values)))
    return tuple(found)


def part_key(formula: Formula, place: int) -> str:
    """Return the key of the axis of a part; place: its number in the formula, from 0."""
    return f"part:{formula.parts[place].name or place + 1}"


def _percent(values: Floats) -> Estimate:
    up, down = spread_of(values)
    middle = float(values[0])
    return Estimate(middle, max(0.0, middle - float(down)), middle + float(up), unit="%", method=METHOD)


def matrix_of(formula: Formula, keys: Sequence[str] | None = None) -> AxisMatrix:
    """Return the axes as ratios of linear sums, for fitting amounts.

    formula: lines of 0 g stand for ingredients that may be added; keys: the axes wanted, all that the formula has where
    None; a class or part the formula does not have gives a row of zeros. Raises as `composition_of` does.
    """
    mix = mixture_of(formula)
    copies = copies_of(mix)
    faults = impossible_losses(formula, mix, copies)
    if faults:
        raise InputError(faults)
    held, bottom = _finished_per_gram(mix, copies)
    groups = [class_group(what.ingredient_class) for what in mix.contents]
    rows_: dict[str, Floats] = {key: held[:, PLACE[key]] for key in PLACE}
    for group in class_groups():
        if keys is not None or group in groups:
            rows_[f"class:{group}"] = np.where([each == group for each in groups], mix.factor, 0.0)
    for place in range(len(formula.parts)):
        if keys is not None or len(formula.parts) > 1:
            rows_[part_key(formula, place)] = np.where(mix.part == place, bottom, 0.0)
    extra = [key for key in rows_ if key in NUTRIENT_AXES or key not in PLACE]
    wanted = tuple(extra if keys is None else keys)
    nothing = np.zeros(len(bottom))
    return AxisMatrix(wanted, np.array([rows_.get(key, nothing) for key in wanted]), bottom, mix.at)


def _finished_per_gram(mix: Mixture, copies: Copies) -> tuple[Floats, Floats]:
    """Return (n, K) finished contents and (n,) finished grams per gram written of each line."""
    held, bottom = mix.held.copy(), mix.factor.copy()
    for part, finish in enumerate(mix.finishes):
        if finish.loss is None and finish.water is None:
            continue
        inside = mix.part == part
        spirit = (1.0 - ALCOHOL_KEPT[1]) * held[inside, ALCOHOL]
        held[inside, ALCOHOL] -= spirit
        held[inside, ENERGY] -= KCAL_PER_G_ALCOHOL * spirit
        bottom[inside] -= spirit
        lost = copies.mixed[0, part, WATER] - copies.finished[0, part, WATER]
        ends_g = float(copies.finished_g[0, part])
        if lost <= 1e-9 or ends_g <= 0:
            continue
        if finish.sort == UNBAKED and finish.taken:
            gone = held[inside, WATER] * lost / float(copies.mixed[0, part, WATER])
            held[inside, WATER] -= gone
            bottom[inside] -= gone
            continue
        wet = float(copies.finished[0, part, WATER]) / ends_g
        solids = bottom[inside] - held[inside, WATER]
        bottom[inside] = solids / (1.0 - wet)
        held[inside, WATER] = bottom[inside] - solids
    return held, bottom


def held_per_gram(contents: Contents) -> Mapping[str, float]:
    """Return what a gram holds under the names of NUTRIENT_AXES; for an original whose shares are known."""
    return {key: float(contents.likely[PLACE[key]]) for key in NUTRIENT_AXES}
