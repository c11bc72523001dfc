"""Printed figure to interval, against check values worked out by hand from the rules (93 of them)."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from batchwright.original.panels.checks import energy_by_factors
from batchwright.original.panels.reading import narrowed_by_percent
from batchwright.original.panels.rounding import printed_interval
from tests.published.conftest import Check

with Path(__file__).with_name("panel_inverse.csv").open(encoding="utf-8", newline="") as _handle:
    ROWS = list(csv.DictReader(_handle))


def name_of(row: dict[str, str]) -> str:
    percent = f" {row['percent_dv']}%" if row["percent_dv"] else ""
    return f"{row['scheme']} {row['nutrient']} {row['printed']}{percent} {row['mode']}"


def test_all_are_there() -> None:
    assert len(ROWS) == 93


@pytest.mark.parametrize("row", ROWS, ids=name_of)
def test_interval(row: dict[str, str], published: Check) -> None:
    interval = printed_interval(row["scheme"], row["nutrient"], row["printed"], row["mode"])
    verdict = "ok"
    if row["percent_dv"]:
        number = Decimal(row["printed"])
        interval, verdict = narrowed_by_percent(row["nutrient"], interval, number, float(row["percent_dv"]), "2016")
    if row["status"] == "off the grid":
        assert not interval.lawful
        assert interval.note
        return
    assert interval.lawful
    assert verdict == row["status"]
    tolerance = max(float(row["tolerance"]), 1e-9)
    published(f"{name_of(row)}: low", interval.low, float(row["low"]), tolerance, row["source"])
    published(f"{name_of(row)}: high", interval.high, float(row["high"]), tolerance, row["source"])
    assert interval.low_closed == (row["low_closed"] == "1")
    assert interval.high_closed == (row["high_closed"] == "1")


with Path(__file__).with_name("panel_energy.csv").open(encoding="utf-8", newline="") as _handle:
    ENERGIES = list(csv.DictReader(_handle))


@pytest.mark.parametrize("row", ENERGIES, ids=lambda row: f"fat {row['fat_g']} {row['unit']}")
def test_energy_by_factors(row: dict[str, str], published: Check) -> None:
    amounts = [float(row[key]) for key in ("fat_g", "carbohydrate_g", "protein_g", "fiber_g", "polyols_g")]
    ours = energy_by_factors(*amounts)[0 if row["unit"] == "kcal" else 1]
    published(f"energy of fat {row['fat_g']} g ...", ours, float(row["energy"]), float(row["tolerance"]), row["source"])
