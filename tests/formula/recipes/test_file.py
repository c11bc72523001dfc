"""One door for every recipe: our JSON, our TOML, a decoded original, pasted text; bad input told plainly."""

from __future__ import annotations

import contextlib
import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import Fault, InputError
from batchwright.formula.composition import composition_of
from batchwright.formula.formula import flat_lines, flour_g
from batchwright.formula.recipes.file import formula_from_text, formula_to_toml
from batchwright.formula.records import Formula
from tests.formula.invented import pier_snaps
from tests.formula.test_composition import formulas

FILE = '''
[formula]
name = "Pier snaps"
yield = "24 to 30 snaps"
piece_g = 15
convention = "spooned"
notes = "second try"

[[parts]]
name = "snap"
bake_loss_percent = [11, 13]
lines = [
    "2 1/2 cups flour",
    {item = "butter", grams = 142, process = "browned", stage = "first"},
    {item = "apple juice", grams = 200, to_g = 60},
    {item = "rum", grams = [8, 12]},
    "salt to taste",
]
method = """
Cream the butter.
Bake for 12 minutes.
"""

[[parts]]
name = "glaze"
lines = """
100 g icing sugar
1 tbsp milk
"""

[match]
flour = "pastry flour"
'''


def test_recipe_file() -> None:
    formula = formula_from_text(FILE)
    assert (formula.name, formula.piece_g) == ("Pier snaps", 15)
    assert formula.makes is not None
    assert (formula.makes.low, formula.makes.high, formula.makes.what) == (24, 30, "snaps")
    snap, glaze = formula.parts
    assert snap.bake_loss_percent is not None
    assert (snap.bake_loss_percent.low, snap.bake_loss_percent.high) == (11, 13)
    flour, butter, juice, rum, salt = snap.lines
    assert flour.ingredient == "pastry flour"
    assert (butter.process, butter.stage) == ("browned", "first")
    assert (juice.process, juice.preparation) == ("reduced", "reduced to 60 g")
    assert rum.grams is not None
    assert (rum.grams.low, rum.grams.high) == (8, 12)
    assert salt.grams is None
    assert [line.item for line in glaze.lines] == ["icing sugar", "milk"]
    assert [step.text for step in formula.method] == ["Cream the butter.", "Bake for 12 minutes."]
    assert formula.method[0].part == "snap"
    assert "second try" in formula.notes


def same(first: Formula, second: Formula) -> None:
    pairs = list(zip(flat_lines(first), flat_lines(second), strict=True))
    assert pairs
    for one, other in pairs:
        for name in ("text", "item", "process", "preparation", "stage"):
            assert getattr(one.line, name) == getattr(other.line, name)
        assert (one.line.grams is None) == (other.line.grams is None)
        if one.line.grams is not None and other.line.grams is not None:
            for end in ("low", "likely", "high"):
                assert getattr(one.line.grams, end) == pytest.approx(getattr(other.line.grams, end), rel=1e-12)
    assert [part.name for part in first.parts] == [part.name for part in second.parts]


@settings(deadline=None, max_examples=25)
@given(formulas())
def test_toml_round_trip(formula: Formula) -> None:
    same(formula, formula_from_text(formula_to_toml(formula)))


def test_toml_round_trip_of_a_recipe_with_everything() -> None:
    formula = formula_from_text(FILE)
    again = formula_from_text(formula_to_toml(formula))
    same(formula, again)
    assert again.makes == formula.makes
    assert again.parts[0].bake_loss_percent is not None
    assert composition_of(again).whole.finished_g.likely == pytest.approx(
        composition_of(formula).whole.finished_g.likely
    )


def test_json_of_a_formula_and_of_a_command_that_holds_one() -> None:
    formula = pier_snaps()
    plain = json.dumps(formula.to_json())
    assert formula_from_text(plain).to_json() == formula.to_json()
    assert formula_from_text(json.dumps({"formula": formula.to_json(), "moves": []})).to_json() == formula.to_json()
    assert formula_from_text("\ufeff\n" + plain).name == "Pier snaps"


def test_formula_of_a_decoded_original() -> None:
    rows = [{"name": "enriched flour", "grams": 300.0, "part": "snap"}, {"name": "sugar", "grams": 90, "part": "snap"},
            {"name": "dough water (bakes off)", "grams": 36.0, "part": "snap"},
            {"name": "palm oil", "grams": 40, "part": "filling"}]  # fmt: skip
    decoded = {"name": "Pier snaps", "ingredients": [], "parts": [], "one_formula": rows}
    formula = formula_from_text(json.dumps(decoded))
    assert [part.name for part in formula.parts] == ["snap", "filling"]
    assert flour_g(formula).likely == 300
    assert flat_lines(formula)[2].line.ingredient == "water"


def test_pasted_text() -> None:
    formula = formula_from_text("250 g flour\n100 g butter, melted\n1 egg\n")
    assert flour_g(formula).likely == pytest.approx(250)
    assert len(flat_lines(formula)) == 3


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "a recipe"),
        (" \n\t", "a recipe"),
        ('{"parts": [', "JSON"),
        ('{"a": 1}', "parts"),
        ('{"parts": 3}', "parts"),
        ('{"parts": [{"name": "x"}]}', "parts 1"),
        ('{"parts": [{"lines": [{"text": "x", "grams": {"low": 3, "likely": 1, "high": 2}}]}]}', "line 1, grams"),
        ('{"parts": [{"lines": [{"text": "x", "process": "fried"}]}]}', "browned"),
        ("[formula]\nname = oops", "line 2"),
        ("[formula]\nname = 'x'", "parts"),
        ("[[parts]]\nlines = []", "lines"),
        ("flour\nsugar", "amounts"),
        ("Mix everything well, then bake until golden.", "ingredient"),
    ],
)
def test_bad_input_is_told_plainly(text: str, said: str) -> None:
    with pytest.raises(InputError) as raised:
        formula_from_text(text)
    assert said in str(raised.value)
    assert all(fault.allowed for fault in raised.value.faults)


def test_all_faults_of_a_file_at_once() -> None:
    text = """
[formula]
name = 3
colour = "red"
piece_g = -1
[[parts]]
bake_loss_percent = 130
lines = [1, {item = "x", grams = -3, process = "fried"}, {grams = 3}, {item = "y", ingredient = "moondust"}]
[match]
flour = "moondust"
"""
    with pytest.raises(InputError) as raised:
        formula_from_text(text)
    fields = {fault.field for fault in raised.value.faults}
    assert fields >= {"formula.name", "formula.colour", "formula.piece_g", "parts 1.bake_loss_percent",
                      "parts 1.lines 1", "parts 1.lines 2.grams", "parts 1.lines 2.process", "parts 1.lines 3.item",
                      "parts 1.lines 4.ingredient", "match.flour"}  # fmt: skip


OWN = """
[[parts]]
name = "filling"
lines = ["100 g our praline", "50 g butter", {item = "paste", grams = 20, ingredient = "our praline"}, "10 g nib mix"]
[match]
"nib mix" = "our praline"
[ingredients."our praline"]
class = "nut butter"
fat_g = 40
carbohydrate_g = 50
sugars_g = 45
protein_g = 8
water_g = 2
salt_g = 1
"""


def test_own_ingredients_travel_in_the_file_and_are_no_shelf_match() -> None:
    formula = formula_from_text(OWN)
    whole = composition_of(formula).whole
    fat = 40 * 1.3 + 81.11 * 0.5
    assert whole.mixed["fat_g"].likely * whole.mixed_g.likely / 100 == pytest.approx(fat)
    assert whole.mixed["salt_g"].likely * 1.8 == pytest.approx(1.3, rel=0.05)
    lines = [each.line for each in flat_lines(formula)]
    assert [line.match for line in lines] == ["unknown", lines[1].match, "unknown", "unknown"]
    assert lines[0].ingredient is None, "no allergen of the shelf is taken for the cook's own"
    for again in (formula_from_text(formula_to_toml(formula)), formula_from_text(json.dumps(formula.to_json()))):
        assert composition_of(again).whole.mixed["fat_g"] == whole.mixed["fat_g"]


def test_own_ingredients_are_checked() -> None:
    bad = OWN.replace("fat_g = 40", "fat_g = 140").replace('"nut butter"', '"moon rock"').replace("water_g", "waters_g")
    with pytest.raises(InputError) as raised:
        formula_from_text(bad)
    fields = {fault.field for fault in raised.value.faults}
    assert fields == {f"ingredients.our praline.{key}" for key in ("fat_g", "class", "waters_g")}


def test_the_reference_page_shows_a_file_that_works() -> None:
    page = (Path(__file__).parents[3] / "docs" / "reference" / "recipe-file.md").read_text(encoding="utf-8")
    formula = formula_from_text(page.split("```toml")[1].split("```")[0])
    assert [part.name for part in formula.parts] == ["pastry", "walnut filling"]
    found = composition_of(formula)
    assert not found.left_out
    assert any(each.what.startswith("butter, browned") for each in found.balance)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """Return a file of ours with a piece taken out, doubled or overwritten."""
    text = draw(st.sampled_from([FILE, OWN, json.dumps(pier_snaps().to_json()), "250 g flour\n100 g butter\nBake."]))
    start = draw(st.integers(0, len(text)))
    end = min(len(text), start + draw(st.integers(0, 60)))
    piece = draw(
        st.one_of(st.just(""), st.just(text[start:end] * 2), st.text(max_size=12), st.just("null"), st.just("-1"))
    )
    return text[:start] + piece + text[end:]


@settings(deadline=None, max_examples=150)
@given(spoilt())
def test_a_spoilt_file_is_read_or_refused_with_words(text: str) -> None:
    faults: tuple[Fault, ...] = ()
    try:
        composition_of(formula_from_text(text))
    except InputError as wrong:
        faults = wrong.faults
    assert all(fault.field and fault.allowed for fault in faults)


def places(node: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Return the path of every value in a JSON document."""
    pairs = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [each for key, value in pairs for each in ((*path, key), *places(value, (*path, key)))]


@pytest.mark.parametrize("wrong", [None, 3, "x", [], {}, True, [1], {"a": 1}, float("inf")], ids=repr)
def test_every_value_of_a_formula_may_be_wrong(wrong: object) -> None:
    snaps = pier_snaps()
    whole = replace(snaps, parts=(replace(snaps.parts[0], lines=snaps.parts[0].lines[:2]),)).to_json()
    for path in places(whole):
        document = json.loads(json.dumps(whole))
        node = document
        for key in path[:-1]:
            node = node[key]
        node[path[-1]] = wrong
        with contextlib.suppress(InputError):
            composition_of(formula_from_text(json.dumps(document)))


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        ('{"@type": "Recipe", "recipeIngredient": ["1 cup flour", ', "recipe JSON", "line 1, broken behind: "),
        ("2 spadefuls flour\n3 shovels sugar", "line 1", "2 spadefuls flour"),
        ("1/0 cup flour", "line 1", "1/0 cup flour"),
        ("-2 cups flour", "line 1", "-2 cups flour"),
        ("flour\nsugar", "amounts", "flour; sugar"),
    ],
)
def test_what_cannot_be_weighed_is_named_by_its_line(text: str, field: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        formula_from_text(text)
    fault = caught.value.faults[0]
    assert fault.field == field
    assert words in str(fault.value)
    assert fault.hint


WRITTEN_BY_HEART = {
    "part for parts": '[[part]]\nname = "Base"\nlines = ["300 g flour", "200 g butter"]\n',
    "ingredients for lines": '[formula]\nname = "x"\n[[parts]]\ningredients = ["300 g flour", "200 g butter"]\n',
    "no head at all": 'name = "Quay bars"\ningredients = ["300 g flour", "200 g butter"]\nsteps = ["Mix."]\n',
    "a table of grams": '[recipe]\ntitle = "Quay bars"\n[ingredients]\nflour = 300\nbutter = "200 g"\n',
    "grams under the part": '[[part]]\nname = "dough"\nflour = 300\nbutter = 200\n',
    "parts by name": '[parts.base]\nlines = """\n300 g flour\n"""\n[parts.top]\nlines = ["200 g butter"]\n',
    "amount and unit": '[[parts]]\nlines = [{name = "flour", amount = 300, unit = "g"}, {name = "butter", g = 200}]\n',
    "pairs": '[[parts]]\nlines = [["flour", 300], ["200 g", "butter"]]\n',
    "grams as text": '[[parts]]\nlines = [{ingredient = "flour", grams = "300 g"}, {item = "butter", grams = "200"}]\n',
    "capitals": '[[Parts]]\nLines = ["300 g flour", "200 g butter"]\n',
}


@pytest.mark.parametrize("text", WRITTEN_BY_HEART.values(), ids=WRITTEN_BY_HEART.keys())
def test_a_recipe_file_written_by_heart_is_understood(text: str) -> None:
    lines = flat_lines(formula_from_text(text))
    assert [(each.line.ingredient, each.line.grams.likely if each.line.grams else None) for each in lines] == [
        ("wheat flour", 300.0), ("butter", 200.0)]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[formula]\nname = Quay bars\n[[parts]]\nlines = ["1 egg"]', 'line 2: name = Quay bars.*name = "Quay bars"'),
        ('[formula]\nname = “Quay”\n[[parts]]\nlines = ["1 egg"]', "line 2.*straight quotes"),
        ('[formula]\nname = "x"\nname = "y"\n[[parts]]\nlines = ["1 egg"]', "line 3.*given twice"),
        ('[[parts]]\nname = "dough"\n300 g flour\n', r'line 3: 300 g flour.*lines = \["300 g flour"'),
        ('[[parts]]\nlines = ["300 g flour", "100 g butter"\n', r"close every list with \]"),
        ('[formula]\nyeild = "24"\n[[parts]]\nlines = ["1 egg"]', "formula.yeild"),
        ('[[parts]]\nlines = [{item = "egg", grams = -50}]', r"parts 1.lines 1.grams: got -50"),
        ('[[parts]]\nlines = ["1 egg"]\nbake_loss = "ten"', "parts 1.bake_loss_percent: got 'ten'"),
        ('[[part]]\nlines = ["1 egg"]\n[[parts]]\nlines = ["1 egg"]', r"write \[\[parts\]\] before each part"),
        ('[[parts]]\nlines = ["1 egg"]\ningredients = ["2 eggs"]', "parts 1.ingredients.*lines is given already"),
    ],
)  # fmt: skip
def test_a_faulty_recipe_file_is_told_by_field_or_line(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        formula_from_text(text)


def test_a_heading_in_brackets_is_still_pasted_text() -> None:
    formula = formula_from_text("Quay bars\n\n[Ingredients]\n300 g flour\n200 g butter\n\n[Method]\nMix.\n")
    assert [each.line.ingredient for each in flat_lines(formula)] == ["wheat flour", "butter"]


def test_small_amounts_keep_three_figures() -> None:
    """A pinch of saffron is kept to a thousandth of itself, not to a hundredth of a gram."""
    formula = formula_from_text("Buns\n300 g flour\n1 pinch saffron\n1/16 tsp baking soda\n")
    again = Formula.from_json(json.loads(json.dumps(formula.to_json())))
    for one, other in zip(flat_lines(formula), flat_lines(again), strict=True):
        assert one.line.grams is not None
        assert other.line.grams is not None
        assert other.line.grams.likely == pytest.approx(one.line.grams.likely, rel=5e-3)


@pytest.mark.parametrize("body", ["<h1>About us</h1><p>We are a bakery.</p>", "<p>Mix and bake.</p>", ""])
def test_a_page_without_a_recipe_says_what_to_save(body: str) -> None:
    with pytest.raises(InputError, match=r"a web page with a recipe in it.*save the page on which the recipe"):
        formula_from_text(f"<html><body>{body}</body></html>")
