"""Printing and its inverse undo one another, for every nutrient of both schemes."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.original.panels.rounding import bands, nutrient_rows, print_amount, printed_interval

RULED = [(scheme, key) for scheme in ("US", "EU") for key in nutrient_rows() if bands(scheme, key)]
amounts = st.one_of(
    st.floats(0, 3000, allow_nan=False),
    st.integers(0, 60000).map(lambda n: n / 20),
    st.integers(0, 4000).map(lambda n: n / 400),
)


@given(st.sampled_from(RULED), amounts)
def test_an_amount_lies_in_the_interval_of_its_print(rule: tuple[str, str], amount: float) -> None:
    printed = print_amount(*rule, amount)
    for mode in ("guide", "permissive"):
        interval = printed_interval(*rule, printed, mode)
        assert interval.lawful
        assert interval.holds(amount), (printed, interval)


@given(st.sampled_from(RULED), amounts, st.floats(0, 1))
def test_all_of_the_guides_interval_prints_the_same(rule: tuple[str, str], amount: float, place: float) -> None:
    printed = print_amount(*rule, amount)
    interval = printed_interval(*rule, printed, "guide")
    inside = interval.low + place * (interval.high - interval.low)
    if interval.holds(inside):
        assert Decimal(print_amount(*rule, inside).lstrip("<")) == Decimal(printed.lstrip("<"))


@given(st.sampled_from(RULED), amounts)
def test_the_ends_print_something_else_where_open(rule: tuple[str, str], amount: float) -> None:
    printed = print_amount(*rule, amount)
    interval = printed_interval(*rule, printed, "guide")
    if not interval.high_closed and printed not in ("0", "<0.5", "<0.1", "<0.01"):
        assert print_amount(*rule, interval.high) != printed
    below = math.nextafter(interval.low, -1)
    if below > 0 and interval.low_closed:
        assert print_amount(*rule, below) != printed


@given(st.sampled_from(RULED), st.integers(0, 4000).map(lambda n: str(Decimal(n) / 20)))
def test_permissive_is_never_narrower(rule: tuple[str, str], printed: str) -> None:
    guide, permissive = (printed_interval(*rule, printed, mode) for mode in ("guide", "permissive"))
    if guide.lawful:
        assert permissive.low <= guide.low
        assert permissive.high >= guide.high
    assert permissive.low <= float(printed) <= permissive.high


@pytest.mark.parametrize(
    ("scheme", "nutrient", "printed"),
    [
        ("FR", "fat_g", "5"),
        ("US", "ash_g", "5"),
        ("US", "fat_g", "-5"),
        ("US", "fat_g", "1e9999999"),
        ("US", "fat_g", ""),
        ("US", "fat_g", "five"),
        ("US", "fat_g", "9" * 400),
    ],
)
def test_what_cannot_be_read_is_refused(scheme: str, nutrient: str, printed: str) -> None:
    with pytest.raises(InputError) as caught:
        printed_interval(scheme, nutrient, printed)
    assert caught.value.faults[0].allowed


@pytest.mark.parametrize("amount", [-1.0, math.nan, math.inf])
def test_no_such_amount_is_printed(amount: float) -> None:
    with pytest.raises(InputError):
        print_amount("US", "fat_g", amount)
