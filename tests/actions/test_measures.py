"""From any text to kitchen measures."""

from __future__ import annotations

import json

import pytest

from batchwright.actions.measures import measures_text
from batchwright.actions.writeup import make_card
from batchwright.formula.recipes.file import formula_from_text

PASTED = "213 g all-purpose flour\n95 g sugar\n131 g butter\n1 large egg\n2.1 g baking soda"


def test_pasted_text_and_its_formula_agree() -> None:
    pasted = measures_text(PASTED, "spooned")
    formula = json.dumps(formula_from_text(PASTED, "spooned").to_json())
    again = measures_text(formula, "spooned")
    assert [line.text for line in pasted.lines] == [line.text for line in again.lines]
    assert len(pasted.lines) == 5


def test_the_convention_of_the_recipe_is_kept() -> None:
    """Printed grams say which cup a recipe means: 142 g is the dipped cup of the published chart."""
    assert measures_text("2 cups (284 g) all-purpose flour\n200 g sugar").lines[0].text == "2 cups"


def test_the_same_cup_comes_back() -> None:
    """A recipe that does not say how its cups are filled is written by the cup it was weighed by, as the card is."""
    recipe = "1 1/4 cups all-purpose flour\n1/2 cup sugar\n1/3 cup cocoa powder\n1 large egg\n1/2 tsp baking soda"
    amounts = ["1 1/4 cups", "1/2 cup", "1/3 cup", "1 large", "1/2 teaspoon"]
    writing = measures_text(recipe)
    assert [line.text for line in writing.lines] == amounts
    assert writing.convention_text == "1 cup all-purpose flour = 131 g, as this recipe was weighed"
    assert [line.measure for part in make_card(recipe).parts for line in part.lines] == amounts
    in_grams = measures_text("240 g all-purpose flour\n100 g sugar")
    assert in_grams.convention == "spooned"


def test_the_size_of_an_egg_stays_unless_the_cook_lets_it_change() -> None:
    """44 g of egg is a medium one by the weight classes; a recipe that says nothing of it means large ones."""
    recipe = "330 g all-purpose flour\n44 g egg\n150 g sugar"
    assert measures_text(recipe, rescale_percent=0).lines[1].text == "1 large"
    assert measures_text(recipe, rescale_percent=0, any_eggs=True).lines[1].text == "1 medium"
    assert measures_text("3 cups flour\n1 medium egg", any_eggs=True).lines[1].text == "1 medium"


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        ("1/2 cup sliced almonds, toasted", "1/2 cup"),
        ("1/3 cup chopped walnuts", "1/3 cup"),
        ("1 cup pecans, chopped", "1 cup"),
        ("1 cup sifted cake flour", "1 cup"),
        ("1 cup packed brown sugar", "1 cup"),
        ("3/4 cup grated cheddar cheese", "3/4 cup"),
        ("1 cup mashed bananas", "1 cup"),
        ("1 tablespoon grated fresh ginger", "1 tablespoon"),
        ("1/2 teaspoon ginger", "1/2 teaspoon"),
    ],
)
def test_what_is_cut_before_measuring_is_written_so(line: str, amount: str) -> None:
    assert measures_text(line, rescale_percent=0).lines[0].text == amount
