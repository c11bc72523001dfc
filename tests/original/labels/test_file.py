"""The label file: forgiving where something is missing, all faults together where something cannot be."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.original.labels.file import label_from_mapping, label_from_text
from batchwright.original.labels.label import problem_from_label
from tests.clock import within

WHOLE = '''
[food]
name = "Harbour Rounds"
sort = "Biscuit"
baked = true
[label]
text = """Wheat flour, sugar, palm oil, salt"""
[panel]
fat_g = 21
[[panels]]
fat_g = 5.5
serving_g = 25
[match]
"Wheat Flour" = "wheat flour, white"
[know]
"cinnamon" = "only in the dough, at most 2 %"
"salt" = { max_percent = "1,2 %" }
[measured]
moisture_percent = 3.0
[measured.filling]
brix = 76
[ingredients."my praline"]
fat_g = 35
salt_g = 1
'''


def test_everything_is_read() -> None:
    label = label_from_text(WHOLE)
    assert (label.name, label.sort, label.baked) == ("Harbour Rounds", "biscuit", True)
    assert len(label.panels) == 2
    assert label.match == {"wheat flour": "wheat flour, white"}
    assert label.know["cinnamon"].only.startswith("dough")
    assert label.know["cinnamon"].max_percent == 2
    assert label.know["salt"].max_percent == 1.2
    assert label.measured == {"": {"moisture_percent": 3.0}, "filling": {"brix": 76.0}}
    assert label.own["my praline"]["sodium_mg"] == pytest.approx(393.37)


@pytest.mark.parametrize("text", ["", "Sugar, flour, salt", "Ingredients: flour = fine, sugar", "🍪🍪"])
def test_plain_words_are_the_label(text: str) -> None:
    assert label_from_text(text).text == text


def test_broken_toml_names_the_place() -> None:
    with pytest.raises(InputError) as caught:
        label_from_text('[label]\ntext = "never closed\n[panel]\nfat_g = 3\n')
    assert "line 2" in str(caught.value.faults[0].value)


def test_all_faults_come_together() -> None:
    document = {
        "food": {"baked": "perhaps"},
        "panel": 7,
        "know": {"salt": {"min_percent": 5, "max_percent": 120}, "sugar": "a lot"},
        "ingredients": {"paste": {"fat_g": -3, "colour": 2}},
        "measured": {"moisture_percent": 140, "weight": 3},
        "match": {"sugar": 3},
    }
    with pytest.raises(InputError) as caught:
        label_from_mapping(document)
    named = {fault.field for fault in caught.value.faults}
    assert {"food.baked", "panel", "know.salt.max_percent", "know.sugar", "ingredients.paste.fat_g",
            "ingredients.paste.colour", "measured.moisture_percent", "measured.weight",
            "match.sugar"} <= named  # fmt: skip


def test_unknown_tables_are_told() -> None:
    assert "wobble" in " ".join(label_from_mapping({"wobble": {}, "label": {"text": "sugar"}}).notes)


def test_a_megabyte_is_refused_or_read_at_once() -> None:
    listed = "[label]\ntext = '" + "x" * 990_000 + "'"
    for text in ("[" * 999_000, "[food]\na = " + "[" * 900_000, listed, "k" * 1_000_001):
        with within(2.0), suppress(InputError):
            label_from_text(text)


@given(st.text(max_size=300))
@settings(max_examples=60, deadline=None)
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InputError):
        assert label_from_text(text) == label_from_text(text)


def test_a_name_right_as_printed_stays_so() -> None:
    table = {"label": {"text": "wheat flour, 5alt, sugar.", "as_printed": [" 5ALT "]}}
    assert label_from_mapping(table).as_printed == ("5alt",)
    assert "5alt" in problem_from_label(label_from_mapping(table)).names
    for wrong in ("5alt", [5], {"a": 1}):
        with pytest.raises(InputError) as refused:
            label_from_mapping({"label": {"text": "salt", "as_printed": wrong}})
        assert refused.value.faults[0].field == "label.as_printed"


@pytest.mark.parametrize("unit", ["\n", "\n ", "[", "x = ", "\t[\n", "( "])
def test_a_megabyte_of_anything_takes_less_than_two_seconds(unit: str) -> None:
    text = unit * (1_000_000 // len(unit)) + "oat flakes, honey"
    with within(2.0), suppress(InputError):
        label_from_text(text)
