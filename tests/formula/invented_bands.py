"""Invented recipes and bands for the tests of comparing."""

from __future__ import annotations

from batchwright.base.estimate import Estimate
from batchwright.formula.axes import axes_of
from batchwright.formula.comparing.records import Band, BandAxis
from batchwright.formula.records import Formula, Line, Part


def line(item: str, grams: float, doubt: float = 0.0) -> Line:
    estimate = Estimate(grams, grams * (1 - doubt), grams * (1 + doubt), unit="g")
    return Line(f"{grams:g} g {item}", item, estimate, item, "name")


def recipe(name: str, *parts: tuple[str, dict[str, float]], doubt: float = 0.0, loss: float | None = None) -> Formula:
    """Return a recipe; loss: bake loss in percent of every part with flour in it."""
    made = []
    for part, amounts in parts:
        floury = any("flour" in item for item in amounts)
        estimate = Estimate(loss, loss, loss, unit="%") if loss is not None and floury else None
        made.append(Part(part, tuple(line(item, grams, doubt) for item, grams in amounts.items()), estimate))
    return Formula(name, tuple(made))


def band_around(formula: Formula, relative: float = 0.05, least: float = 0.2) -> Band:
    """Return a band whose every range holds the axes of a recipe, `relative` of each value to either side."""
    axes = []
    for axis in axes_of(formula):
        middle = axis.estimate.likely
        half = max(relative * middle, least if middle > 0 else 0.0)
        axes.append(BandAxis(axis.key, axis.name, axis.kind, Estimate(middle, max(0.0, middle - half), middle + half)))
    return Band(formula.name, tuple(axes), ingredients=tuple(
        (each.ingredient or "", "") for part in formula.parts for each in part.lines
    ))  # fmt: skip


SHORTBREAD = recipe("Quay shortbread", ("dough", {"wheat flour": 300, "butter": 200, "sugar": 100, "salt": 2}))
RICH = recipe(
    "Harbour biscuit", ("dough", {"wheat flour": 300, "butter": 230, "sugar": 190, "whole egg": 50, "salt": 4})
)
PLAIN = recipe("Ropewalk biscuit", ("dough", {"wheat flour": 300, "butter": 60, "sugar": 40, "milk, whole": 90}))
FILLED = recipe(
    "Ferry pocket",
    ("pastry", {"wheat flour": 200, "butter": 120, "sugar": 40, "salt": 2}),
    ("filling", {"walnuts": 120, "sugar": 90, "honey": 40}),
)
