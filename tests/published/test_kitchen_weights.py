"""Cups, spoons, pieces and eggs against the tables that print them: the printed weight lies in our range."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from batchwright.formula.lines.line import read_line
from batchwright.formula.weighing.weigh import weigh_line
from batchwright.pantry.measures_counts import piece_of
from batchwright.pantry.measures_units import unit_of
from tests.published.conftest import Check

HERE = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@pytest.mark.parametrize("row", rows("kitchen_units"), ids=lambda row: f"{row['unit']} {row['place']}")
def test_units(row: dict[str, str], published: Check) -> None:
    found = unit_of(row["unit"], row["place"])
    assert found is not None
    assert found.volume_ml is not None
    source = f"{row['source']}, {row['locator']}"
    published(
        f"{row['unit']} {row['place']} ml",
        found.volume_ml,
        float(row["printed_ml"]),
        float(row["tolerance_ml"]),
        source,
    )


@pytest.mark.parametrize("row", rows("kitchen_weights"), ids=lambda row: f"{row['line']} {row['source']}")
def test_the_printed_weight_lies_in_the_range(row: dict[str, str], published: Check) -> None:
    grams = weigh_line(read_line(row["line"])).grams
    assert grams is not None
    printed = float(row["printed_g"])
    nearest = min(max(printed, grams.low), grams.high)
    source = f"{row['source']}, {row['locator']}"
    published(f"{row['line']} g, nearest of ours", nearest, printed, printed * float(row["tolerance_fraction"]), source)


@pytest.mark.parametrize(("size", "least_g", "most_g"), [("medium", 53, 63), ("large", 63, 73)])
def test_uk_and_eu_egg_classes(size: str, least_g: int, most_g: int, published: Check) -> None:
    """Weight in the shell of Regulation (EU) 2023/2465, less 12 % shell: the middle of the class."""
    egg = piece_of(["egg"], "whole egg", "egg", "", size, "UK")
    assert egg is not None
    middle_g = 0.88 * (least_g + most_g) / 2.0
    published(f"UK {size} egg without shell g", egg.likely_g, middle_g, 1.0, "eu_2023_2465, weight classes")
    assert egg.low_g <= 0.88 * least_g + 0.5
    assert egg.high_g >= 0.88 * most_g - 0.5
