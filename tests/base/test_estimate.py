"""An estimate keeps its five numbers through JSON and through a change of unit."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.base.estimate import Estimate

FIGURES = st.floats(-1e6, 1e6)


@given(FIGURES, FIGURES, FIGURES, st.none() | FIGURES, st.none() | FIGURES, st.text(max_size=5))
def test_round_trip(likely: float, low: float, high: float, sure_low: float | None, sure_high: float | None, unit: str
                    ) -> None:  # fmt: skip
    estimate = Estimate(likely, low, high, sure_low, sure_high, unit, "", ("a_source",), ("a note",))
    assert Estimate.from_json(json.loads(json.dumps(estimate.to_json()))) == estimate


def test_five_numbers_are_always_there() -> None:
    assert list(Estimate(1, 0, 2).to_json()) == ["likely", "low", "high", "sure_low", "sure_high"]


def test_scaled() -> None:
    assert Estimate(2, 1, 3, None, 4).scaled(10, "g") == Estimate(20, 10, 30, None, 40, "g")
    with pytest.raises(ValueError, match="above 0"):
        Estimate(2, 1, 3).scaled(0, "g")
