"""Formulas whose source prints baker's percent or composition, and processes whose outcome is published.

Printed and left out: iron of the first two (their flour is enriched, "flour" alone is not taken as such), sodium of the
peanut butter cookies (110 mg, ours 86: whether the peanut butter is salted is not said), and of the sweet potato
cookies the energy (283 kcal, which its own fat, protein and carbohydrate deny), the fibre (0.40 g, ours 0.52) and the
cholesterol (9 mg, ours 7.4).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import PLACE, contents_of
from batchwright.formula.formula import bakers_percent
from batchwright.formula.processes import changed, figures_of
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula, Line, Part
from tests.published.conftest import Check


def rows(name: str) -> list[dict[str, str]]:
    with Path(__file__).with_name(f"formula_{name}.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


RECIPES = rows("recipes")


@pytest.mark.parametrize("row", rows("composition"), ids=lambda row: f"{row['recipe']} {row['nutrient']}")
def test_composition_of_a_portion(row: dict[str, str], published: Check) -> None:
    lines = [each for each in RECIPES if each["recipe"] == row["recipe"]]
    written = [(line["grams_or_line"], line["item"]) for line in lines]
    text = "\n".join(f"{amount} g {item}" if item else amount for amount, item in written)
    whole = composition_of(formula_from_text(text)).whole
    portion_g = whole.mixed_g.likely / int(lines[0]["portions"])
    ours = whole.mixed[row["nutrient"]].likely * portion_g / 100
    what = f"{row['recipe']}: {row['nutrient']}"
    published(what, ours, float(row["printed"]), float(row["tolerance"]), row["source"])


def exactly(mass_g: float) -> Estimate:
    return Estimate(mass_g, mass_g, mass_g, unit="g")


@pytest.mark.parametrize("row", rows("bakers"), ids=lambda row: f"{row['formula']} {row['item']}")
def test_bakers_percent(row: dict[str, str], published: Check) -> None:
    mine = [each for each in rows("bakers") if each["formula"] == row["formula"]]
    lines = [Line(each["item"], each["item"], exactly(float(each["grams"]))) for each in mine]
    table = bakers_percent(Formula(row["formula"], (Part("", tuple(lines)),)))
    found = next(each.bakers_percent for each in table if each.line.item == row["item"])
    assert found is not None
    published(f"{row['formula']}: {row['item']}", found.likely, float(row["printed_percent"]), float(row["tolerance"]),
              row["source"])  # fmt: skip


def clarified_butter_g() -> float:
    """Return the fat that 100 g of butter leaves when it is browned and strained."""
    contents = contents_of("butter")
    line = Line("butter", "butter", Estimate(100, 100, 100), process="browned")
    likely = {name: each[1] for name, each in figures_of(line, contents).items()}
    return 100 * float(changed("browned", contents.likely, likely).contents[PLACE["fat_g"]])


def evaporated_milk(key: str) -> float:
    """Return what 100 g hold of milk that has lost 60 % of its water."""
    contents = contents_of("milk, whole").likely
    kept = 1 - 0.6 * contents[PLACE["water_g"]]
    after = changed("reduced", contents, {"mass_kept_fraction": float(kept)})
    return 100 * float(after.contents[PLACE[key]]) / after.mixed_g


@pytest.mark.parametrize("row", rows("processes"), ids=lambda row: row["what"])
def test_processes(row: dict[str, str], published: Check) -> None:
    keys = {"water": "water_g", "protein": "protein_g", "fat": "fat_g", "sugars": "sugars_g"}
    what = row["what"]
    clarified = what.startswith("clarified")
    ours = clarified_butter_g() if clarified else evaporated_milk(keys[what.split(": ")[1].split()[0]])
    published(what, ours, float(row["printed"]), float(row["tolerance"]), row["source"])
