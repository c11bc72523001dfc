"""Compounds from their formulas against values printed elsewhere."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from batchwright.pantry.compounds import compounds, crystal_water_fraction, mineral_fraction, molar_mass
from tests.published.conftest import Check

with Path(__file__).with_name("pantry_compounds.csv").open(encoding="utf-8", newline="") as _handle:
    ROWS = list(csv.DictReader(_handle))


def ours(what: str, name: str) -> float:
    if what == "molar_mass":
        return molar_mass(name)
    if what == "percent_sodium":
        return 100 * mineral_fraction(name, "Na")
    if what == "percent_water":
        return 100 * crystal_water_fraction(name)
    return compounds()[name][what]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['what']} {row['name']}")
def test_printed(row: dict[str, str], published: Check) -> None:
    found = ours(row["what"], row["name"])
    published(f"{row['name']}: {row['what']}", found, float(row["printed"]), float(row["tolerance"]), row["source"])
