"""How far a recipe lies from an original: one number without unit, from the axes of both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.formula.comparing.records import BandAxis
from batchwright.formula.contents import Floats

COUNTED = ("water_g", "fat_g", "saturated_fat_g", "sugars_g", "protein_g", "fiber_g", "salt_g")
"""Nutrient axes that count. Starch and added sugars follow from the others and the classes."""
LEAST_STEP: Mapping[str, float] = {
    "water_g": 3.0, "fat_g": 3.0, "saturated_fat_g": 2.0, "sugars_g": 3.0, "protein_g": 2.0, "fiber_g": 1.5,
    "salt_g": 0.25,
}  # fmt: skip
"""Points that count as one step where the original holds less: about what a taster or a scale begins to notice
(common practice)."""
MINOR_CLASSES = frozenset({"leavening", "yeast", "salt", "spice", "gum", "other", "fibre", "protein"})
LEAST_STEP_CLASS, LEAST_STEP_MINOR, LEAST_STEP_PART = 10.0, 1.0, 10.0  # points, for the same reason
WEIGHT = {"nutrient": 1.0, "class": 0.5, "part": 1.0}
"""Of a squared step. A class says how a food is made, half as telling as what is in it (judgement)."""
ALSO_NUTRIENTS = frozenset({"fat", "fibre", "protein", "salt", "water", "starch"})
NOT_COMPARED = frozenset({"class:water"})  # lists need not name water that bakes off


@dataclass(frozen=True, slots=True)
class Ruler:
    """The original as arrays over its axes (Q,): likely range `low`..`high`, `middle`, `step` and `weight` of each."""

    keys: tuple[str, ...]
    names: tuple[str, ...]
    kinds: tuple[str, ...]
    ranges: tuple[Estimate, ...]
    low: Floats
    high: Floats
    step: Floats
    weight: Floats

    def steps(self, values: Floats) -> Floats:
        """Return how far values (..., Q) lie beyond the range [steps, 0 inside, negative below]."""
        over = np.maximum(values - self.high, 0.0) - np.maximum(self.low - values, 0.0)
        return np.asarray(over / self.step)

    def distance(self, values: Floats) -> Floats:
        """Return the distance of values (..., Q): root of the weighted mean of squared steps, 0 inside every range.

        The mean is over the nutrient axes; classes and parts are added to it at their weight.
        """
        return np.asarray(np.sqrt((self.weight * self.steps(values) ** 2).sum(axis=-1) / len(COUNTED)))


def ruler_of(band: Sequence[BandAxis], more_classes: Sequence[str] = ()) -> Ruler:
    """Return the axes that count, as arrays.

    band: axes of the original; more_classes: keys of classes that recipes hold and the original does not: there it
    holds none. An original that says nothing of its classes (a panel alone) is compared on none.
    """
    none = Estimate(0.0, 0.0, 0.0, 0.0, 0.0, "%")
    axes = [axis for axis in band if axis.kind != "nutrient" or axis.key in COUNTED]
    axes = [axis for axis in axes if axis.key not in NOT_COMPARED]
    known = {axis.key for axis in axes}
    more_classes = more_classes if any(axis.kind == "class" for axis in axes) else ()
    extra = [key for key in dict.fromkeys(more_classes) if key not in known and key not in NOT_COMPARED]
    axes += [BandAxis(key, key.removeprefix("class:"), "class", none) for key in extra]
    order = {"nutrient": 0, "class": 1, "part": 2}
    axes.sort(key=lambda axis: (order[axis.kind], COUNTED.index(axis.key) if axis.key in COUNTED else 0))
    ranges = tuple(axis.estimate for axis in axes)
    return Ruler(
        tuple(axis.key for axis in axes), tuple(axis.name for axis in axes), tuple(axis.kind for axis in axes), ranges,
        np.array([one.low for one in ranges]), np.array([one.high for one in ranges]),
        np.array([max(one.likely, _least_step(axis)) for one, axis in zip(ranges, axes, strict=True)]),
        np.array([WEIGHT[axis.kind] for axis in axes]),
    )  # fmt: skip


def _least_step(axis: BandAxis) -> float:
    if axis.kind == "part":
        return LEAST_STEP_PART
    if axis.kind == "class":
        return LEAST_STEP_MINOR if axis.name in MINOR_CLASSES else LEAST_STEP_CLASS
    return LEAST_STEP[axis.key]


def spoken(key: str, name: str) -> str:
    """Return the name of an axis where it stands among others: "fat as added" is the ingredient, "fat" the nutrient."""
    return f"{name} as added" if key.startswith("class:") and name in ALSO_NUTRIENTS else name


def distance_of(ruler: Ruler, values: Sequence[Estimate]) -> Estimate:
    """Return the distance of a recipe with its likely range.

    values: the recipe's axes in the order of the ruler. Ranges: each axis moved to either end of its own doubt, what
    that brings nearer and farther added in quadrature.
    """
    likely = np.array([one.likely for one in values])
    middle = float(ruler.distance(likely))
    nearer, farther = 0.0, 0.0
    for end in ("low", "high"):
        moved = np.tile(likely, (len(likely), 1))
        np.fill_diagonal(moved, [getattr(one, end) for one in values])
        change = ruler.distance(moved) - middle
        nearer += float((np.minimum(change, 0.0) ** 2).sum())
        farther += float((np.maximum(change, 0.0) ** 2).sum())
    low, high = max(0.0, middle - float(np.sqrt(nearer))), middle + float(np.sqrt(farther))
    return Estimate(middle, low, high, method="steps beyond the original's likely range, root of the weighted mean")
