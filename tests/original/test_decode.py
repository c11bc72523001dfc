"""Decoding end to end: invented foods whose formula is known, and input that is missing, odd or wrong."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pytest

from batchwright.actions.original import answer_declared, decode_file
from batchwright.base.errors import InputError
from batchwright.original.answers.ranges import estimates
from batchwright.original.decode import decode
from batchwright.original.labels.file import label_from_mapping
from batchwright.original.labels.label import AVAILABLE, problem_from_label
from batchwright.original.records import Answer, Share
from tests.clock import within

# Two invented pastes of three ingredients whose composition the label file itself gives, so that the arithmetic can be
# done by hand: red 50, blue 30, green 20 of 100, nothing lost. Fat 50 x 0.6 = 30 g, sugars 30 x 0.8 = 24 g,
# protein 20 x 0.5 = 10 g per 100 g.
OWN = {
    "red meal": {"energy_kcal": 540, "fat_g": 60, "saturated_fat_g": 0, "carbohydrate_g": 0, "fiber_g": 0,
                 "sugars_g": 0, "protein_g": 0, "sodium_mg": 0, "water_g": 0},
    "blue meal": {"energy_kcal": 320, "fat_g": 0, "saturated_fat_g": 0, "carbohydrate_g": 80, "fiber_g": 0,
                  "sugars_g": 80, "protein_g": 0, "sodium_mg": 0, "water_g": 0},
    "green meal": {"energy_kcal": 200, "fat_g": 0, "saturated_fat_g": 0, "carbohydrate_g": 0, "fiber_g": 0,
                   "sugars_g": 0, "protein_g": 50, "sodium_mg": 0, "water_g": 0},
}  # fmt: skip
PASTE = {
    "food": {"name": "Three-meal paste"},
    "label": {"text": "Ingredients: red meal, blue meal, green meal"},
    "panel": {"basis": "per 100 g", "scheme": "EU", "fat_g": "30.0", "sugars_g": "24.0", "protein_g": "10.0"},
    "ingredients": OWN,
}
TRUE = {"red meal": 50.0, "blue meal": 30.0, "green meal": 20.0}
BISCUIT = """
[food]
name = "Harbour Rounds biscuit"
[label]
text = "Ingredients: wheat flour, sugar, palm oil, whole milk powder, salt, raising agent: sodium bicarbonate."
[panel]
basis = "per 100 g"
energy_kcal = 470
fat_g = 18
saturated_fat_g = 8.9
carbohydrate_g = 70
sugars_g = 22
protein_g = 6.8
salt_g = 0.9
"""


def by_name(answer: Answer) -> dict[str, Share]:
    return {share.name: share for share in answer.ingredients}


@pytest.fixture(scope="module")
def paste() -> Answer:
    return decode(label_from_mapping(PASTE))


@pytest.fixture(scope="module")
def biscuit() -> Answer:
    return decode_file(BISCUIT)


def test_known_formula_lies_in_every_range(paste: Answer) -> None:
    assert paste.consistent
    for name, share in by_name(paste).items():
        estimate = share.added_percent
        assert estimate.sure_low <= TRUE[name] <= estimate.sure_high
        assert estimate.low - 0.5 <= TRUE[name] <= estimate.high + 0.5
        assert estimate.sure_high - estimate.sure_low < 12.0
        assert share.pinned_by


def test_ranges_are_nested_and_the_formula_is_coherent(biscuit: Answer) -> None:
    for share in biscuit.ingredients:
        for estimate in (share.added_percent, share.finished_percent, share.bakers_percent):
            assert estimate is not None
            ends = (estimate.sure_low, estimate.low, estimate.likely, estimate.high, estimate.sure_high)
            assert all(one <= other + 1e-9 for one, other in pairwise(ends))
    grams = {line.name: line.grams for line in biscuit.one_formula}
    assert grams["wheat flour"] == pytest.approx(300.0)
    assert grams["wheat flour"] >= grams["sugar"] >= grams["palm oil"] >= grams["whole milk powder"]
    assert grams["dough water (bakes off)"] > 0
    assert by_name(biscuit)["wheat flour"].bakers_percent.likely == pytest.approx(100.0)


def test_json_has_the_promised_form(biscuit: Answer) -> None:
    document = json.loads(json.dumps(biscuit.to_json(), allow_nan=False))
    keys = {"ingredients", "bake_loss_percent", "dough_water_percent", "ratios", "one_formula", "narrow_next",
            "consistent", "conflicts", "repairs", "notes", "seconds"}  # fmt: skip
    assert keys <= document.keys()
    first = document["ingredients"][0]
    assert {"name", "path", "part", "match", "pinned_by"} <= first.keys()
    assert {"added_percent", "finished_percent", "bakers_percent"} <= first.keys()
    assert {"likely", "low", "high", "sure_low", "sure_high"} <= first["added_percent"].keys()
    assert all({"line", "side"} == pin.keys() for pin in first["pinned_by"])
    assert {"fat : flour", "sugar : flour"} <= {ratio["name"] for ratio in document["ratios"]}
    widths = [step["width_expected"] for step in document["narrow_next"]]
    assert widths == sorted(widths)
    assert all(step["width_expected"] <= step["width_now"] for step in document["narrow_next"])


def test_a_second_panel_never_widens_a_sure_range(biscuit: Answer) -> None:
    more = BISCUIT.replace("[panel]", "[[panels]]\nbasis = 'per 100 g'\nfat_g = 18.2\nsugars_g = 21.8\n[[panels]]")
    after = by_name(decode_file(more))
    for name, share in by_name(biscuit).items():
        assert after[name].added_percent.sure_low >= share.added_percent.sure_low - 1e-6
        assert after[name].added_percent.sure_high <= share.added_percent.sure_high + 1e-6


def test_same_input_same_digits() -> None:
    one, other = (decode_file(BISCUIT).to_json() for _ in range(2))
    assert {**one, "seconds": 0} == {**other, "seconds": 0}


def test_pieces_scale_the_formula() -> None:
    with pytest.raises(InputError, match="pieces"):
        decode_file(BISCUIT, "40-pieces")
    with pytest.raises(InputError, match="mix"):
        decode_file(BISCUIT, "a handful")
    grams = {line.name: line.grams for line in decode_file(BISCUIT, "1 kg flour").one_formula}
    assert grams["wheat flour"] == pytest.approx(1000.0)


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"label": {"text": ""}},
        {"label": {"text": "Sugar, cocoa butter, glimmering wobbleroot powder"}},
        {"panel": {"basis": "per 100 g", "fat_g": 20, "sugars_g": 30, "protein_g": 5, "energy_kcal": 450}},
        {"label": {"text": "sugar, sugar, sugar, salt"}},
        {"label": {"text": "🍪, 🥜🥜, sugar"}, "panel": {"fat_g": "<1", "basis": "per 100 g"}},
        {"label": {"text": "oats 250 %, honey"}},
        {"label": {"text": "water"}},
    ],
)
def test_missing_or_odd_input_is_a_wider_answer(document: dict[str, object]) -> None:
    answer = decode(label_from_mapping(document))
    assert answer.ingredients
    for share in answer.ingredients:
        assert 0.0 <= share.added_percent.low <= share.added_percent.high <= 100.0 + 1e-6
    json.dumps(answer.to_json(), allow_nan=False)


@pytest.mark.parametrize(("change", "field"), [({"fat_g": -3}, "fat"), ({"serving_g": 0}, "serving")])
def test_figures_that_cannot_be_are_named(change: dict[str, object], field: str) -> None:
    panel = {"basis": "per 100 g", "sugars_g": 20, **change}
    label = label_from_mapping({"label": {"text": "sugar, flour"}, "panel": panel})
    with pytest.raises(InputError, match=field):
        decode(label)


def test_clashing_panels_are_named_and_still_answered() -> None:
    text = BISCUIT.replace("[panel]", "[[panels]]\nbasis = 'per 100 g'\nfat_g = 4\n[[panels]]")
    answer = decode_file(text)
    assert not answer.consistent
    assert any("fat" in line for conflict in answer.conflicts for line in conflict.lines)
    assert all(conflict.check for conflict in answer.conflicts)
    assert answer.ingredients
    assert answer.one_formula


def test_the_cook_overrules_a_match_and_knows_a_cap() -> None:
    document = {**PASTE, "match": {"red meal": "green meal"}, "know": {"blue meal": {"max_percent": 29.9}}}
    answer = decode(label_from_mapping(document))
    assert by_name(answer)["red meal"].ingredient == "green meal"
    assert by_name(answer)["blue meal"].added_percent.sure_high <= 29.9 + 1e-6 or not answer.consistent


def test_parts_are_answered_apart() -> None:
    text = (
        "Ingredients: Shell: wheat flour, palm oil, sugar, salt; Filling: sugar, palm oil, hazelnuts, "
        "skimmed milk powder, emulsifier (soya lecithin)."
    )
    answer = decode(label_from_mapping({"label": {"text": text}, "food": {"sort": "wafer"}}))
    parts = {part.name for part in answer.parts}
    assert parts == {"shell", "filling"}
    assert {share.part for share in answer.ingredients if share.name == "sugar"} == parts
    assert any(" : " in ratio.name and "filling" in ratio.name for ratio in answer.ratios)


def test_declared_form() -> None:
    record = {"id": "x1", "statement": "Oats, sugar, sunflower oil, honey, salt", "serving_g": 30,
              "panel": {"basis": "per 100 g", "fat_g": 18, "sugars_g": 25}, "truth": "never read"}  # fmt: skip
    answer = answer_declared(record)
    assert [item["name"] for item in answer["items"]] == ["Oats", "sugar", "sunflower oil", "honey", "salt"]
    for item in answer["items"]:
        assert item["min"] <= item["low"] <= item["likely"] <= item["high"] <= item["max"]
    assert answer["ms"] > 0
    with pytest.raises(InputError):
        answer_declared({"id": "x2"})


def test_four_hundred_items_within_ten_seconds() -> None:
    listed = ", ".join(f"{word} powder {place}" for place, word in enumerate(["oat", "rice", "beet", "date"] * 100))
    with within(10.0):
        answer = answer_declared({"id": "long", "statement": listed, "panel": {"basis": "per 100 g", "fat_g": 12}})
    assert len(answer["items"]) >= 390


def test_european_carbohydrate_without_fibre_is_the_available_one() -> None:
    panel = {"fat_g": 1.0, "carbohydrate_g": 30.0, "sugars_g": 25.0, "protein_g": 3.0, "salt_g": 0.1}
    label = label_from_mapping({"statement": "Milk, sugar, oats", "panel": {"basis": "per 100 g", **panel}})
    problem = problem_from_label(label)
    figure = next(row for row in problem.panel if row.nutrient == AVAILABLE)
    assert figure.high < 30.6  # no allowance for fibre on top: it is not part of the figure
    row = problem.nutrients.index(AVAILABLE)
    carbohydrate, fiber = (problem.typical[problem.nutrients.index(key)] for key in ("carbohydrate_g", "fiber_g"))
    assert problem.typical[row] == pytest.approx(carbohydrate - fiber)
    assert (problem.low[row] <= problem.typical[row]).all()
    assert (problem.typical[row] <= problem.high[row]).all()


def test_room_beyond_the_draws_leaves_traces_small() -> None:
    draws = np.array([[0.30, 0.001]] * 50)
    big, trace = estimates(draws, np.zeros(2), np.ones(2), possible=True, shares=True)
    assert (big.low, big.likely, big.high) == pytest.approx((28.7, 30.0, 31.3))
    assert (trace.low, trace.likely, trace.high) == pytest.approx((0.0, 0.1, 0.3))
