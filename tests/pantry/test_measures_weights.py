"""Cups, spoons and pieces: whose weight, in which form, by which convention, in which country."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.base.tables import rows
from batchwright.pantry.ingredient import classes, load_ingredients
from batchwright.pantry.measures_conventions import FLOUR, convention_of, cup_weights, filling_names
from batchwright.pantry.measures_counts import piece_of
from batchwright.pantry.measures_fills import fill_of
from batchwright.pantry.measures_forms import FORM_OF, forms_in
from batchwright.pantry.measures_units import unit_of


def cup(name: str, kind: str, *forms: str, words: str = "") -> tuple[float, float, float]:
    found = fill_of((words or name).split(), name, kind, forms)
    return found.low_g_cup, found.likely_g_cup, found.high_g_cup


@pytest.mark.parametrize("name", ["pantry_fills", "pantry_counts"])
def test_ranges_are_in_order(name: str) -> None:
    for row in rows(name):
        low, likely, high = (float(row[key]) for key in row if key.startswith(("low_g", "likely_g", "high_g")))
        assert 0 < low <= likely <= high, row


def test_tables_speak_of_what_the_shelf_has() -> None:
    known = {*classes()}
    for row in rows("pantry_fills"):
        for what in row["what"].split(";"):
            assert not what.startswith("class:") or what.removeprefix("class:") in known, what
            assert row["form"] == "" or row["form"] in FORM_OF.values(), row
    assert {row["ingredient_class"] for row in rows("pantry_fill_spreads")} <= known


def test_every_ingredient_of_the_shelf_has_a_cup_weight_within_reason() -> None:
    for one in load_ingredients().values():
        found = fill_of(one.name.split(), one.name, one.ingredient_class)
        assert 4 < found.low_g_cup < found.high_g_cup < 500, one.name
        assert found.low_g_cup <= found.likely_g_cup <= found.high_g_cup, one.name


def test_flour_holds_every_published_convention_but_the_extremes() -> None:
    low, likely, high = cup(FLOUR, "flour")
    assert low <= min(cup_weights(FLOUR).values())
    assert high >= max(cup_weights(FLOUR).values())
    assert low < likely < high


@pytest.mark.parametrize(("less", "more"), [("sifted", "spooned"), ("spooned", "scooped")])
def test_the_way_flour_is_filled_orders_its_weight(less: str, more: str) -> None:
    assert cup(FLOUR, "flour", less)[1] < cup(FLOUR, "flour", more)[1]


def test_packed_brown_sugar_weighs_more_than_loose() -> None:
    assert cup("brown sugar", "sugar", "packed")[1] > cup("brown sugar", "sugar", "spooned")[1]


def test_chopped_nuts_are_their_own_row() -> None:
    assert cup("hazelnuts", "nut", "ground")[1] < cup("hazelnuts", "nut", "chopped")[1] < cup("hazelnuts", "nut")[1]


def test_a_solid_inch_of_cheese_is_no_cup_of_it() -> None:
    assert cup("cheddar cheese", "cheese")[2] < 160


@pytest.mark.parametrize(("item", "low_g", "high_g"), [("kosher salt", 2.6, 5.1), ("table salt", 4.9, 7.1)])
def test_a_teaspoon_of_salt_by_crystal(item: str, low_g: float, high_g: float) -> None:
    found = fill_of(item.split(), "salt", "salt")
    assert low_g <= found.per_ml()[0] * 4.9289 <= found.per_ml()[2] * 4.9289 <= high_g


def test_flakes_weigh_less_than_kosher_less_than_table_salt() -> None:
    flaky, kosher, table = (fill_of(words.split(), "salt", "salt").likely_g_cup
                            for words in ("flaky salt", "kosher salt", "table salt"))  # fmt: skip
    assert flaky < kosher < table


def test_unknown_food_is_weighed_as_most_foods_and_wider_than_its_kin() -> None:
    unknown = fill_of(["xylofruit"], None, None)
    kin = fill_of(["xylofruit"], None, "fruit")
    assert (unknown.what, kin.what) == ("any", "class:fruit")
    assert unknown.kin
    assert kin.kin
    assert unknown.high_g_cup / unknown.low_g_cup > kin.high_g_cup / kin.low_g_cup


def test_forms_are_read_in_order_each_once() -> None:
    assert forms_in(["finely", "chopped", "and", "packed", "chopped"]) == ("chopped", "packed")


@pytest.mark.parametrize(("unit", "place", "ml"), [("tablespoon", "US", 14.787), ("tablespoon", "UK", 15.0),
                                                  ("tablespoon", "AU", 20.0), ("tablespoon", "imperial", 17.758),
                                                  ("cup", "label", 240.0), ("cup", "AU", 250.0), ("pint", "UK", 568.26),
                                                  ("pint", "US", 473.18), ("litre", "AU", 1000.0)])  # fmt: skip
def test_whose_unit(unit: str, place: str, ml: float) -> None:
    found = unit_of(unit, place)
    assert found is not None
    assert found.volume_ml == pytest.approx(ml, rel=1e-4)


def test_a_word_that_is_no_unit_is_a_count() -> None:
    assert unit_of("clove") is None


@pytest.mark.parametrize(("item", "name", "kind", "unit", "size", "low_g", "high_g"), [
    ("egg", "whole egg", "egg", "", "large", 47, 55), ("egg", "whole egg", "egg", "", "jumbo", 59, 70),
    ("egg yolk", "egg yolk", "egg", "", "large", 15, 20), ("butter", "butter", "butter", "stick", "", 109, 120),
    ("active dry yeast", "yeast, dried", "yeast", "envelope", "", 6.5, 8),
    ("garlic", "garlic", "vegetable", "clove", "", 2, 7),
    ("parsley", "parsley", "spice", "bunch", "", 35, 115), ("gelatin", "gelatin", "gum", "sheet", "", 1.5, 5),
])  # fmt: skip
def test_pieces(item: str, name: str, kind: str, unit: str, size: str, low_g: float, high_g: float) -> None:
    found = piece_of(item.split(), name, kind, unit, size)
    assert found is not None
    assert not found.kin
    assert low_g <= found.low_g <= found.high_g <= high_g


def test_juice_of_a_fruit() -> None:
    lemon, lime = (piece_of([fruit], None, None, "juice") for fruit in ("lemon", "lime"))
    assert lemon
    assert lime
    assert lemon.likely_g > lime.likely_g


def test_an_egg_without_a_size_is_wider_than_a_large_one() -> None:
    plain, large = (piece_of(["egg"], "whole egg", "egg", "", size) for size in ("", "large"))
    assert plain
    assert large
    assert plain.low_g < large.low_g
    assert plain.high_g > large.high_g


def test_uk_eggs_have_their_own_classes() -> None:
    uk, us = (piece_of(["egg"], "whole egg", "egg", "", "large", place) for place in ("UK", "US"))
    assert uk
    assert us
    assert uk.likely_g > us.likely_g


def test_a_piece_of_what_nothing_is_known_of() -> None:
    assert piece_of(["xylofruit"], None, None, "") is None


@pytest.mark.parametrize("name", filling_names())
def test_every_named_convention_is_taken_and_says_its_flour(name: str) -> None:
    assert convention_of(name).cups[FLOUR][0] == cup_weights(FLOUR)[name]


@pytest.mark.parametrize(("text", "place", "flour_g"), [("Dip-and-Sweep", "", 142), ("130 g", "", 130),
                                                       ("spooned, metric cup", "metric", 120), ("AU", "AU", None),
                                                       ("US cup", "US", None), ("", "", None)])  # fmt: skip
def test_conventions(text: str, place: str, flour_g: float | None) -> None:
    found = convention_of(text)
    assert found.place == place
    assert (found.cups[FLOUR][0] if flour_g else None) == flour_g


def test_a_convention_reads_back_its_own_name() -> None:
    for text in ("dip and sweep", "130 g", "spooned, metric cup", "128 g, AU cup"):
        named = convention_of(text)
        assert convention_of(named.name) == named


def test_a_flour_weight_is_that_of_the_cup_that_is_named() -> None:
    assert convention_of("125 g, metric cup").cups[FLOUR][0] == pytest.approx(125 * 236.5882 / 250)


@pytest.mark.parametrize("text", ["heaped by hand", "9 g", "5000 g"])
def test_a_convention_that_is_not_known_says_what_is(text: str) -> None:
    with pytest.raises(InputError) as caught:
        convention_of(text)
    fault = caught.value.faults[0]
    assert fault.field == "convention"
    assert "dip and sweep" in fault.allowed
