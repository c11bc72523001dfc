"""Reading a FoodData Central download: a made-up folder in its format, and what can be wrong with one."""

from __future__ import annotations

from pathlib import Path

import pytest

from batchwright.base.errors import InputError
from batchwright.pantry.import_fdc import ingredients_from_fdc

FOOD = """"fdc_id","data_type","description","food_category_id","publication_date"
"1","foundation_food","Flour, plumewheat,  milled","20","2024-04-01"
"2","sr_legacy_food","Jam, moonberry","19","2018-04-01"
"3","sub_sample_food","Flour, plumewheat, sample","20","2024-04-01"
"4","branded_food","Moonberry bar","","2024-04-01"
"""
NUTRIENT = """"id","name","unit_name","nutrient_nbr","rank"
"1003","Protein","G","203","600.0"
"1004","Total lipid (fat)","G","204","800.0"
"1005","Carbohydrate, by difference","G","205","1110.0"
"1008","Energy","KCAL","208","300.0"
"1062","Energy","kJ","268","400.0"
"2047","Energy (Atwater General Factors)","KCAL","957","280.0"
"1051","Water","G","255","100.0"
"1093","Sodium, Na","MG","307","5800.0"
"1089","Iron, Fe","UG","303.0","5400.0"
"1079","Fiber, total dietary","G","291","1200.0"
"""
FOOD_NUTRIENT = """"id","fdc_id","nutrient_id","amount","data_points"
"10","1","1003","12.5","3"
"11","1","1004","1.5",""
"12","1","1005","70","3"
"13","1","2047","343.5",""
"14","1","1062","1437",""
"15","1","1093","3","3"
"16","1","1089","1200","3"
"17","1","1079","","3"
"18","2","1008","250",""
"19","2","203","0.4",""
"20","3","1003","99",""
"21","4","1003","5",""
"""


def folder(path: Path, **changes: str) -> Path:
    files = {"food": FOOD, "nutrient": NUTRIENT, "food_nutrient": FOOD_NUTRIENT} | changes
    for name, text in files.items():
        (path / f"{name}.csv").write_text(text, encoding="utf-8-sig")
    (path / "food_category.csv").write_text('"id","code","description"\n"20","2000","Cereal Grains and Pasta"\n')
    return path


def test_amounts_units_and_category(tmp_path: Path) -> None:
    flour, jam, bar = ingredients_from_fdc(folder(tmp_path))
    assert flour.name == "Flour, plumewheat, milled"
    assert flour.ingredient_class == "cereal grains and pasta"
    assert flour.composition == pytest.approx(
        {"energy_kcal": 343.5, "protein_g": 12.5, "fat_g": 1.5, "carbohydrate_g": 70, "sodium_mg": 3, "iron_mg": 1.2}
    )
    assert flour.locator == "FDC ID 1"
    assert jam.composition == {"energy_kcal": 250.0, "protein_g": 0.4}  # the survey gives numbers as ids
    assert bar.ingredient_class == "imported"


def test_words_and_most(tmp_path: Path) -> None:
    given = folder(tmp_path)
    assert [one.name for one in ingredients_from_fdc(given, "MOONBERRY jam")] == ["Jam, moonberry"]
    assert len(ingredients_from_fdc(given, "", most=1)) == 1
    assert ingredients_from_fdc(given, "granite") == ()


def test_allergens_are_left_to_the_pack(tmp_path: Path) -> None:
    assert all("read the pack" in one.notes[0] for one in ingredients_from_fdc(folder(tmp_path)))


def test_missing_files_are_told_together(tmp_path: Path) -> None:
    (tmp_path / "food.csv").write_text(FOOD)
    with pytest.raises(InputError) as caught:
        ingredients_from_fdc(tmp_path)
    assert len(caught.value.faults) == 2


def test_missing_column(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a column description"):
        ingredients_from_fdc(folder(tmp_path, food="fdc_id,data_type\n1,foundation_food\n"))


@pytest.mark.parametrize("amount", ["twelve", "-3", "nan", "inf"])
def test_amounts_that_are_none(tmp_path: Path, amount: str) -> None:
    with pytest.raises(InputError, match="line 2"):
        ingredients_from_fdc(folder(tmp_path, food_nutrient=f"fdc_id,nutrient_id,amount\n1,1003,{amount}\n"))


def test_not_text(tmp_path: Path) -> None:
    given = folder(tmp_path)
    (given / "food_nutrient.csv").write_bytes(b"fdc_id,nutrient_id,amount\n1,\xff\xfe\xfd,3\n")
    with pytest.raises(InputError, match="UTF-8"):
        ingredients_from_fdc(given)


def test_short_and_empty_rows(tmp_path: Path) -> None:
    given = folder(tmp_path, food_nutrient="fdc_id,nutrient_id,amount\n1\n\n1,1003,5\n")
    assert ingredients_from_fdc(given, "plumewheat")[0].composition == {"protein_g": 5.0}
