"""Ingredients out of the USDA FoodData Central download: the folder of CSV files as it is unzipped."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from batchwright.base.errors import Fault, InputError
from batchwright.pantry.records import Ingredient

# Nutrient numbers of the download's nutrient.csv (column nutrient_nbr); where two stand for one, the first wins.
NUMBERS: Mapping[str, tuple[str, ...]] = {
    "energy_kcal": ("208", "958", "957"), "protein_g": ("203",), "fat_g": ("204", "298"),
    "carbohydrate_g": ("205", "205.2"),
    "fiber_g": ("291", "293"), "sugars_g": ("269", "269.3"), "added_sugars_g": ("539",), "saturated_fat_g": ("606",),
    "trans_fat_g": ("605",), "mono_fat_g": ("645",), "poly_fat_g": ("646",), "cholesterol_mg": ("601",),
    "sodium_mg": ("307",), "calcium_mg": ("301",), "iron_mg": ("303",), "potassium_mg": ("306",), "water_g": ("255",),
    "ash_g": ("207",), "alcohol_g": ("221",), "caffeine_mg": ("262",), "starch_g": ("209",), "sucrose_g": ("210",),
    "glucose_g": ("211",), "fructose_g": ("212",), "lactose_g": ("213",), "maltose_g": ("214",),
    "galactose_g": ("287",),
}  # fmt: skip
GRAMS_IN = {"G": 1.0, "MG": 1e-3, "UG": 1e-6}
FOODS = frozenset({"foundation_food", "sr_legacy_food", "survey_fndds_food", "branded_food", "experimental_food"})
NEEDED = {"food.csv": ("fdc_id", "description"), "nutrient.csv": ("id", "unit_name", "nutrient_nbr"),
          "food_nutrient.csv": ("fdc_id", "nutrient_id", "amount")}  # fmt: skip
MOST_FAULTS = 20


def ingredients_from_fdc(folder: Path, words: str = "", most: int = 200) -> tuple[Ingredient, ...]:
    """Return foods of a FoodData Central download as ingredients, composition per 100 g.

    folder: where food.csv, nutrient.csv, food_nutrient.csv (and, if there, food_category.csv) lie; words: all of them
    must stand in the food's description, regardless of case, none takes every food; most: how many to take at most, in
    the order of food.csv. Samples and laboratory rows of the download are passed over. A nutrient that a food lacks
    stays absent. Raises InputError with every fault: a file or column that is missing, an amount that is no number or
    below 0.
    """
    faults = [fault for name, columns in NEEDED.items() for fault in _missing(folder, name, columns)]
    if faults:
        raise InputError(faults)
    foods = _foods(folder, words.lower().split(), most)
    amounts = _amounts(folder, foods.keys(), _nutrients(folder))
    categories = _categories(folder)
    found = []
    for number, (description, category) in foods.items():
        given = amounts.get(number, {})
        composition = {
            key: next(given[each] for each in numbers if each in given)
            for key, numbers in NUMBERS.items()
            if any(each in given for each in numbers)
        }
        kind = categories.get(category, "imported").lower()
        found.append(Ingredient(description, kind, composition, source="usda_fdc", locator=f"FDC ID {number}",
                                basis="measured", notes=("allergens: read the pack",)))  # fmt: skip
    return tuple(found)


def _missing(folder: Path, name: str, columns: tuple[str, ...]) -> list[Fault]:
    """Return what is wrong with one file's place and header."""
    hint = "Unzip the CSV download and name its folder."
    if not (folder / name).is_file():
        return [Fault("PATH", str(folder), f"a folder that holds {name}", hint)]
    with _lines(folder / name) as reader:
        header = reader.fieldnames or ()
    return [Fault(name, ", ".join(header), f"a column {column}", hint) for column in columns if column not in header]


@contextmanager
def _lines(path: Path) -> Iterator[csv.DictReader[str]]:
    """Open a table of the download; a file that is no text or has a cell past all measure is a fault."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as handle:
            yield csv.DictReader(handle)
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError([Fault(path.name, str(error), "a CSV file in UTF-8", "Download it again.")]) from error


def _foods(folder: Path, words: list[str], most: int) -> dict[str, tuple[str, str]]:
    """Return the number of each food asked for, with its description and its category's number."""
    found: dict[str, tuple[str, str]] = {}
    with _lines(folder / "food.csv") as lines:
        for row in lines:
            if len(found) >= most:
                break
            description = " ".join((row["description"] or "").split())
            low = description.lower()
            if description and row.get("data_type", "foundation_food") in FOODS and all(word in low for word in words):
                found[row["fdc_id"]] = (description, row.get("food_category_id") or "")
    return found


def _nutrients(folder: Path) -> dict[str, tuple[str, float]]:
    """Return what a nutrient_id stands for: nutrient number and the factor to grams (1 for energy in kcal).

    The survey's files give the nutrient number where the others give the id; both are read.
    """
    by_id: dict[str, tuple[str, float]] = {}
    by_number: dict[str, tuple[str, float]] = {}
    wanted = {number for numbers in NUMBERS.values() for number in numbers}
    with _lines(folder / "nutrient.csv") as lines:
        for row in lines:
            number = (row["nutrient_nbr"] or "").strip().removesuffix(".0")
            unit = (row["unit_name"] or "").strip().upper()
            factor = 1.0 if unit == "KCAL" else GRAMS_IN.get(unit)
            if number in wanted and factor is not None:
                by_id[row["id"]] = by_number[number] = (number, factor)
    return {**by_number, **by_id}


def _amounts(
    folder: Path, foods: Collection[str], nutrients: Mapping[str, tuple[str, float]]
) -> dict[str, dict[str, float]]:
    """Return the amounts per 100 g by food and nutrient number, in the unit of the key the number stands for."""
    milligrams = {number for key, numbers in NUMBERS.items() if key.endswith("_mg") for number in numbers}
    found: dict[str, dict[str, float]] = {}
    faults: list[Fault] = []
    with _lines(folder / "food_nutrient.csv") as lines:
        for row in lines:
            stands_for = nutrients.get(row["nutrient_id"] or "")
            if row["fdc_id"] not in foods or stands_for is None or not (row["amount"] or "").strip():
                continue
            amount = _amount(row["amount"])
            if amount is None:
                faults.append(Fault(f"food_nutrient.csv line {lines.line_num}: amount", row["amount"],
                                    "a number, 0 or more"))  # fmt: skip
                if len(faults) >= MOST_FAULTS:
                    break
                continue
            number, factor = stands_for
            scale = 1000.0 if number in milligrams else 1.0
            found.setdefault(row["fdc_id"], {})[number] = amount * factor * scale
    if faults:
        raise InputError(faults)
    return found


def _amount(cell: str) -> float | None:
    """Return the amount in a cell, None where it is no number of 0 or more."""
    try:
        amount = float(cell)
    except ValueError:
        return None
    return amount if 0.0 <= amount < float("inf") else None


def _categories(folder: Path) -> dict[str, str]:
    """Return the names of the food categories, none where the download holds no such file."""
    path = folder / "food_category.csv"
    if not path.is_file():
        return {}
    with _lines(path) as lines:
        return {row.get("id") or "": row.get("description") or "imported" for row in lines}
