"""What a recipe line measures: the words beside the name, and the measure, say which state of the food is meant."""

from __future__ import annotations

import pytest

from batchwright.formula.lines.line import read_line
from batchwright.formula.weighing.item import named


@pytest.mark.parametrize(
    ("line", "ingredient"),
    [
        ("1/2 tsp ginger", "ginger, ground"),
        ("2 tablespoons ginger", "ginger, ground"),
        ("0.9 g ground ginger", "ginger, ground"),
        ("2 tbsp ginger, minced", "ginger"),
        ("1 tbsp grated fresh ginger", "ginger"),
        ("30 g ginger", "ginger"),
        ("1/4 tsp red pepper", "cayenne pepper"),
        ("2 tbsp red pepper, chopped", "bell pepper"),
        ("1 cup cherries, dried", "sour cherries, dried, sweetened"),
        ("1 cup margarine, salted", "margarine, 80 % fat, salted"),
        ("2 cups cooked rice", "rice, cooked"),
        ("200 g ground almonds", "almonds"),
        ("1 cup vegetable or olive oil or a mix of the two", "vegetable oil"),
        ("1 cup corn or oil", "corn"),
    ],
)
def test_state(line: str, ingredient: str) -> None:
    assert named(read_line(line)).ingredient == ingredient
