"""Where ingredients are sold and what they come of: the table held to the shelf and to the allergens."""

from __future__ import annotations

import pytest

from batchwright.base.tables import rows
from batchwright.pantry.ingredient import classes, load_ingredients
from batchwright.pantry.supply import ORIGINS, SOLD, supply_of

OF_ANIMALS = {"milk", "egg", "fish", "crustacean shellfish", "molluscs"}


def test_every_class_has_a_row_and_every_row_names_something() -> None:
    shelf = load_ingredients()
    by_class = {row["what"] for row in rows("pantry_supply") if row["kind"] == "class"}
    assert by_class == set(classes())
    assert all(row["what"] in shelf for row in rows("pantry_supply") if row["kind"] == "ingredient")
    for row in rows("pantry_supply"):
        assert row["sold"] in SOLD
        assert {row["animal"], row["palm"]} <= set(ORIGINS)


@pytest.mark.parametrize("item", load_ingredients().values(), ids=lambda item: item.name)
def test_what_always_holds_milk_egg_or_fish_is_of_animals(item) -> None:  # type: ignore[no-untyped-def]
    supply = supply_of(item.name, item.ingredient_class)
    if OF_ANIMALS & set(item.allergens):
        assert supply.animal == "yes"
    if item.ingredient_class == "meat" or item.name in ("gelatin", "fish gelatin", "honey", "lard", "carmine"):
        assert supply.animal == "yes"
    if item.name.startswith("palm ") or "palm kernel" in item.name:
        assert supply.palm == "yes"


@pytest.mark.parametrize(
    ("name", "kind", "sold"),
    [("wheat flour", "flour", "supermarket"), ("glucose syrup", "syrup", "specialist"),
     ("butter", "butter", "supermarket"),
     ("palm kernel stearin", "fat", "trade"), ("sodium bicarbonate", "leavening", "supermarket"),
     ("nobody knows this", "", "trade")],
)  # fmt: skip
def test_sold(name: str, kind: str, sold: str) -> None:
    assert supply_of(name, kind).sold == sold
