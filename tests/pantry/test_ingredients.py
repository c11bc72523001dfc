"""The shelf's figures: outside values, sums, what cannot exceed what, profiles and their widths."""

from __future__ import annotations

import timeit

import pytest

from batchwright.base.errors import InputError
from batchwright.base.nutrients import COMPOSITION_KEYS
from batchwright.base.tables import rows
from batchwright.pantry.compounds import compound_names
from batchwright.pantry.ingredient import (
    MOST_OF_ANY_FOOD,
    PART_OF,
    class_profile,
    classes,
    ingredient,
    load_ingredients,
    members,
    profile,
    profile_of_ingredient,
    unknown_profile,
)
from batchwright.pantry.records import Ingredient

SHELF = load_ingredients()
PROXIMATES = ("water_g", "protein_g", "fat_g", "carbohydrate_g", "ash_g", "alcohol_g")

# Rows whose parts do not come near 100 g, and why.
SHORT_OF_100 = {
    "dyes and pigments are none of the proximates": (
        "annatto", "beet colour", "blue 1", "blue 2", "carmine", "chlorophyll", "colour, not named", "dye lake",
        "food dye", "red 3", "red 40", "spirulina extract", "vegetable carbon", "yellow 5", "yellow 6"),
    "waxes and mineral oil are no fat that counts": (
        "beeswax", "candelilla wax", "carnauba wax", "mineral oil", "shellac"),
    "salts and carriers not given as ash": (
        "carrageenan", "hydrolysed soy protein", "nisin", "preservative, not named", "rennet", "seasoning",
        "sodium alginate", "vitamins and minerals", "cultured dextrose", "cultured wheat flour"),
    "propylene glycol and other solvents are none of the proximates": (
        "artificial flavour", "natural and artificial flavour", "natural flavour"),
}  # fmt: skip
ALLOWED_SHORT = frozenset(name for names in SHORT_OF_100.values() for name in names)


def test_count() -> None:
    assert len(SHELF) >= 450
    assert len(SHELF) == len(rows("pantry_ingredients"))
    assert len(classes()) >= 40


def test_every_row_has_figures_and_a_source() -> None:
    sources = {row["key"] for row in rows("sources")}
    for name, one in SHELF.items():
        assert {"energy_kcal", "fat_g", "carbohydrate_g", "protein_g", "water_g"} <= set(one.composition), name
        assert one.source in sources, name
        assert one.locator, name


def test_parts_sum_to_100() -> None:
    wrong = {}
    for name, one in SHELF.items():
        if name in compound_names():
            continue
        total = sum(one.composition.get(key, 0.0) for key in PROXIMATES)
        least = 94.0 if "ash_g" in one.composition else 90.0
        if name not in ALLOWED_SHORT and not least <= total <= 102.0:
            wrong[name] = round(total, 1)
    assert not wrong


def test_the_exceptions_are_needed() -> None:
    for name in ALLOWED_SHORT:
        assert sum(SHELF[name].composition.get(key, 0.0) for key in PROXIMATES) < 94.0, name


def test_compounds_do_not_exceed_100() -> None:
    for name in compound_names():
        assert sum(SHELF[name].composition.get(key, 0.0) for key in PROXIMATES) <= 100.01, name


def test_part_never_above_its_whole() -> None:
    # Sugars are measured, carbohydrate is what is left over: in milk and cream the source's sugars come out higher.
    by_difference = {"cream", "cream, light", "milk, 2 % fat", "milk, skimmed", "milk, whole", "cane syrup"}
    over = set()
    for name, one in SHELF.items():
        for part, whole in PART_OF.items():
            if one.composition.get(part, 0.0) > one.composition.get(whole, 100.0) + 0.05:
                over.add((name, part))
    assert over == {(name, "sugars_g") for name in by_difference}


def test_nothing_beyond_what_a_food_can_hold() -> None:
    for name, one in SHELF.items():
        for key, value in one.composition.items():
            most = MOST_OF_ANY_FOOD.get(key, 100.0 if key.endswith("_g") else 1e6)
            assert 0.0 <= value <= most * 1.003, (name, key)


def test_water_of_hydrates_and_solutions_is_counted_once() -> None:
    assert SHELF["water"].composition["water_g"] == pytest.approx(100.0)
    dextrose = SHELF["dextrose"].composition
    assert dextrose["carbohydrate_g"] + dextrose["water_g"] == pytest.approx(100)


@pytest.mark.parametrize("name", ["wheat flour", "salt", "dextrose", "vegetable oil", "butter", "natural flavour"])
def test_profile_holds_every_key_in_order(name: str) -> None:
    known = profile(name)
    for table in (known.typical, known.spread, known.low, known.high):
        assert tuple(table) == COMPOSITION_KEYS


def test_every_profile_is_ordered() -> None:
    for name in SHELF:
        known = profile(name)
        for key in COMPOSITION_KEYS:
            assert 0.0 <= known.low[key] <= known.typical[key] <= known.high[key], (name, key)
            assert known.spread[key] >= 0.0, (name, key)
        for part, whole in PART_OF.items():
            assert known.high[part] <= known.high[whole] + 1e-9, (name, part)


def test_what_is_pure_spreads_little_and_what_is_not_more() -> None:
    assert profile("salt").spread["sodium_mg"] / profile("salt").typical["sodium_mg"] < 0.02
    assert profile("sugar").spread["sugars_g"] < 0.5
    flour = profile("wheat flour")
    assert 0.04 < flour.spread["protein_g"] / flour.typical["protein_g"] < 0.15
    assert profile("wheat flour").high["carbohydrate_g"] < 100.0


def test_a_filled_figure_is_noted_and_plain_milk_holds_no_added_sugar() -> None:
    milk = profile("milk, whole")
    assert "added_sugars_g" not in SHELF["milk, whole"].composition
    assert milk.high["added_sugars_g"] == 0.0
    assert any("added_sugars_g" in note for note in milk.notes)
    chocolate = profile("milk chocolate").typical
    assert 0.7 < chocolate["added_sugars_g"] / chocolate["sugars_g"] < 0.95


def test_class_is_as_wide_as_its_members() -> None:
    oils = class_profile("oil")
    for one in members("oil"):
        for key in COMPOSITION_KEYS:
            assert oils.low[key] <= profile(one.name).low[key] <= profile(one.name).high[key] <= oils.high[key]
    assert oils.spread["saturated_fat_g"] > profile("sunflower oil").spread["saturated_fat_g"]
    assert "class" in oils.notes[0]


def test_unknown_is_as_wide_as_food_allows() -> None:
    anything = unknown_profile()
    assert (anything.low["fat_g"], anything.high["fat_g"]) == (0.0, 100.0)
    assert (anything.low["energy_kcal"], anything.high["energy_kcal"]) == (0.0, 900.0)
    assert 200 < anything.typical["energy_kcal"] < 500
    for name in SHELF:
        for key in COMPOSITION_KEYS:
            assert profile(name).high[key] <= anything.high[key] * 1.003, (name, key)


def test_names_that_are_not_there() -> None:
    with pytest.raises(InputError, match="no such thing"):
        ingredient("no such thing")
    with pytest.raises(InputError, match="no such class"):
        class_profile("no such class")


def test_profile_is_quick() -> None:
    profile("salt")
    assert timeit.timeit(lambda: profile("salt"), number=1000) / 1000 < 1e-4


def test_no_salt_holds_more_sodium_than_sodium_chloride() -> None:
    for one in members("salt"):
        assert profile(one.name).high["sodium_mg"] <= 39340, one.name  # 22.990 / (22.990 + 35.453)


def test_an_ingredient_of_its_own_class_is_wide_where_its_source_is_silent() -> None:
    found = profile_of_ingredient(Ingredient("moonberry paste", "imported", {"fat_g": 30.0, "sugars_g": 20.0}))
    assert (found.low["protein_g"], found.high["protein_g"]) == (0.0, 100.0)
    assert found.spread["protein_g"] > 5
    assert found.high["saturated_fat_g"] <= found.high["fat_g"]
    assert found.typical["fat_g"] == 30.0
    assert found.notes
