"""The original's form: a document goes into its fields and comes back; faults stand beside their own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.base.errors import Fault
from batchwright.web.original_form import beside_fields, document_from_form, fields_from_document, weights

FULL = {
    "food": {"name": "Boats", "sort": "biscuit", "baked": True, "extra": 1},
    "label": {"text": "Ingredients: flour", "pasted": "all of it"},
    "panels": [{"basis": "per serving", "scheme": "US", "serving_g": "30", "fat_g": "less than 1 g", "vitamin_d_ug": 2},
               {"fat_g": "1,5"}],
    "teardown": {"pieces_g": [18.2, 17.9], "knife_g": 0.3, "brix": 60.0, "length_mm": [64.0], "counts": {"nuts": 3},
                 "parts_g": {"pastry": [12.0], "filling": [6.0, 6.5]}, "filling_brix": 71.0, "jam_brix": 65.0},
    "match": {"flour": "wheat flour"}, "know": {"honey": "at most 7"}, "pictures": [4],
}  # fmt: skip


def test_a_document_comes_back_from_its_own_fields() -> None:
    assert document_from_form(fields_from_document(FULL), FULL) == FULL


def test_a_single_panel_becomes_the_first() -> None:
    document = {"panel": {"fat_g": 7.0, "iron_mg": 0.5, "energy_kj": 800}}
    panels = document_from_form(fields_from_document(document), document)["panels"]
    assert panels == [{"fat_g": "7", "iron_mg": "0.5", "energy_kj": 800}]


@pytest.mark.parametrize(
    ("text", "figures"),
    [("18,2\n17,9", [18.2, 17.9]), ("18.2 17.9 18", [18.2, 17.9, 18.0]), ("12 g; 13g", [12.0, 13.0]),
     ("30,4, 30,1", [30.4, 30.1]), ("", []), ("x\n12", ["x", 12.0]), ("-3", [-3.0])],
)  # fmt: skip
def test_weights(text: str, figures: list[object]) -> None:
    assert weights(text) == figures


def test_nothing_typed_is_lost_for_want_of_a_name() -> None:
    typed = {"part0.g": "12", "part1.name": "filling", "panel0.serving_g": "30"}
    document = document_from_form(typed, {})
    assert document["teardown"]["parts_g"] == {"part 1": [12.0], "filling": []}
    assert document["panels"] == [{"serving_g": "30"}]
    twice = {"part0.name": "a", "part0.g": "1", "part1.name": "a", "part1.g": "2"}
    assert document_from_form(twice, {})["teardown"] == {"parts_g": {"a": [1.0, 2.0]}}


def test_a_mended_place_is_changed_in_the_text() -> None:
    typed = {"label.text": "flour, sugr, buter", "mend:7:11:sugr": "sugar", "mend:13:18:buter": "butter"}
    assert document_from_form(typed, {})["label"]["text"] == "flour, sugar, butter"
    unchanged = {"label.text": "flour, sugr", "mend:7:11:sugr": "sugr"}
    assert document_from_form(unchanged, {})["label"]["text"] == "flour, sugr"
    moved = {"label.text": "rye flour, sugr", "mend:7:11:sugr": "sugar"}  # the text was changed meanwhile: left alone
    assert document_from_form(moved, {})["label"]["text"] == "rye flour, sugr"


def test_faults_beside_their_fields() -> None:
    faults = [Fault(field, value, "a figure") for field, value in (
        ("fat_g", "banana"), ("sodium_mg", "-3"), ("pieces_g", "x"), ("parts_g.filling[1]", "y"), ("filling_brix", "z"),
        ("jam_brix", "q"), ("length_mm", "k"), ("knife_g", "w"), ("match.flour", "?"), ("label", ""), ("statement", ""),
        ("serving_g", 0), ("mix", "?"))]  # fmt: skip
    document = {**FULL, "panels": [{"fat_g": "7", "serving_g": "0"}, {"fat_g": "banana", "sodium_mg": "-3"}]}
    assert [fault.field for fault in beside_fields(faults, document)] == [
        "panel1.fat_g", "panel1.sodium_mg", "teardown.pieces_g", "part1.g", "part1.brix", "part2.brix",
        "teardown.length_mm", "teardown.knife_g", "match:flour", "label.text", "label.text", "panel0.serving_g", "mix",
    ]  # fmt: skip


NAMES = [*fields_from_document(FULL), "mend:0:3:abc", "show", "key"]


@given(st.dictionaries(st.sampled_from(NAMES), st.text(max_size=30)))
def test_any_fields_give_a_document_that_stays(typed: dict[str, str]) -> None:
    document = document_from_form(typed, {})
    again = document_from_form({**fields_from_document(document)}, document)
    assert document_from_form(fields_from_document(again), again) == again
