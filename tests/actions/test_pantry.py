"""Find, show and import as the counter gets them."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from batchwright.actions.pantry import find_ingredients, import_ingredients, ingredients_toml, show_ingredient
from batchwright.base.errors import InputError
from batchwright.original.labels.file import label_from_text
from tests.pantry.test_import_fdc import folder


def test_find() -> None:
    found = find_ingredients("brown sugar")
    assert found.match.ingredient == found.ingredients[0].name == "brown sugar"
    assert {"palm oil", "palm stearin"} <= {one.name for one in find_ingredients("palm").ingredients}


def test_find_nothing() -> None:
    assert find_ingredients("zzyzzq").ingredients == ()
    for text in ("", " ", "x" * 81):
        with pytest.raises(InputError, match="TEXT"):
            find_ingredients(text)


def test_show() -> None:
    document = show_ingredient("baking soda").to_json()
    assert document["name"] == "sodium bicarbonate"
    figures = document["per_100_g"]["sodium_mg"]
    assert figures["low"] < 27360 < figures["high"]  # 27.4 % sodium, handbooks of chemistry
    flour = show_ingredient("wheat flour").to_json()
    assert "gluten cereals" in flour["allergens"]
    assert len({each["convention"] for each in flour["measures"] if each["measure"] == "cup"}) >= 4


def test_show_what_is_not_there() -> None:
    with pytest.raises(InputError) as caught:
        show_ingredient("zzyzzq")
    assert caught.value.faults[0].field == "NAME"


def test_import_gives_tables_a_label_file_reads(tmp_path: Path) -> None:
    brought = import_ingredients(str(folder(tmp_path)), "plumewheat")
    tables = ingredients_toml(brought)
    assert tomllib.loads(tables)["ingredients"]["flour, plumewheat, milled"]["protein_g"] == 12.5
    label = label_from_text('[label]\ntext = "flour, plumewheat, milled"\n' + tables)
    assert label.own["flour, plumewheat, milled"]["fat_g"] == 1.5


def test_import_what_is_no_download(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"food_nutrient\.csv"):
        import_ingredients(str(tmp_path))
    with pytest.raises(InputError, match="--most"):
        import_ingredients(str(folder(tmp_path)), most=0)
    with pytest.raises(InputError, match="--find"):
        import_ingredients(str(tmp_path), "granite")
