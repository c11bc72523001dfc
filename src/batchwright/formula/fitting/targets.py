"""Targets a cook can name, each as a sum over the grams of the lines: composition, classes, sweetness, cost, mass."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.formula.axes import NUTRIENT_AXES, class_group, class_groups
from batchwright.formula.contents import CONTENT_KEYS, PLACE, Floats
from batchwright.formula.fitting.lines import Bench, Candidate
from batchwright.formula.fitting.records import Target

MIXED = " as mixed"
OTHER_WORDS = {"saturated": "saturated_fat_g", "sat fat": "saturated_fat_g", "sugar": "sugars_g", "fiber": "fiber_g",
               "carbs": "carbohydrate_g", "sodium": "sodium_mg", "sucrose": "sucrose_g", "lactose": "lactose_g",
               "cocoa": "cocoa_solids_g", "moisture": "water_g"}  # fmt: skip
LEAST_MISS_PERCENT = 0.1  # a miss as small as this is of no account in a kitchen: no target counts as finer than it
RELATIVE_MISS = 0.1  # a miss of a tenth of its figure counts the same for every target (judgement)
POWDER_WATER = 0.15  # of the mass at most: wetter things are no powder (flour holds 12 to 14 %)
POWDER_FAT = 0.30  # of the mass at most: whole milk powder is a powder at 27 %, ground nuts at 50 % are a paste
NO_POWDER = frozenset({"chocolate", "confection", "baked good", "fat", "butter", "dried fruit", "cheese"})
"""Dry and yet no powder in a mix: they melt, or stay pieces."""
POURED = frozenset({"syrup", "flavour", "alcohol", "oil", "juice", "emulsifier"})
"""Poured or dropped, however dry their figures look."""


def key_of(name: str) -> str | None:
    """Return the key of a content that a cook's word means; None for a word that means none."""
    word = name.strip().casefold().replace("fibre", "fiber")
    known = {said.replace("fibre", "fiber"): key for key, said in NUTRIENT_AXES.items()}
    found = known.get(word) or OTHER_WORDS.get(word)
    return found or (word if word in PLACE else f"{word.replace(' ', '_')}_g" if f"{word}_g" in PLACE else None)


def usual_importance(low: float | None, high: float | None) -> float:
    """Return what a miss of 1 unit costs where nobody says: a tenth of the figure counts 1, whatever the figure.

    low, high: limits of the target [its unit].
    """
    ends = [abs(end) for end in (low, high) if end is not None]
    return 1.0 / max(RELATIVE_MISS * (sum(ends) / len(ends)), LEAST_MISS_PERCENT)


def composition_target(
    bench: Bench, key: str, low: float | None, high: float | None, *, mixed: bool = False, part: str = "",
    importance: float | None = None,
) -> Target:  # fmt: skip
    """Return a target for a content of the finished food (or as mixed), of the whole or of one part.

    key: one of CONTENT_KEYS; low, high: limits [g per 100 g; unit of the key per 100 g for others]; importance: cost
    of a miss of 1 [per unit of the key].
    """
    inside = bench.inside(part)
    held, mass = (bench.mixed, bench.mixed_g) if mixed else (bench.finished, bench.finished_g)
    name = NUTRIENT_AXES.get(key, key.rsplit("_", 1)[0].replace("_", " ")) + (MIXED if mixed else "")
    unit = "%" if key.endswith("_g") else f"{key.rsplit('_', 1)[1]} per 100 g"
    return _share(f"{part}: {name}" if part else name, 100.0 * held[:, PLACE[key]] * inside, mass * inside, low, high,
                  importance, unit)  # fmt: skip


def class_target(
    bench: Bench, group: str, low: float | None, high: float | None, importance: float | None = None
) -> Target:
    """Return a target for a class's share (ingredients as added) of the finished food.

    group: one of `axes.class_groups()`; low, high: limits [%]; importance: cost of a miss of 1 % [per %].
    """
    inside = np.array([class_group(each.ingredient_class) == group for each in bench.candidates])
    return _share(f"{group} (class)", 100.0 * bench.mixed_g * inside, bench.finished_g, low, high, importance)


def part_target(
    bench: Bench, part: str, low: float | None, high: float | None, importance: float | None = None
) -> Target:
    """Return a target for the share of a part in the finished food.

    low, high: limits [%]; importance: cost of a miss of 1 % [per %].
    """
    return _share(f"part: {part}", 100.0 * bench.finished_g * bench.inside(part), bench.finished_g, low, high,
                  importance)  # fmt: skip


def sweetness_of(bench: Bench) -> Floats:
    """Return how sweet a gram of each line is as written (n,), table sugar = 1."""
    return np.array([each.sweetness for each in bench.candidates])


def sweetness_target(
    bench: Bench, low_fraction: float | None, high_fraction: float | None, part: str = "",
    importance: float | None = None,
) -> Target:  # fmt: skip
    """Return a target for sweetness as a share of what it is now, gram for gram of the finished food.

    low_fraction, high_fraction: of the present sweetness [0.8 = a fifth less]; importance: cost of a miss of 1 % of it
    [per %]. Raises InputError where the food is not sweet at all.
    """
    inside = bench.inside(part)
    sweet, mass = sweetness_of(bench) * inside, bench.finished_g * inside
    now = float(sweet @ bench.start) / max(float(mass @ bench.start), 1e-12)
    if now <= 1e-9:
        raise InputError([Fault("sweetness", 0, "a food with some sugar in it", "Nothing in it is sweet.")])
    ends = [None if end is None else 100.0 * end for end in (low_fraction, high_fraction)]
    name = f"{part}: sweetness" if part else "sweetness"
    return _share(name, 100.0 * sweet / now, mass, ends[0], ends[1], importance, "% of what it was")


def is_powder(each: Candidate) -> bool:
    """Return whether a line goes into a mix as a dry powder: sugar, flour, starch, milk powder, cocoa."""
    if each.ingredient_class in NO_POWDER or each.mixed_g <= 0:
        return False
    dry = each.holds("water_g") / each.mixed_g <= POWDER_WATER and each.holds("fat_g") / each.mixed_g <= POWDER_FAT
    return dry and each.ingredient_class not in POURED


def powder_target(
    bench: Bench, low: float | None, high: float | None, part: str = "", importance: float | None = None
) -> Target:
    """Return a target for the share of dry powders in the mix.

    low, high: limits [%]; importance: cost of a miss of 1 % [per %].
    """
    inside = bench.inside(part)
    powder = np.array([float(is_powder(each)) for each in bench.candidates])
    return _share(f"{part}: powder share" if part else "powder share", 100.0 * powder * bench.mixed_g * inside,
                  bench.mixed_g * inside, low, high, importance)  # fmt: skip


def cost_target(bench: Bench, per_g: Sequence[float], low: float | None, high: float | None) -> Target:
    """Return a target for the cost of a kg of finished food.

    per_g: price of a gram of each line [money/g]; low, high: limits [money/kg].
    """
    return _share("cost", 1000.0 * np.array(per_g), bench.finished_g, low, high, None, "per kg")


def mass_target(bench: Bench, low: float | None, high: float | None, *, finished: bool = False,
                pieces: float = 1.0) -> Target:  # fmt: skip
    """Return a target for the mass of the batch, or of one of so many pieces, raw or finished.

    low, high: limits [g]; pieces: how many [count, > 0].
    """
    mass = bench.finished_g if finished else bench.mixed_g
    name = "piece weight" if pieces != 1 else "batch weight"
    weights = tuple(float(each) / pieces for each in mass)
    said = "finished" if finished else "raw"
    return Target(f"{name}, {said}", weights, None, low, high, usual_importance(low, high), "g")


def linearised(
    name: str, bench: Bench, value: float, slopes: Sequence[float], low: float | None, high: float | None,
    importance: float | None = None, unit: str = "",
) -> Target:  # fmt: skip
    """Return a target for any property whose model gives a value and its slopes at the present amounts.

    This is the seam for property models: hardness, spread, water activity. Exact where the property is a ratio of
    sums; else true near the start, so fit, ask the model again at the new amounts, and fit once more.
    value: the property now [its unit]; slopes: change per gram of each line, in the order of the candidates [unit/g];
    low, high: limits [its unit]; importance: cost of a miss of 1 [per unit].
    Raises InputError where there is not one finite slope for each line.
    """
    if len(slopes) != len(bench.candidates) or not np.isfinite([value, *slopes]).all():
        raise InputError([Fault(f"target {name}", len(slopes), f"{len(bench.candidates)} finite slopes, one per line")])
    start = bench.start
    total = float(start.sum())
    offset = (value - float(np.asarray(slopes) @ start)) / total
    return _share(name, np.asarray(slopes) + offset, np.full(len(start), 1.0 / total), low, high, importance, unit)


def _share(
    name: str, weights: Floats, over: Floats, low: float | None, high: float | None, importance: float | None,
    unit: str = "%",
) -> Target:  # fmt: skip
    cost = usual_importance(low, high) if importance is None else importance
    return Target(name, tuple(map(float, weights)), tuple(map(float, over)), low, high, cost, unit)


__all__ = [
    "CONTENT_KEYS", "class_groups", "class_target", "composition_target", "cost_target", "is_powder", "key_of",
    "linearised", "mass_target", "part_target", "powder_target", "sweetness_of", "sweetness_target", "usual_importance",
]  # fmt: skip
