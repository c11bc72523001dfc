"""The convention of a recipe, read off all its lines together."""

from __future__ import annotations

import pytest

from batchwright.formula.lines.line import read_line
from batchwright.formula.records import Formula, ReadPart, ReadRecipe
from batchwright.formula.weighing.weigh import weigh_recipe


def recipe(*lines: str, convention: str = "") -> Formula:
    return weigh_recipe(
        ReadRecipe("Lantern biscuits", (ReadPart("", tuple(read_line(line) for line in lines)),)), convention
    )


def grams(formula: Formula, place: int) -> float:
    found = formula.parts[0].lines[place].grams
    assert found is not None
    return found.likely


@pytest.mark.parametrize(("printed_g", "name"), [(142, "dip and sweep"), (120, "spooned"), (128, "spoon and level"),
                                                 (135, "135 g a cup of flour"), (114, "sifted")])  # fmt: skip
def test_printed_flour_names_the_convention(printed_g: int, name: str) -> None:
    formula = recipe(f"2 cups ({2 * printed_g} g) flour", "1 cup bread flour", "1 cup sugar")
    assert formula.convention == name
    assert grams(formula, 1) == pytest.approx(printed_g)
    assert any(f"{printed_g} g" in note for note in formula.notes)


def test_all_lines_decide_together() -> None:
    formula = recipe("2 cups (284 g) flour", "1 cup (142 g) flour", "1 cup (180 g) flour", "1 cup bread flour")
    assert formula.convention == "dip and sweep"
    assert grams(formula, 3) == pytest.approx(142)


def test_printed_grams_contradict_the_choice_and_win() -> None:
    formula = recipe("2 cups (240 g) flour", "1 cup bread flour", convention="dip and sweep")
    assert grams(formula, 1) == pytest.approx(120)
    assert any("contradicted" in note and "dip and sweep" in note for note in formula.notes)


def test_a_mechanical_conversion_says_nothing_of_the_convention() -> None:
    formula = recipe("1 cup (240 g) flour", "1 cup flour")
    assert formula.convention == "US cup"
    assert formula.parts[0].lines[0].grams == formula.parts[0].lines[1].grams


def test_weights_that_follow_no_convention_leave_the_choice() -> None:
    formula = recipe("1 cup (110 g) flour", "1 cup (165 g) flour", "1 cup flour", convention="spooned")
    assert grams(formula, 2) == pytest.approx(120)
    assert any("no one convention" in note for note in formula.notes)


def test_whole_flour_follows_in_proportion() -> None:
    formula = recipe("1 cup (142 g) flour", "1 cup whole wheat flour")
    assert grams(formula, 1) == pytest.approx(156)


def test_millilitres_beside_cups_say_whose_cup() -> None:
    formula = recipe("1 cup (250 ml) milk", "1 cup water")
    assert formula.convention == "metric cup"
    assert grams(formula, 1) == pytest.approx(250, rel=0.01)


def test_a_flour_weight_belongs_to_the_recipes_own_cup() -> None:
    formula = recipe("1 cup (250 ml) milk", "2 cups (256 g) flour", "1 cup bread flour")
    assert grams(formula, 2) == pytest.approx(128)
    again = recipe("1 cup bread flour", convention=formula.convention)
    assert grams(again, 0) == pytest.approx(128)


def test_british_words_without_cups_mean_british_pints() -> None:
    formula = recipe("8 oz plain flour", "11 fl oz water", "pinch of bicarb")
    assert formula.convention == "UK cup"
    assert grams(formula, 1) == pytest.approx(11 * 28.413, rel=0.01)
    assert any("British" in note for note in formula.notes)


def test_british_words_beside_cups_change_nothing() -> None:
    assert recipe("1 cup plain flour", "1 cup caster sugar", "8 fl oz water").convention == "US cup"


def test_us_cups_are_said_where_nothing_is_chosen() -> None:
    assert recipe("1 cup milk").convention == "US cup"


def test_nothing_is_lost() -> None:
    lines = ("2 cups flour", "zzz ???", "salt to taste", "1 egg")
    formula = recipe(*lines)
    assert [line.text for line in formula.parts[0].lines] == list(lines)
