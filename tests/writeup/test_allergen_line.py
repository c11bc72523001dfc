"""The allergen line warns of every word of a line and never clears a food."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.estimate import Estimate
from batchwright.formula.lines.line import read_line
from batchwright.formula.records import Formula, Line, Part
from batchwright.formula.weighing.weigh import weigh_line
from batchwright.writeup.allergen_line import allergen_line
from batchwright.writeup.records import AllergenLine

CLEARS = re.compile(r"\bnone\b|free from|-free\b|suitable for|safe for|no allergens", re.I)


def formula(*lines: str, unread: tuple[str, ...] = ()) -> Formula:
    return Formula("Pier biscuits", (Part("", tuple(weigh_line(read_line(line)) for line in lines)),), unread=unread)


def of(*lines: str, method: tuple[str, ...] = (), confirmed_by: str = "", unread: tuple[str, ...] = ()) -> AllergenLine:
    return allergen_line(formula(*lines, unread=unread), method, confirmed_by)


def always(found: AllergenLine) -> set[str]:
    return {one.allergen for one in (*found.us, *found.eu)}


def test_where_each_comes_from() -> None:
    found = of("1 cup all-purpose flour", "1/2 cup unsalted butter", "1 large egg")
    assert [one.said() for one in found.us] == ["milk (unsalted butter)", "egg (egg)", "wheat (all-purpose flour)"]
    assert "cereals containing gluten (all-purpose flour)" in found.text()
    assert found.complete
    assert found.text().endswith("Check the packs you buy.")


@pytest.mark.parametrize(
    ("line", "allergen"),
    [("1/2 cup sunflower oil or melted butter", "milk"), ("1 cup walnuts (or peanuts)", "peanut"),
     ("1 cup walnuts (or peanuts)", "tree nuts"), ("almond flour, plus more wheat flour for dusting", "wheat"),
     ("sesame seeds, for sprinkling (optional)", "sesame"), ("Salt and mustard powder to taste", "mustard"),
     ("2 cups sugar mixed with 1 egg white", "egg"), ("hazelnut wafer crumbs", "tree nuts"),
     ("1 egg, beaten with 1 tablespoon milk", "milk"), ("1 cup oats", "gluten cereals"),
     ("crushed peanut brittle", "peanut"), ("1/2 cup walnut, hazelnut or olive oil", "tree nuts"),
     ("1 cup oat milk or soy milk", "soy")],
)  # fmt: skip
def test_every_word_of_a_line_counts(line: str, allergen: str) -> None:
    assert allergen in always(of(line)), of(line).text()


@pytest.mark.parametrize(
    ("line", "not_in_it"),
    [("1 cup coconut milk", "milk"), ("1/2 cup peanut butter", "milk"), ("2 tsp cream of tartar", "milk"),
     ("3 tbsp cocoa butter", "milk"), ("1 tsp nutmeg, grated", "tree nuts"), ("1 cup buckwheat flour", "wheat")],
)  # fmt: skip
def test_a_name_is_not_taken_apart(line: str, not_in_it: str) -> None:
    assert not_in_it not in always(of(line))


@pytest.mark.parametrize(
    "line",
    ["1 cup moon dust", "2 cups caramel zorbles", "1 cup brwon sugar", "1 cup vegan butter", "1 cup gluten-free flour",
     "1 cup sugar or moon dust", "1 cup egg replacer", "some assorted sweets", "2 tbsp gum base",
     "1 cup moon dust or all-purpose flour", "1 cup moon dust, sugar or honey"],
)  # fmt: skip
def test_what_is_not_matched_by_name_is_named(line: str) -> None:
    found = of("1 cup sugar", line)
    assert not found.complete
    assert found.text().startswith("Not complete:")
    assert line in found.text()


def test_unread_lines_are_named_and_their_words_count() -> None:
    found = of("1 cup sugar", unread=("?? a handful hazelnuts ??",))
    assert found.text().startswith('Not complete: not certain what is in "?? a handful hazelnuts ??"')
    assert "tree nuts" in always(found)


def test_further_ingredients_and_lines_without_amount() -> None:
    also = Line("2 tablespoons butter", "butter", None, "butter", "name")
    line = Line("sugar and butter", "sugar", Estimate(5, 4, 6, unit="g"), "sugar", "name", also=(also,))
    found = allergen_line(Formula("", (Part("", (line,)),)))
    assert "milk" in always(found)


def test_a_match_given_from_outside_does_not_hide_the_words() -> None:
    line = Line("1 cup peanut butter", "peanut butter", None, "sugar", "name")
    assert "peanut" in always(allergen_line(Formula("", (Part("", (line,)),))))


def test_the_method_is_read_as_well() -> None:
    found = of(
        "1 cup all-purpose flour", "1 cup sugar", method=("Brush with beaten egg and roll in chopped hazelnuts.",)
    )
    assert {"egg", "tree nuts"} <= always(found)
    assert not found.complete
    assert "named in the method" in found.text()


def test_the_title_is_read_as_well() -> None:
    lines = (weigh_line(read_line("1 cup sugar")),)
    found = allergen_line(Formula("Hazelnut moons", (Part("", lines),)))
    assert "tree nuts" in always(found)
    assert not found.complete


def test_an_oil_that_is_not_named_may_be_any() -> None:
    assert {"tree nuts", "sesame"} <= {one.allergen for one in of("1 tsp oil").read_pack}


def test_cream_as_a_verb_is_no_milk() -> None:
    found = of("1 cup shortening", "1 cup sugar", method=("Cream the shortening and sugar until light.",))
    assert "milk" not in always(found)


def test_nothing_is_cleared_unasked() -> None:
    found = of("1 cup sugar", "1/2 cup water")
    assert found.complete
    assert not CLEARS.search(found.text())
    assert "nobody has confirmed" in found.text()


def test_confirmed_counts_only_where_every_line_is_matched() -> None:
    assert "None of the US nine" in of("1 cup sugar", "1/2 cup water", confirmed_by="Ida").text()
    assert of("1 cup sugar", confirmed_by="Ida").text().endswith("Check the packs you buy.")
    opened = of("1 cup sugar", "1 cup moon dust", confirmed_by="Ida")
    assert "Ida" not in opened.text()
    assert not CLEARS.search(opened.text())
    assert opened.to_json()["confirmed_by"] == ""
    assert "None of" not in of("1 cup sugar", "2 oz dark chocolate", confirmed_by="Ida").text()


def test_no_lines_is_not_complete() -> None:
    assert allergen_line(Formula("Empty", ())).text().startswith("Not complete:")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text(max_size=40), min_size=1, max_size=4))
def test_never_cleared_whatever_is_typed(lines: list[str]) -> None:
    found = allergen_line(Formula("", (Part("", tuple(Line(text, text, None) for text in lines)),)), lines, "x")
    assert found.text().startswith("Not complete:")
    assert not found.complete


def test_one_food_is_named_once() -> None:
    """Zest and juice of an orange, butter of two lines: one name; two nuts of one line: both."""
    said = of("2 oranges, zest and juice", "1/2 cup unsalted butter", "1/4 cup butter, melted").text()
    assert "sulphites (oranges)" in said
    assert "milk (butter)" in said
    assert "tree nuts (almonds, walnuts)" in of("1 cup almonds or walnuts").text()
    assert "sulphites (dried apricots)" in of("1 cup dried apricots").text()
