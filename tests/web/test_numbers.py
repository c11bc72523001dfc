"""Numbers as hands type them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.web.numbers import number_typed


@pytest.mark.parametrize(
    ("text", "value"),
    [("120", 120.0), ("1,5", 1.5), ("2.25", 2.25), ("1/2", 0.5), ("1 1/2", 1.5), ("1½", 1.5), ("¾", 0.75),
     (" 12 g ", 12.0), ("20 %", 20.0), ("0", 0.0)],
)  # fmt: skip
def test_read(text: str, value: float) -> None:
    assert number_typed(text) == value


@pytest.mark.parametrize("text", ["", "abc", "-3", "1/0", "1e9", "nan", "inf", "1,2,3", "½½½"])
def test_refused(text: str) -> None:
    assert number_typed(text) is None


@given(st.text(max_size=40))
def test_any_text_is_a_number_or_none(text: str) -> None:
    value = number_typed(text)
    assert value is None or 0 <= value < 1e10
