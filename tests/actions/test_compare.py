"""Recipes beside a label, from text to moves: the food's own formula, and what cannot be used."""

from __future__ import annotations

import tomllib

import pytest

from batchwright.actions.compare import Wishes, band_of, compare_formulas, compare_texts, headline, move_text
from batchwright.actions.demo import demo_text
from batchwright.actions.original import decode_file
from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.comparing.compare import compared
from batchwright.formula.comparing.records import Move
from batchwright.formula.fitting.toward import fit_toward
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula, Line, Part
from batchwright.original.records import Answer
from batchwright.pantry.shelf import match

SNAPS = """
[food]
name = "Capstan ginger biscuits"
sort = "biscuit"
[label]
text = "Ingredients: wheat flour, sugar, palm oil, golden syrup, ground ginger, sodium bicarbonate, salt."
[panel]
basis = "per 100 g"
scheme = "EU"
energy_kcal = 452
fat_g = 15.1
saturated_fat_g = 7.2
carbohydrate_g = 72.6
sugars_g = 34.2
fibre_g = 1.9
protein_g = 5.4
salt_g = 0.86
"""
FUDGE = """
[food]
name = "Bollard fudge"
[label]
text = "Ingredients: sugar, glucose syrup, sweetened condensed milk, butter, salt."
[panel]
basis = "per 100 g"
scheme = "EU"
fat_g = 11.4
saturated_fat_g = 7.3
sugars_g = 69.0
protein_g = 1.8
salt_g = 0.41
"""
RECIPE = """Ginger biscuits

300 g plain flour
150 g butter
150 g sugar
1 egg
2 tsp ground ginger
1 tsp baking soda

Bake at 170 C for 15 minutes.
"""
OTHER = """Oat slice

200 g rolled oats
180 g butter
180 g brown sugar
100 g golden syrup

Bake at 160 C for 25 minutes.
"""


def own_formula(answer: Answer) -> Formula:
    """Return the answer's own formula as a recipe, baked to the loss the answer names."""
    matched = {share.name: share for share in answer.ingredients}
    parts: dict[str, list[Line]] = {}
    for each in answer.one_formula:
        share = matched.get(each.name)
        item = "water" if share is None else share.ingredient or each.name
        grams = Estimate(each.grams, each.grams, each.grams, unit="g")
        parts.setdefault(each.part, []).append(Line(f"{each.grams:g} g {item}", item, grams, item, "name"))
    made = []
    for name, lines in parts.items():
        mixed = sum(line.grams.likely for line in lines if line.grams)
        listed = mixed - sum(line.grams.likely for line in lines if line.item == "water" and line.grams)
        dry = len(answer.parts) > 1 and not any("flour" in line.item for line in lines)  # the filling loses nothing
        loss = 0.0 if dry else 100.0 * (1.0 - listed * (1.0 - answer.bake_loss_percent.likely / 100.0) / mixed)
        made.append(Part(name, tuple(lines), Estimate(loss, loss, loss, unit="%")))
    return Formula(answer.name, tuple(made))


@pytest.mark.parametrize("label", [SNAPS, FUDGE, demo_text("ferry_boats.toml")], ids=["snaps", "fudge", "demo"])
def test_the_foods_own_formula_lies_inside_or_close_by(label: str) -> None:
    """The formula meets every line with typical compositions; the recipe made of it is finished by rules of its own."""
    answer = decode_file(label)
    found = compared(band_of(answer), own_formula(answer))
    assert {axis.key for axis in found.axes if axis.steps > 0.2} == set()
    assert found.distance.likely < compared(band_of(answer), formula_from_text(OTHER)).distance.likely


def test_the_true_formula_of_the_demonstration_lies_inside_on_nearly_every_axis() -> None:
    """The demonstration's panels were worked out apart from this program from the true amounts."""
    truth = tomllib.loads(demo_text("ferry_boats_truth.toml"))
    tables = {name: table for name, table in truth.items() if isinstance(table, dict)}
    whole = sum(sum(table.values()) for table in tables.values())
    water, lost = (whole * truth[key] / 100.0 for key in ("dough_water_percent", "bake_loss_percent"))
    parts = []
    for name, table in tables.items():
        amounts = {**table, "water": water} if name == "pastry" else table
        lines = [
            Line(item, item, Estimate(grams, grams, grams, unit="g"), match(item).ingredient, "name")
            for item, grams in amounts.items()
        ]
        percent = 100.0 * (water + lost) / sum(amounts.values())
        loss = Estimate(percent, percent, percent, unit="%") if name == "pastry" else None
        parts.append(Part(name, tuple(lines), loss))
    found = compared(band_of(decode_file(demo_text("ferry_boats.toml"))), Formula("true", tuple(parts)))
    inside = [axis.key for axis in found.axes if axis.relation == "inside"]
    assert len(inside) >= 0.9 * len(found.axes)
    assert {axis.key for axis in found.axes if axis.kind in ("nutrient", "part")} <= set(inside)
    assert found.distance.likely < 0.1


def test_from_text_to_moves() -> None:
    found = compare_texts(SNAPS, [("oat", OTHER), ("ginger", RECIPE)], Wishes(supermarket=True))
    assert [one.name for one in found.recipes] == ["Ginger biscuits", "Oat slice"]
    assert found.moves is not None
    assert found.moves.recipe == "Ginger biscuits"
    assert 1 <= len(found.moves.moves) <= 3
    assert found.moves.distance_after < 0.5 * found.moves.distance_before
    said = headline(found)
    assert said.startswith("Ginger biscuits is nearest to Capstan ginger biscuits: ")
    assert "of the distance" in said
    again = compare_texts(SNAPS, [("oat", OTHER), ("ginger", RECIPE)], Wishes(supermarket=True))
    assert again == found


def test_moves_are_only_made_where_asked_for() -> None:
    assert compare_texts(SNAPS, [("ginger", RECIPE)], Wishes(moves=0)).moves is None


def test_what_is_on_hand_as_text() -> None:
    wishes = Wishes(on_hand="# larder\n- golden syrup\n- margarine, soft\nlard; dates")
    with pytest.raises(InputError) as error:
        compare_texts(SNAPS, [("ginger", RECIPE)], Wishes(on_hand="flibbertigibbet"))
    assert [fault.field for fault in error.value.faults] == ["--on-hand"]
    found = compare_texts(SNAPS, [("ginger", RECIPE)], wishes)
    assert found.moves is not None
    assert found.moves.distance_after <= found.moves.distance_before


def test_every_fault_of_every_file_comes_at_once() -> None:
    broken = "[panel]\nfat_g = -3\n"
    with pytest.raises(InputError) as error:
        compare_texts(broken, [("empty", ""), ("ginger", RECIPE)])
    fields = [fault.field for fault in error.value.faults]
    assert any(field.startswith("ORIGINAL: ") for field in fields)
    assert any(field.startswith("empty: ") for field in fields)


@pytest.mark.parametrize("moves", [-1, 7, 99])
def test_too_many_moves(moves: int) -> None:
    with pytest.raises(InputError, match="--moves"):
        compare_formulas(band_of(decode_file(FUDGE)), [], Wishes(moves=moves))


@pytest.mark.parametrize(
    ("move", "text"),
    [
        (Move("add", "cream", "salt", 0, 1.5, "", 0), "add 1.5 g salt (cream)"),
        (Move("leave out", "", "egg", 50, 0, "", 0), "leave out 50 g egg"),
        (Move("lower", "", "butter", 142, 97, "", 0), "lower butter by 45 g, from 142 g to 97 g"),
        (Move("swap", "", "butter", 142, 0, "", 0, "lard", 0, 114), "swap 142 g butter for 114 g lard"),
        (Move("swap", "", "butter", 142, 42, "", 0, "lard", 20, 100),
         "swap 100 g butter for 80 g lard more, 100 g in all, 42 g stay"),
    ],
)  # fmt: skip
def test_a_move_as_a_cook_says_it(move: Move, text: str) -> None:
    assert move_text(move) == text


@pytest.mark.parametrize(
    ("label", "text"), [(SNAPS, RECIPE), (SNAPS, OTHER), (FUDGE, OTHER)], ids=["near", "far", "other"]
)
def test_three_moves_bring_at_least_half_of_what_a_full_fit_can(label: str, text: str) -> None:
    band, formula = band_of(decode_file(label)), formula_from_text(text)
    first = compare_formulas(band, [formula], Wishes()).moves
    assert first is not None
    fitted = compared(band, fit_toward(formula, band).formula).distance.likely
    assert first.distance_before - first.distance_after >= 0.5 * (first.distance_before - fitted)
    assert fitted < first.distance_before
