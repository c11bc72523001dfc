"""Foods and the allergens that the laws name in them: each as a recipe line gives all of them, or is named as open."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from batchwright.formula.lines.line import read_line
from batchwright.formula.records import Formula, Part
from batchwright.formula.weighing.weigh import weigh_line
from batchwright.pantry.allergens import WORDS
from batchwright.writeup.allergen_line import allergen_line
from batchwright.writeup.records import AllergenLine

TABLE = Path(__file__).with_name("allergens_of_foods.csv")
FOODS = list(csv.DictReader(TABLE.open(encoding="utf-8", newline="")))
MOST_OPEN_FRACTION = 0.12  # foods too vague to be matched by name: "nut liqueurs", "mixed savory seed topping"


def warned(text: str) -> AllergenLine:
    return allergen_line(Formula("", (Part("", (weigh_line(read_line(text)),)),)))


def words(cell: str) -> set[str]:
    return {word for word in cell.split("; ") if word}


@pytest.mark.parametrize("row", FOODS, ids=lambda row: row["food"])
@pytest.mark.parametrize("line", ["1 cup {}", "50 g {}, sifted", "{}, to taste"])
def test_no_allergen_is_silent(row: dict[str, str], line: str) -> None:
    text = line.format(row["food"])
    found = warned(text)
    always = {one.allergen for one in (*found.us, *found.eu)}
    packs = {one.allergen for one in found.read_pack}
    missed = words(row["always"]) - always | words(row["read_pack"]) - always - packs
    assert not missed or any(row["food"] in one.text for one in found.open_lines), f"silent on {missed}"
    if found.open_lines:
        assert found.text().startswith("Not complete:")


def test_few_foods_are_left_open() -> None:
    left = [row["food"] for row in FOODS if not warned(f"1 cup {row['food']}").complete]
    assert len(left) <= MOST_OPEN_FRACTION * len(FOODS), left


def test_all_at_once() -> None:
    lines = tuple(weigh_line(read_line(f"1 cup {row['food']}")) for row in FOODS)
    found = allergen_line(Formula("", (Part("", lines),)))
    assert {one.allergen for one in (*found.us, *found.eu)} | {one.allergen for one in found.read_pack} == set(WORDS)


def test_table() -> None:
    assert len({row["food"] for row in FOODS}) == len(FOODS)
    for row in FOODS:
        assert words(row["always"]) | words(row["read_pack"]) <= set(WORDS), row
        assert row["source"], row
