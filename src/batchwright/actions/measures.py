"""Any recipe or formula written back in kitchen measures."""

from __future__ import annotations

from batchwright.formula.kitchen.measures import write_measures
from batchwright.formula.kitchen.records import Writing
from batchwright.formula.recipes.file import formula_from_text


def measures_text(
    text: str, convention: str = "", rescale_percent: float = 10.0, units: str = "us", any_eggs: bool = False
) -> Writing:
    """Return a recipe or formula in cups, spoons, sticks and eggs, its ratios moved as little as the tools allow.

    text: a pasted recipe, a saved page, the project's TOML or what `weigh --json` or `fit --json` printed;
    convention: whose cup the writing is in, the recipe's own where empty; rescale_percent: how far the whole batch may
    grow or shrink [%, 0..50]; units: "us" or "metric"; any_eggs: whether eggs of another size may be taken.
    Raises InputError where the text holds no amounts or a choice is not allowed.
    """
    return write_measures(formula_from_text(text), convention, rescale_percent, units, any_eggs)
