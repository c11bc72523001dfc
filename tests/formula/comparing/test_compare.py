"""Recipes held against a band: by hand, and properties that hold for any recipe."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.comparing.compare import compare, compared, paired_parts
from batchwright.formula.comparing.distance import COUNTED, ruler_of
from batchwright.formula.comparing.records import Band, BandAxis, BandPart
from batchwright.formula.formula import with_grams
from batchwright.formula.records import Formula, Part
from tests.formula.invented_bands import FILLED, PLAIN, RICH, SHORTBREAD, band_around, recipe

ITEMS = ("wheat flour", "sugar", "butter", "whole egg", "milk, whole", "cocoa powder", "salt", "walnuts", "honey")
RECIPES = st.dictionaries(st.sampled_from(ITEMS), st.floats(1.0, 500.0), min_size=2, max_size=7)


def band(**ranges: tuple[float, float, float]) -> Band:
    """Return a band of nutrient axes, each (low, likely, high)."""
    axes = [BandAxis(key, key, "nutrient", Estimate(likely, low, high)) for key, (low, likely, high) in ranges.items()]
    return Band("Test food", tuple(axes))


def test_inside_above_below_by_hand() -> None:
    syrup = recipe("syrup", ("", {"sugar": 60, "water": 40}))  # 60 g sugars, 40 g water, no fat in 100 g
    found = {axis.key: axis for axis in compared(band(sugars_g=(40, 45, 50), water_g=(35, 40, 45), fat_g=(5, 6, 7)),
                                                 syrup).axes}  # fmt: skip
    sugars, water, fat = found["sugars_g"], found["water_g"], found["fat_g"]
    assert (sugars.relation, water.relation, fat.relation) == ("above", "inside", "below")
    assert sugars.by_points == pytest.approx(10.0, abs=0.3)
    assert sugars.steps == pytest.approx(10.0 / 45.0, abs=0.01)
    assert water.by_points == 0.0
    assert fat.by_points == pytest.approx(5.0)
    assert fat.steps == pytest.approx(5.0 / 6.0)
    assert sugars.clear
    assert fat.clear


def test_distance_by_hand() -> None:
    """Two axes half a step off, five inside: root of (0.25 + 0.25) / 7."""
    ruler = ruler_of(band(fat_g=(10, 10, 10), sugars_g=(20, 20, 20), salt_g=(1, 1, 1)).axes)
    values = {"fat_g": 15.0, "sugars_g": 10.0, "salt_g": 1.0}
    given_values = np.array([values[key] for key in ruler.keys])
    assert float(ruler.distance(given_values)) == pytest.approx((0.5 / len(COUNTED)) ** 0.5)


@pytest.mark.parametrize(("doubt", "clear"), [(0.0, True), (0.6, False)])
def test_a_difference_within_both_doubts_is_said_to_be_so(doubt: float, clear: bool) -> None:
    mix = recipe("mix", ("", {"sugar": 50, "sunflower oil": 50}), doubt=doubt)
    wide = Estimate(42.0, 38.0, 46.0)
    axis = next(one for one in compared(Band("x", (BandAxis("fat_g", "fat", "nutrient", wide),)), mix).axes
                if one.key == "fat_g")  # fmt: skip
    assert axis.relation == "above"
    assert axis.clear is clear


@settings(max_examples=40, deadline=None)
@given(RECIPES)
def test_a_recipe_lies_inside_the_band_of_itself(amounts: dict[str, float]) -> None:
    formula = recipe("itself", ("", amounts))
    found = compared(band_around(formula), formula)
    assert all(axis.relation == "inside" for axis in found.axes)
    assert found.distance.likely == 0.0
    assert found.distance.low == 0.0


@settings(max_examples=40, deadline=None)
@given(RECIPES, st.floats(0.2, 5.0))
def test_the_size_of_the_batch_changes_nothing(amounts: dict[str, float], factor: float) -> None:
    held = band_around(SHORTBREAD)
    one = compared(held, recipe("a", ("", amounts)))
    other = compared(held, recipe("a", ("", {item: grams * factor for item, grams in amounts.items()})))
    assert one.distance.likely == pytest.approx(other.distance.likely, rel=1e-6, abs=1e-9)
    assert one.distance.low - 1e-9 <= one.distance.likely <= one.distance.high + 1e-9


@settings(max_examples=25, deadline=None)
@given(st.permutations([SHORTBREAD, RICH, PLAIN]))
def test_the_order_given_changes_no_ranking(order: list[Formula]) -> None:
    ranked = compare(band_around(SHORTBREAD), order).recipes
    assert [one.name for one in ranked] == ["Quay shortbread", "Harbour biscuit", "Ropewalk biscuit"]
    assert [order[one.place].name for one in ranked] == [one.name for one in ranked]


def test_the_reason_is_in_words() -> None:
    reason = compare(band_around(SHORTBREAD), [RICH]).recipes[0].reason
    assert "egg, which the original lacks" in reason
    itself = compare(band_around(SHORTBREAD), [SHORTBREAD]).recipes[0].reason
    assert itself == "Near in everything a panel prints"


def test_water_as_an_ingredient_is_not_held_against_a_list_that_need_not_name_it() -> None:
    wet = recipe("wet shortbread", ("dough", {"wheat flour": 300, "butter": 200, "sugar": 100, "salt": 2, "water": 99}))
    found = compared(band_around(SHORTBREAD), wet)
    assert "class:water" not in [axis.key for axis in found.axes]
    assert found.distance.likely < 0.05


def test_parts_are_paired_by_name_and_by_what_they_hold() -> None:
    held = band_around(FILLED)
    contents = {"pastry": {"water_g": Estimate(6, 3, 9), "fat_g": Estimate(28, 24, 32)},
                "filling": {"sugars_g": Estimate(50, 40, 60), "fat_g": Estimate(32, 28, 36)}}  # fmt: skip
    held = replace(held, parts=tuple(BandPart(name, contents[name]) for name in contents))
    pastry, filling = FILLED.parts
    swapped = replace(FILLED, parts=(replace(filling, name="Nut cream"), replace(pastry, name="Shell")))
    assert dict(paired_parts(held, swapped)) == {"Nut cream": "filling", "Shell": "pastry"}
    assert dict(paired_parts(held, FILLED)) == {"pastry": "pastry", "filling": "filling"}
    shares = [axis for axis in compared(held, swapped).axes if axis.kind == "part"]
    assert [axis.relation for axis in shares] == ["inside", "inside"]


def test_one_part_against_several_says_that_shares_are_not_compared() -> None:
    held = replace(band_around(FILLED), parts=(BandPart("pastry", {}), BandPart("filling", {})))
    found = compared(held, SHORTBREAD)
    assert not [axis for axis in found.axes if axis.kind == "part"]
    assert any("read as one part" in note for note in found.notes)


def test_what_cannot_be_compared_is_named() -> None:
    with pytest.raises(InputError, match="RECIPE"):
        compare(band_around(SHORTBREAD), [])
    empty = Formula("Blank card", (Part("", ()),))
    with pytest.raises(InputError, match="Blank card") as error:
        compare(band_around(SHORTBREAD), [empty, Formula("Other card", (Part("", ()),))])
    assert len(error.value.faults) == 2


def test_plain_json() -> None:
    plain = json.loads(json.dumps(compare(band_around(SHORTBREAD), [RICH, PLAIN]).to_json()))
    assert [one["name"] for one in plain["recipes"]] == ["Harbour biscuit", "Ropewalk biscuit"]
    axis = plain["recipes"][0]["axes"][0]
    assert {"key", "original", "recipe", "relation", "by_points", "larger_than_doubt", "steps"} <= set(axis)


def test_a_vague_recipe_is_no_nearer_for_being_vague() -> None:
    vague = with_grams(RICH, {0: Estimate(300, 200, 400, unit="g"), 1: Estimate(230, 150, 310, unit="g")})
    sharp, wide = (compared(band_around(SHORTBREAD), one).distance for one in (RICH, vague))
    assert wide.likely == pytest.approx(sharp.likely)
    assert wide.high - wide.low > sharp.high - sharp.low
