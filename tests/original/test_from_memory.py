"""An answer that rests on a composition from memory says so, from the label to the words the cook reads."""

from __future__ import annotations

import json

import pytest

from batchwright.actions.original import decode_file
from batchwright.base.tables import rows
from batchwright.original.decode import decode
from batchwright.original.labels.file import label_from_text
from batchwright.pantry.ingredient import FROM_MEMORY, load_ingredients

LABEL = """
[label]
text = "Ingredients: wheat flour, sugar, {}, palm oil, salt"
[panel]
basis = "per 100 g"
energy_kcal = 420
fat_g = 15
saturated_fat_g = 7
carbohydrate_g = 62
sugars_g = 25
protein_g = 6
salt_g = 0.9
"""


def told(name: str) -> list[str]:
    return [note for note in decode(label_from_text(LABEL.format(name))).notes if FROM_MEMORY in note]


@pytest.mark.parametrize("name", ["tomatillos", "edam cheese", "lime"])
def test_it_is_said_and_the_ingredient_named(name: str) -> None:
    notes = told(name)
    assert len(notes) == 1
    assert name in notes[0]


def test_a_row_with_a_source_says_nothing() -> None:
    assert load_ingredients()["butter"].basis != "from_memory"
    assert told("butter") == []


def test_the_answer_handed_on_holds_it() -> None:
    answer = json.loads(json.dumps(decode_file(LABEL.format("tomatillos")).to_json()))
    assert any(FROM_MEMORY in note and "tomatillos" in note for note in answer["notes"])


def test_every_row_from_memory_carries_the_note() -> None:
    from_memory = [row["name"] for row in rows("pantry_ingredients") if row["basis"] == "from_memory"]
    assert from_memory
    for name in from_memory:
        assert any(note.endswith(FROM_MEMORY) for note in load_ingredients()[name].notes), name
