"""Relative sweetness: figures as printed, ranges over all sources."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.science.sweetness import knows_sweetness, relative_sweetness


def test_table_sugar_is_one() -> None:
    assert relative_sweetness("sucrose").likely == 1.0


def test_milk_sugar_is_dull_and_fruit_sugar_sweet() -> None:
    assert relative_sweetness("lactose").high <= 0.4
    assert relative_sweetness("fructose").low >= 1.5
    assert relative_sweetness("maltose").likely < relative_sweetness("glucose").likely < 1.0


def test_the_range_spans_the_sources() -> None:
    glucose = relative_sweetness("glucose")
    assert (glucose.low, glucose.likely, glucose.high) == (0.5, 0.75, 0.8)
    assert len(glucose.sources) == 3


def test_unknown_is_said() -> None:
    assert not knows_sweetness("gravel")
    with pytest.raises(InputError, match="gravel"):
        relative_sweetness("gravel")
