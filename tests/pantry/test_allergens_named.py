"""Foods known by name alone have their allergens as well, each under a name that the look-up gives."""

from __future__ import annotations

import pytest

from batchwright.base.tables import rows
from batchwright.pantry.allergens import WORDS, allergens_of, has_allergen_row
from batchwright.pantry.ingredient import load_ingredients
from batchwright.pantry.shelf import match
from batchwright.pantry.shelf_index import index


def test_each_row_is_a_food_that_a_name_leads_to() -> None:
    led_to = {entry.ingredient for entry in index().by_key.values() if not entry.on_shelf}
    named = [row["ingredient"] for row in rows("pantry_allergens_named")]
    assert [name for name in named if name not in led_to] == []
    assert len(set(named)) == len(named)
    assert not set(named) & set(load_ingredients())


def test_rows_are_in_known_words() -> None:
    for row in rows("pantry_allergens_named"):
        always, read_pack = allergens_of(row["ingredient"])
        assert set(always) | set(read_pack) <= set(WORDS), row
        assert not set(always) & set(read_pack), row
        assert "wheat" not in always or "gluten cereals" in always, row


@pytest.mark.parametrize(
    ("printed", "always"),
    [("browned butter", {"milk"}), ("lime curd", {"egg"}), ("royal icing", {"egg"}), ("oyster sauce", {"molluscs"}),
     ("crab sticks", {"fish"}), ("amaretto", {"tree nuts"}), ("farro", {"wheat", "gluten cereals"})],
)  # fmt: skip
def test_always(printed: str, always: set[str]) -> None:
    assert always <= set(allergens_of(match(printed).ingredient or "")[0])


def test_a_name_without_a_row_is_not_taken_for_clear() -> None:
    assert not has_allergen_row("gum base")
    assert allergens_of("gum base") == ((), ())
