"""The recipe card for the counter: from a recipe's text and a method's to a card in any of its forms."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from batchwright.base.errors import Fault, InputError
from batchwright.formula.composition import composition_of
from batchwright.formula.kitchen.measures import write_measures
from batchwright.formula.kitchen.records import Writing
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula
from batchwright.writeup.card import card_of
from batchwright.writeup.card_forms import card_html, card_markdown, card_text, recipe_data, script_json
from batchwright.writeup.method import steps_of_text
from batchwright.writeup.records import FORMS, UNITS, Card

WRITERS: Mapping[str, Callable[[Card], str]] = {
    "text": card_text,
    "markdown": card_markdown,
    "html": card_html,
    "jsonld": lambda card: script_json(recipe_data(card)) + "\n",
}


def make_card(
    recipe: str, method: str = "", units: str = "both", confirmed_by: str = "", credit: str = "", convention: str = ""
) -> Card:
    """Return the card of a recipe.

    recipe: text as pasted, a web page, JSON or the project's TOML. method: the steps as a text of their own, the
    recipe's where empty. units: "both", "us" or "metric". confirmed_by: who checked every line against its pack; the
    allergen line counts it only where every line is matched by name. credit: the base recipe. convention: whose cup.
    Raises InputError for a text without a recipe, a method without a word, or other units.
    """
    if units not in UNITS:
        raise InputError([Fault("--units", units, ", ".join(UNITS))])
    formula = formula_from_text(recipe, convention)
    steps = steps_of_text(method)
    if method and not steps:
        raise InputError([Fault("--method", method, "steps in words", "One step to a line, numbered or not.")])
    writing = None if units == "metric" else _writing(formula, convention)
    return card_of(formula, steps, writing, composition_of(formula), units, confirmed_by, credit)


def written_card(card: Card, form: str) -> str:
    """Return a card in one of FORMS; raises InputError for another form."""
    if form not in WRITERS:
        raise InputError([Fault("--form", form, ", ".join(FORMS))])
    return WRITERS[form](card)


def _writing(formula: Formula, convention: str) -> Writing | None:
    """Return the kitchen measures of the batch as it is; None where no line has grams to be measured."""
    has_grams = any(line.grams is not None and line.grams.likely > 0
                    for part in formula.parts for each in part.lines for line in (each, *each.also))  # fmt: skip
    return write_measures(formula, convention, rescale_percent=0.0) if has_grams else None
