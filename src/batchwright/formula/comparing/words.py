"""The reason of a distance in a cook's words: where a recipe is near, and what sets it apart most."""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.formula.comparing.distance import COUNTED, WEIGHT, spoken
from batchwright.formula.comparing.records import Beside

MOST_SAID = 3
ONE_STEP = 0.15  # steps from which a difference is worth a word
TIMES = ((0.12, "hardly any"), (0.29, "a quarter of the"), (0.42, "a third of the"), (0.6, "half the"),
         (0.72, "two thirds of the"), (0.9, "a little less"), (1.12, "a little more"), (1.28, "a quarter more"),
         (1.42, "a third more"), (1.75, "half as much again of the"), (2.35, "twice the"), (3.5, "three times the"))
"""Upper ends of the ratio to the original's likeliest amount, and how a cook says it."""


def reason_of(axes: Sequence[Beside]) -> str:
    """Return why a recipe is near or far: "Near in fat and sugars; twice the water; egg, which the original lacks"."""
    near = [axis.name for axis in axes if axis.relation == "inside" and axis.key in COUNTED]
    far = sorted((axis for axis in axes if axis.steps >= ONE_STEP), key=lambda axis: -WEIGHT[axis.kind] * axis.steps**2)
    said = []
    if near:
        said.append("near in everything a panel prints" if len(near) == len(COUNTED) else f"near in {joined(near[:4])}")
    said += [difference(axis) for axis in far[:MOST_SAID]]
    if not said:
        said = ["within a step of the original on every axis"]
    text = "; ".join(said)
    return text[:1].upper() + text[1:]


def difference(axis: Beside) -> str:
    """Return one difference as a cook says it, with "within the doubt" where the doubts cover it."""
    name = spoken(axis.key, axis.name)
    mine, theirs = axis.recipe.likely, axis.original.likely
    sure = "" if axis.clear else " (within the doubt)"
    if axis.kind == "part":
        size = "large" if axis.relation == "above" else "small"
        return f"{axis.name} is {points(axis.by_points)} points too {size}{sure}"
    if theirs <= 0.05 and mine > theirs:
        return f"{mine:.{0 if mine >= 3 else 1}f} % {name}, which the original lacks{sure}"
    if mine <= 0.005:
        return f"no {name}{sure}"
    ratio = mine / max(theirs, 1e-9)
    word = next((word for end, word in TIMES if ratio <= end), "many times the")
    return f"{word} {name}{sure}"


def points(value: float) -> str:
    """Return a difference with the digits it deserves; value [points]."""
    return f"{value:.0f}" if value >= 3 else f"{value:.1f}" if value >= 0.25 else f"{value:.2f}"


def joined(names: Sequence[str]) -> str:
    """Return names with commas and an "and"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


