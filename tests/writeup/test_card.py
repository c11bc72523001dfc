"""The card: every line in order with measure and grams, every form escaped, the structured data well made."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.kitchen.measures import write_measures
from batchwright.formula.lines.line import read_line
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula, Line, Part, Step, Yield
from batchwright.formula.weighing.weigh import weigh_line
from batchwright.writeup.card import card_of, grams_text
from batchwright.writeup.card_forms import card_html, card_markdown, card_text, recipe_data, script_json
from batchwright.writeup.records import Card, CardLine

NASTY = "<script>alert(1)</script> & \"x\" 'y' # *a* [b](javascript:c) `d` | </script> \x1b[31m \u202e"
DOUGH = ("1 1/4 cups all-purpose flour", "1/2 tsp baking soda", "1 stick unsalted butter, softened",
         "3/4 cup packed brown sugar", "2 large eggs", "1 cup walnuts, chopped", "flaky salt, to taste")  # fmt: skip
SYRUP = ("1/2 cup honey", "2 tablespoons water")
STEPS = (Step("Heat the oven to 350 °F."), Step("Bake for 12 minutes until brown.", "Dough"), Step("Boil.", "syrup"))


def lines(*texts: str) -> tuple[Line, ...]:
    return tuple(weigh_line(read_line(text)) for text in texts)


def pier() -> Formula:
    return Formula("Pier Lamps", (Part("Dough", lines(*DOUGH)), Part("Syrup", lines(*SYRUP))),
                   makes=Yield("24 biscuits", 24, 24, "biscuits"), credit="the Tidewater notebook")  # fmt: skip


def made(units: str = "both") -> Card:
    formula = pier()
    return card_of(formula, STEPS, write_measures(formula, rescale_percent=0.0), composition_of(formula), units)


class Page(HTMLParser):
    """Collects the tags of a page, its text, and the inside of its scripts."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []
        self.scripts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        assert not [name for name, _ in attrs if name.startswith("on") or name in ("src", "href")]

    def handle_data(self, data: str) -> None:
        (self.scripts if self.tags and self.tags[-1] == "script" else self.words).append(data)


def page(card: Card) -> Page:
    read = Page()
    read.feed(card_html(card))
    return read


def test_order_measures_and_grams() -> None:
    card = made()
    assert [part.name for part in card.parts] == ["Dough", "Syrup"]
    items = [line.item for line in card.parts[0].lines]
    assert [item.split()[-1] for item in items] == ["flour", "soda", "butter", "sugar", "eggs", "walnuts", "salt"]
    for line in card.parts[0].lines[:-1]:
        assert re.fullmatch(r"[\d.]+ g", line.grams), line
        assert line.measure
    said = [line.text("both") for line in card.parts[0].lines]
    assert "2 large eggs (100 g)" in said
    assert "packed brown sugar" in said[3]
    assert said[5].endswith("walnuts, chopped")
    assert "24 biscuits" in card.makes
    assert "before baking" in card.makes


def test_units() -> None:
    line = CardLine("1 cup", "120 g", "flour", after="sifted")
    assert [line.text(units) for units in ("both", "us", "metric")] == [
        "1 cup (120 g) flour, sifted", "1 cup flour, sifted", "120 g flour, sifted"]  # fmt: skip
    assert CardLine("1 cup", "120 g", "flour", weigh_it=True).text("both") == "120 g (1 cup) flour"
    assert CardLine("1 cup", "120 g", "flour", weigh_it=True).text("us") == "1 cup (120 g) flour"
    assert CardLine("", "", "salt", after="to taste").text("us") == "salt, to taste"
    with pytest.raises(InputError):
        card_of(pier(), units="stone")


def test_grams_text() -> None:
    assert [grams_text(mass) for mass in (142.4, 9.7, 2.3, 0.42, 0.01)] == [
        "142 g", "9.5 g", "2.5 g", "0.4 g", "less than 0.1 g"]  # fmt: skip


def test_preparation_before_the_comma_stays_before() -> None:
    formula = Formula("", (Part("", lines("1 cup chopped walnuts", "1 cup walnuts, chopped")),))
    said = [line.text("both") for line in card_of(formula).parts[0].lines]
    assert "chopped walnuts" in said[0]
    assert said[1].endswith("walnuts, chopped")


def test_without_measures_the_recipe_s_own_stand() -> None:
    formula = Formula("", (Part("", lines("1 1/2 cups sugar", "salt")),))
    said = [line.text("us") for line in card_of(formula).parts[0].lines]
    assert said == ["1.5 cups sugar", "salt"]


def test_steps_carry_both_scales_and_ranges_under_their_parts() -> None:
    text = card_text(made())
    assert "350 °F (175 °C)" in text
    assert "11 to 13 minutes" in text
    assert re.search(r"Syrup:\n 3\. Boil\.", text)


def test_what_could_not_be_read_is_printed() -> None:
    formula = Formula("", (Part("", lines("1 cup sugar")),), unread=("?? half a glimmer",))
    for written in (card_text(card_of(formula)), card_html(card_of(formula)), card_markdown(card_of(formula))):
        assert "half a glimmer" in written


def test_an_empty_formula_is_a_fault() -> None:
    with pytest.raises(InputError):
        card_of(Formula("x", ()))


@pytest.mark.parametrize("form", [card_text, card_markdown, card_html])
def test_every_form_says_all(form: object) -> None:
    assert callable(form)
    written = form(made())
    for words in ("Pier Lamps", "Tidewater notebook", "Allergens", "tree nuts", "Salmonella", "burns deeply",
                  "local food codes decide", "Check the packs you buy"):  # fmt: skip
        assert words.lower() in re.sub(r"\s+", " ", written.replace("\\", "")).lower(), words


def test_the_page_is_escaped_and_stands_alone() -> None:
    formula = Formula(NASTY, (Part(NASTY, (Line(NASTY, NASTY, None),)),), (Step(NASTY, NASTY),), credit=NASTY,
                      makes=Yield(NASTY, None, None, NASTY), unread=(NASTY,), notes=(NASTY,))  # fmt: skip
    card = card_of(formula, confirmed_by=NASTY)
    read = page(card)
    assert read.tags.count("script") == 1
    assert not {"img", "iframe", "a", "link"} & set(read.tags)
    inside = "".join(read.scripts)
    assert "<" not in inside
    assert json.loads(inside)["name"].startswith("<script>alert(1)")
    assert "<script>alert(1)</script>" in "".join(read.words)
    written = card_markdown(card)
    assert "<script" not in written.replace("\\<", "")
    assert "](javascript" not in written.replace("\\]", "")
    assert "\x1b" not in card_text(card) + written + card_html(card)


def test_structured_data() -> None:
    data = recipe_data(made())
    assert (data["@context"], data["@type"]) == ("https://schema.org", "Recipe")
    assert len(data["recipeIngredient"]) == len(DOUGH) + len(SYRUP)
    steps, sections = data["recipeInstructions"][0], data["recipeInstructions"][1:]
    assert steps["@type"] == "HowToStep"
    assert [one["name"] for one in sections] == ["Dough", "Syrup"]
    assert sections[0]["itemListElement"][0]["text"].startswith("Bake")
    assert data["isBasedOn"] == "the Tidewater notebook"
    assert data["recipeYield"].startswith("24 biscuits")
    assert "suitableForDiet" not in data
    assert json.loads(script_json(data)) == data


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=60), st.text(max_size=60))
def test_no_text_breaks_a_form(item: str, step: str) -> None:
    card = card_of(Formula(item, (Part(item, (Line(item, item, None),)),), (Step(step),)))
    assert page(card).tags.count("script") == 1
    assert json.loads(script_json(recipe_data(card)))["recipeInstructions"]
    assert card_markdown(card)
    assert card_text(card)
    assert json.dumps(card.to_json())


def test_markdown_is_marked_off_only_where_it_must_be() -> None:
    """Marks that mean nothing within a line stand bare, so that the text reads as text as well."""
    line = Line("2 cups oats", "oats", Estimate(180, 180, 180, unit="g"), "rolled oats", "name")
    steps = (Step("Bake 30 to 35 minutes (golden - not dark)."), Step("Press *firmly* [once](there)."))
    written = card_markdown(card_of(Formula("Oat slices", (Part("", (line,)),), steps)))
    assert "1. Bake 30 to 35 minutes (golden - not dark)." in written
    assert "2. Press \\*firmly\\* \\[once\\](there)." in written


def test_what_the_author_has_still_to_give_is_not_printed_on_the_card() -> None:
    card = card_of(formula_from_text("Quay toffee\n200 g sugar\n100 g butter\nBoil to 150 C.\n"))
    assert any("--credit" in hint for hint in card.todo)
    for printed in (card_text(card), card_markdown(card), card_html(card)):
        assert "--" not in printed.split("<main>")[-1].replace("-" * 3, "")


def test_a_line_without_weight_keeps_its_words() -> None:
    card = card_of(formula_from_text("Trifle\n1 package of 6 muffins, split\n200 g cream\n"))
    assert "1 package of 6 muffins, split" in card_text(card)


def test_sugar_boiled_is_cooked_and_not_baked() -> None:
    text = "Toffee\nMakes 10 pieces\n200 g sugar\n100 g water\nMethod\nBoil to 150 C, 10 minutes.\n"
    recipe = formula_from_text(text)
    said = card_text(card_of(recipe, composition=composition_of(recipe)))
    assert "before baking" not in said
    assert "before cooking" in said
