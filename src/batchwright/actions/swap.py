"""Swaps for the counter: what may stand for an ingredient, and the recipe with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.formula.contents import match_of
from batchwright.formula.formula import flat_lines
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula, Line
from batchwright.formula.swaps.records import UNTESTED, WISHES, Choice, Swapped
from batchwright.formula.swaps.substitute import choices_for, ingredient_of, ranked, swapped
from batchwright.pantry.allergens import allergens_of
from batchwright.pantry.supply import supply_of


@dataclass(frozen=True, slots=True)
class Offer:
    """The choices for one ingredient of a recipe, best first; `swapped` is the recipe with each of them in turn."""

    ingredient: str
    item: str
    swaps: tuple[Swapped, ...]
    choices: tuple[Choice, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the ingredient and each choice with what it changes, without the whole recipes."""
        told = [{key: value for key, value in each.to_json().items() if key != "formula"} for each in self.swaps]
        return {"ingredient": self.ingredient, "item": self.item, "choices": told or
                [choice.to_json() for choice in self.choices], "untested": True, "note": UNTESTED}  # fmt: skip


def swap_text(text: str, what: str, instead: str = "", wish: str = "", convention: str = "") -> Swapped:
    """Return a recipe with one ingredient swapped.

    text: a recipe in any form; what: the ingredient; instead: what to take, the best choice where empty; wish: one of
    WISHES; convention: whose cup. Raises InputError as `formula.substitute.swapped` does.
    """
    return swapped(formula_from_text(text, convention), what, instead, wish)


def offers_text(text: str, what: str = "", wish: str = "", convention: str = "") -> tuple[Offer, ...]:
    """Return the choices for an ingredient of a recipe, or, without one, for each that does not suit the wish.

    Raises InputError where the recipe has no such ingredient, nothing is known to take for it, or neither an ingredient
    nor a wish is given.
    """
    if wish and wish not in WISHES:
        raise InputError([Fault("--for", wish, ", ".join(WISHES))])
    formula = formula_from_text(text, convention)
    if what:
        name = ingredient_of(formula, what)
        offer = _offer(formula, name, what, wish)
        if not offer.choices:
            wished = f" for {wish}" if wish else ""
            raise InputError([Fault("INGREDIENT", what, f"an ingredient with a known swap{wished}",
                                    f"Name what to take: batchwright swap RECIPE {what!r} WITH")])  # fmt: skip
        return (offer,)
    if not wish:
        raise InputError([Fault("INGREDIENT", "", "an ingredient of the recipe, or --for a wish")])
    named: dict[str, str] = {}
    for each in flat_lines(formula):
        found = match_of(each.line)
        if found.ingredient is not None and stands_in_the_way(each.line, wish):
            named.setdefault(found.ingredient, each.line.item or each.line.text)
    return tuple(_offer(formula, name, item, wish) for name, item in named.items())


def stands_in_the_way(line: Line, wish: str) -> bool:
    """Return whether a line, by its usual make-up, does not suit a wish, or its pack must say."""
    found = match_of(line)
    supply = supply_of(found.ingredient or "", found.ingredient_class or "")
    if wish == "shop":
        return supply.sold != "supermarket"
    if wish == "vegan":
        return supply.animal != "no"
    if wish == "no-palm":
        return supply.palm != "no"
    always, read_pack = allergens_of(found.ingredient or "")
    return bool({"wheat", "gluten cereals"} & {*always, *read_pack})


def _offer(formula: Formula, name: str, item: str, wish: str) -> Offer:
    weighed = any(each.line.grams is not None and each.line.grams.likely > 0 for each in flat_lines(formula)
                  if match_of(each.line).ingredient == name)  # fmt: skip
    swaps = ranked(formula, name, wish) if weighed else ()
    choices = tuple(done.choice for done in swaps) if weighed else choices_for(name, wish)
    return Offer(name, item, swaps, choices)
