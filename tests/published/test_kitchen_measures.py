"""Printed volumes and weights of household measures come out as the measure they were printed for."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from batchwright.base.estimate import Estimate
from batchwright.formula.kitchen.grid import TSP_PER, volume_amounts
from batchwright.formula.kitchen.measures import write_measures
from batchwright.formula.lines.line import read_line
from batchwright.formula.records import Formula, Line, Part
from batchwright.formula.weighing.weigh import weigh_line
from batchwright.pantry.measures_units import unit_of
from batchwright.pantry.shelf import match
from tests.published.conftest import Check


def rows(name: str) -> list[dict[str, str]]:
    with Path(__file__).with_name(f"kitchen_{name}.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@pytest.mark.parametrize("row", rows("volumes"), ids=lambda row: row["measured"])
def test_volumes(row: dict[str, str], published: Check) -> None:
    read = read_line(f"{row['measured']} water")
    line = weigh_line(read, "spooned")
    assert write_measures(Formula("", (Part("", (line,)),)), rescale_percent=0).lines[0].text == row["written"]
    size = next(one.size for one in volume_amounts() if one.text == row["written"])
    teaspoon = unit_of("teaspoon")
    assert teaspoon is not None
    assert teaspoon.volume_ml is not None
    assert sum(Fraction(each.low) * TSP_PER[each.unit] for each in read.amounts) == size
    published(row["measured"], float(size) * teaspoon.volume_ml, float(row["printed_ml"]), float(row["tolerance_ml"]),
              row["source"])  # fmt: skip


@pytest.mark.parametrize("row", rows("writings"), ids=lambda row: f"{row['grams']} g {row['item']}")
def test_writings(row: dict[str, str], published: Check) -> None:
    grams = float(row["grams"])
    line = Line("", row["item"], Estimate(grams, grams, grams, unit="g"), match(row["item"]).ingredient, "name")
    written = write_measures(Formula("", (Part("", (line,)),)), row["convention"], 0.0).lines[0]
    assert written.text == row["written"]
    assert written.grams is not None
    published(f"{row['written']} {row['item']}", written.grams, grams, 0.02 * grams, row["source"])
