"""A whole recipe: parts, method, yield and credit found, whatever its form; no line lost."""

from __future__ import annotations

import json
import re
import time
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.formula.recipes.steps import celsius, sentences, step_of, yield_of
from batchwright.formula.recipes.text import read_recipe
from batchwright.formula.records import ReadRecipe
from tests.clock import within
from tests.formula.lines.test_habits import in_short

CARD = """CARAWAY TEA BISCUITS (from a parish cookbook, c. 1968)
3 c. flour (spooned)
1 stick + 1 Tbsp. butter, soft
3/4 cup packed brown sugar
2 lg. eggs
1 tsp soda
2 tsp caraway, 1/2 tsp mace, pinch salt
Cream butter and sugar, beat in eggs, add dry. Chill. Roll 1/4" , cut, bake 375 9-11 min. Makes abt 5 doz."""

LEAFLET = """Plum-filled slices (mill leaflet)
Filling: 1 lb pitted plums, chopped; 1/2 cup water; 1/4 cup sugar; juice 1/2 lemon. Simmer till thick, cool.
Dough: 3/4 cup lard, 1 c honey, 2 eggs, 2-1/2 cups sifted flour, 1/2 c. rye, 1/2 tsp salt, 2 Tbsp milk
Roll 12 x 16", spread, fold, seal. 375 F 20-25 min. Cut while warm. Yield: 3 1/2 doz."""

WEB = """Grandfather's Almond Moons
Adapted from the village newsletter

These little moons melt in the mouth. We bake them every winter and the tin is always empty by spring.

Prep time: 25 min
Makes about 40 moons

Ingredients

For the dough:
200 g plain flour
- 150g cold butter, cubed
* 75 g ground almonds
1 egg yolk
pinch of salt

To finish
50 g icing sugar
Melted butter, for brushing

Method
1. Rub the butter into the flour. Add almonds and yolk; knead briefly.
2. Chill for 1 hour 30 minutes.
3. Preheat the oven to 180C/160C fan/gas 4. Shape into moons and bake 12-15 minutes until pale gold.
4. Cool 5 minutes, then roll in the sugar.

Notes
Keep in a tin for up to 3 weeks.
"""

TWO_PARTS = """Oat slab

1 c. butter
2 c. brown sugar
4 c. oats
Melt butter and sugar. Add oats. Press into a pan. Bake at 350 degrees for 25 to 30 minutes.

FROSTING:
1 lb. icing sugar
1/4 c. milk
Beat until smooth and
spread on the warm slab.
"""


def parts(recipe: ReadRecipe) -> dict[str, list[str]]:
    """Return amount and item of each line by part, further ingredients of a line behind a +."""
    return {
        part.name: [" + ".join([in_short(line), *map(in_short, line.also)]) for line in part.lines]
        for part in recipe.parts
    }


def test_card_without_headings() -> None:
    read = read_recipe(CARD)
    assert (read.name, read.credit) == ("CARAWAY TEA BISCUITS", "from a parish cookbook, c. 1968")
    assert parts(read) == {
        "": ["3 cup flour", "1 stick plus 1 tablespoon butter", "0.75 cup brown sugar", "2 eggs", "1 teaspoon soda",
             "2 teaspoon caraway + 0.5 teaspoon mace + 1 pinch salt"]
    }  # fmt: skip
    assert [step.text for step in read.method] == [
        "Cream butter and sugar, beat in eggs, add dry.", "Chill.", 'Roll 1/4" , cut, bake 375 9-11 min.']  # fmt: skip
    last = read.method[-1]
    assert (last.minutes_low, last.minutes_high, last.temperature_c) == (9, 11, 190.6)
    assert read.makes is not None
    assert (read.makes.low, read.makes.high) == (60, 60)


def test_parts_and_method_in_single_lines() -> None:
    read = read_recipe(LEAFLET)
    assert read.credit == "mill leaflet"
    assert parts(read) == {
        "Filling": ["1 pound plums", "0.5 cup water", "0.25 cup sugar", "0.5 lemon lemon juice"],
        "Dough": ["0.75 cup lard", "1 cup honey", "2 eggs", "2.5 cup flour", "0.5 cup rye", "0.5 teaspoon salt",
                  "2 tablespoon milk"],
    }  # fmt: skip
    assert [(step.part, step.text) for step in read.method] == [
        ("Filling", "Simmer till thick, cool."), ("", 'Roll 12 x 16", spread, fold, seal.'), ("", "375 F 20-25 min."),
        ("", "Cut while warm.")]  # fmt: skip
    assert read.makes is not None
    assert read.makes.low == 42


def test_page_with_headings() -> None:
    read = read_recipe(WEB)
    assert (read.name, read.credit) == ("Grandfather's Almond Moons", "Adapted from the village newsletter")
    assert parts(read) == {
        "For the dough": ["200 gram plain flour", "150 gram butter", "75 gram almonds", "1 egg yolk", "1 pinch salt"],
        "To finish": ["50 gram icing sugar", "butter"],
    }
    found = [(step.minutes_low, step.minutes_high, step.temperature_c) for step in read.method]
    assert found == [(None, None, None), (90, 90, None), (12, 15, 180), (5, 5, None)]
    assert "Keep in a tin for up to 3 weeks." in read.notes
    assert read.makes is not None
    assert (read.makes.low, read.makes.what) == (40, "moons")
    assert read.unread == ()


def test_numbers_of_steps_on_lines_of_their_own_and_marks_of_headings() -> None:
    read = read_recipe(
        "# Sesame Snaps\n*by T. Cook*\nYield: 24 pieces | Prep: 10 min\n## Ingredients for the crust\n"
        "- **1 cup** sugar\n"
        "### Seeds\n- 1½ cups sesame\n## Instructions\nStep 1\nCook the sugar.\n2\nStir in the seeds."
    )
    assert (read.name, read.credit) == ("Sesame Snaps", "by T. Cook")
    assert parts(read) == {"for the crust": ["1 cup sugar"], "Seeds": ["1.5 cup sesame"]}
    assert [step.text for step in read.method] == ["Cook the sugar.", "Stir in the seeds."]
    assert read.makes is not None
    assert (read.makes.low, read.makes.what) == (24, "pieces")


def test_second_part_after_the_first_method() -> None:
    read = read_recipe(TWO_PARTS)
    assert parts(read) == {
        "": ["1 cup butter", "2 cup brown sugar", "4 cup oats"],
        "FROSTING": ["1 pound icing sugar", "0.25 cup milk"],
    }
    assert [step.part for step in read.method] == ["", "", "", "", "FROSTING"]
    assert read.method[3].temperature_c == 176.7
    assert read.method[-1].text == "Beat until smooth and spread on the warm slab."


@pytest.mark.parametrize("text", [CARD, LEAFLET, WEB, TWO_PARTS])
def test_every_word_of_the_text_stands_somewhere(text: str) -> None:
    assert lost(text) == []


def test_faulty_lines_stay_in_their_part_marked() -> None:
    read = read_recipe("Odd loaf\n-2 cups flour\n1/0 cup sugar\n1 egg\nMix and bake.")
    assert [(line.text, line.read) for line in read.parts[0].lines] == [
        ("-2 cups flour", False),
        ("1/0 cup sugar", False),
        ("1 egg", True),
    ]


def test_dashes_as_bullets_are_no_minus() -> None:
    read = read_recipe("-2 cups flour\n-1 cup sugar\n-3 eggs")
    assert parts(read) == {"": ["2 cup flour", "1 cup sugar", "3 eggs"]}


def test_method_alone_says_that_no_ingredient_was_found() -> None:
    read = read_recipe("Beat the eggs until pale. Bake 20 minutes at 180 C.")
    assert read.parts == ()
    assert [step.temperature_c for step in read.method] == [None, 180]
    assert any("No ingredient line" in note for note in read.notes)


@pytest.mark.parametrize("text", ["", "  \n \t"])
def test_no_text(text: str) -> None:
    with pytest.raises(InputError, match="Paste the ingredient lines"):
        read_recipe(text)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("bake at 350 F", 176.7), ("bake at 350°F (175°C)", 176.7), ("bake at 350 degrees", 176.7),
        ("a 180C oven", 180.0),
        ("gas mark 4", 176.7), ("Gas 6", 204.4), ("gas mark 1/2", 121.1), ("oven 200", 200.0),
        ("bake 350 10-12 min", 176.7),
        ("cook the syrup to 240 °F", 115.6), ("heat to 82 °C", 82.0), ("add 350 g flour", None), ("2 C. milk", None),
        ("chill 30 min", None), ("gas mark 1/0", None), ("preheat oven to 400 degrees Fahrenheit", 204.4),
    ],
)  # fmt: skip
def test_temperature(text: str, degrees: float | None) -> None:
    assert celsius(text) == degrees


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("Bake 10-12 min.", 10, 12), ("bake for 1 hour and 20 minutes", 80, 80), ("rest 1 to 1 1/2 hours", 60, 90),
        ("boil 45 seconds", 0.75, 0.75), ("Bake for twenty minutes", 20, 20), ("a 20-minute rest", 20, 20),
        ("Mix 2 minutes, rest 30 minutes, then bake 15 minutes", 15, 15), ("Chill overnight", None, None),
        ("roll 10 x 15 inches", None, None), ("half an hour", 30, 30), ("rest 2 days", 2880, 2880),
    ],
)  # fmt: skip
def test_minutes(text: str, low: float | None, high: float | None) -> None:
    step = step_of(text)
    assert (step.minutes_low, step.minutes_high) == (low, high)


@pytest.mark.parametrize(
    ("text", "low", "high", "what"),
    [
        ("Makes abt 4 doz.", 48, 48, ""), ("Yield: 4 1/2 doz.", 54, 54, ""), ("Serves 4-6", 4, 6, "servings"),
        ("Makes about 24 cookies", 24, 24, "cookies"), ("Servings: 8", 8, 8, "servings"),
        ("YIELD 2 loaves", 2, 2, "loaves"),
        ("Makes one 9-inch tart", 1, 1, "9-inch tart"), ("Makes 2 to 3 dozen squares", 24, 36, "squares"),
    ],
)  # fmt: skip
def test_yield(text: str, low: float, high: float, what: str) -> None:
    found = yield_of(text)
    assert found is not None
    assert (found.text, found.low, found.high, found.what) == (text, low, high, what)


def test_no_yield() -> None:
    assert yield_of("2 cups flour") is None
    assert yield_of("Serve warm with jam and a large pot of strong black tea") is None


def test_sentences_are_not_cut_at_abbreviations() -> None:
    text = "Add 1 tsp. salt and beat. Cut w. a knife. Bake 10 min. Cool."
    assert sentences(text) == ["Add 1 tsp. salt and beat.", "Cut w. a knife.", "Bake 10 min.", "Cool."]


WORDS = re.compile(r"[^\W_]+")
BARE_HEADINGS = {"ingredients", "method", "notes"}


def lost(text: str) -> list[str]:
    """Return the words of a text that stand nowhere in the recipe read from it, bare headings aside."""
    read = read_recipe(text)
    kept = [read.name, read.credit, *read.notes, *read.unread, *(step.text for step in read.method)]
    kept += [read.makes.text] if read.makes else []
    for part in read.parts:
        kept += [part.name, *(line.text for line in part.lines)]
    kept += {step.part for step in read.method} - {part.name for part in read.parts}
    have = WORDS.findall(" ".join(kept).lower())
    gone = []
    wanted = "\n".join(line for line in text.lower().splitlines() if line.strip(" :") not in BARE_HEADINGS)
    for word in WORDS.findall(wanted.replace("method:", "").replace("ingredients (", "(")):
        if word in have:
            have.remove(word)
        else:
            gone.append(word)
    return [word for word in gone if not word.isdigit() and word != "step"]


PIECES = (
    """
2 cups flour|1 egg|salt to taste|For the icing:|FILLING|Ingredients|Method|Method: stir well|1. Stir the pot.|Serves 4
2) Bake 20 minutes at 350 F.|Beat the eggs. Add sugar. Makes 12.|from an old tin||Dough: 2 eggs, 1 cup milk. Beat.
A cake we like a lot, with a long story about the lake and the boat.|Notes|keeps a week|(see below|later)|2 cups|???
Quince Loaf|and stir|Prep time: 5 min|3 cups sugar, 2 eggs, 1 tsp salt, 1 cup milk|http://example.org/loaf|butter|Topping
Preheat oven to 350|-2 cups oil|Step 3 Fold in the nuts|1/0 cup water|Ingredients (makes 6)|Mix and bake.|Yield 2 loaves
""".strip()
    .replace("\n", "|")
    .split("|")
)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(PIECES), min_size=1, max_size=12, unique=True).map("\n".join))
def test_no_line_of_a_recipe_is_lost(text: str) -> None:
    if text.strip():
        assert lost(text) == [], text


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_any_text_gives_a_recipe_or_a_fault_in_words(text: str) -> None:
    try:
        read = read_recipe(text)
    except InputError as wrong:
        hints = [fault.hint for fault in wrong.faults]
    else:
        hints = [read.name]
    assert all(isinstance(hint, str) for hint in hints)


def test_three_thousand_lines() -> None:
    start = time.process_time()
    read = read_recipe("Big\n" + "\n".join(f"{number} cups flour" for number in range(1, 3001)))
    assert len(read.parts[0].lines) == 3000
    assert time.process_time() - start < 15.0  # about 1 s on a free machine


def test_read_recipe_takes_json_too() -> None:
    recipe = {"@type": "Recipe", "name": "Loaf", "recipeIngredient": ["2 cups flour"]}
    assert parts(read_recipe(json.dumps(recipe))) == {"": ["2 cup flour"]}


def test_a_line_alone_before_amounts_heads_a_part() -> None:
    read = read_recipe("Harbour fingers\n\nShortcrust\n3 cups flour\n1 cup butter\n\nWalnut filling\n2 cups walnuts\n")
    assert [part.name for part in read.parts] == ["Shortcrust", "Walnut filling"]


def test_a_food_alone_before_amounts_is_no_heading() -> None:
    read = read_recipe("Harbour fingers\n\nSalt\n3 cups flour\n1 cup butter\n")
    assert [part.name for part in read.parts] == [""]
    assert [line.item for line in read.parts[0].lines] == ["Salt", "flour", "butter"]


def test_steps_behind_the_last_part_are_those_of_the_whole() -> None:
    lines = ["Dough:", "300 g flour", "200 g butter", "", "Filling:", "200 g walnuts", "1. Mix.", "2. Fill and bake."]
    read = read_recipe("\n".join(lines))
    assert [step.part for step in read.method] == ["", ""]


@pytest.mark.parametrize("unit", ["sugar (oats, ", "1 ", "( ", "\n", "a"])
def test_a_megabyte_of_one_line_takes_less_than_two_seconds(unit: str) -> None:
    text = unit * (1_000_000 // len(unit)) + "oats"
    with within(2.0), suppress(InputError):
        read_recipe(text)
