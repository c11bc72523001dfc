"""From any text to kitchen measures."""

from __future__ import annotations

import json

from batchwright.actions.measures import measures_text
from batchwright.formula.recipe_file import formula_from_text

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
