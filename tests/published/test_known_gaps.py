"""What no outside value checks is written down, and still exists."""

from __future__ import annotations

import csv
import importlib.util
from pathlib import Path


def test_gaps_name_models_that_exist_and_what_stands_in() -> None:
    with Path(__file__).with_name("known_gaps.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    assert rows
    for row in rows:
        assert importlib.util.find_spec(row["model"]) is not None, row["model"]
        assert row["what_is_missing"].strip()
        assert row["what_stands_in"].strip()
