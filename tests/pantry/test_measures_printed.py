"""Ranges that end at the round weights of recipes: round, in order, near the food's own ends, every named cup held."""

from __future__ import annotations

from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.base.tables import rows
from batchwright.pantry.measures_conventions import FLOUR, cup_weights
from batchwright.pantry.measures_fills import fill_of
from batchwright.pantry.measures_printed import FURTHEST, LEAST_G, NEAREST, printed_range

OUNCE_G = 28.35


def is_round(grams: float) -> bool:
    """Whether a cook would write it: whole grams and half grams below 10 g, or quarters of an ounce."""
    return any(abs(grams / step - round(grams / step)) < 1e-3 for step in (1.0, 0.5, OUNCE_G / 4.0))


@pytest.mark.parametrize(("own", "low_g", "high_g"), [
    ((62.0, 73.0, 84.0), 60, 85),  # half a cup of raisins: tens and three ounces
    ((339.0, 393.0, 484.0), 340, 500),  # three cups of flour: three quarters of a pound and half a kilogram
    ((27.0, 32.8, 41.0), 28.35, 40),  # a quarter cup of flour: an ounce
])  # fmt: skip
def test_an_end_goes_to_a_round_weight(own: tuple[float, float, float], low_g: float, high_g: float) -> None:
    low, high = printed_range(*own)
    assert low == pytest.approx(low_g, abs=0.1)
    assert high == pytest.approx(high_g, abs=0.1)


@given(st.floats(3.0, 3000.0), st.floats(0.04, 0.5), st.floats(0.04, 0.5))
def test_ends_are_round_or_the_foods_own_and_near_them(likely_g: float, down: float, up: float) -> None:
    own_low, own_high = likely_g * 2.718281828**-down, likely_g * 2.718281828**up
    low, high = printed_range(own_low, likely_g, own_high)
    for end, own in ((low, own_low), (high, own_high)):
        share = log(end / likely_g) / log(own / likely_g)
        assert NEAREST - 1e-6 <= share <= FURTHEST + 1e-6
        assert end == own or is_round(end)


def test_a_spoon_too_small_to_weigh_keeps_its_own_range() -> None:
    assert printed_range(1.0, 1.3, 1.6) == (1.0, 1.6)
    assert LEAST_G > 1.3


def test_what_is_known_exactly_stays_so() -> None:
    assert printed_range(113.0, 113.0, 113.0) == (113.0, 113.0)


@pytest.mark.parametrize("cups", [0.5, 1.0, 2.0, 3.0])
def test_the_ways_to_fill_a_cup_of_flour_stay_inside(cups: float) -> None:
    per_cup = fill_of(FLOUR.split(), FLOUR, "flour")
    own = (per_cup.low_g_cup, per_cup.likely_g_cup, per_cup.high_g_cup)
    low, high = printed_range(cups * own[0], cups * own[1], cups * own[2])
    held = [way for way, grams in cup_weights(FLOUR).items() if low <= cups * grams <= high]
    assert {"sifted", "spooned", "tables of portions", "spoon and level", "dip and sweep"} <= set(held)


def test_a_less_steady_food_is_never_given_a_narrower_range() -> None:
    widths = []
    for factor in (1.05, 1.1, 1.2, 1.4):
        low, high = printed_range(130.0 / factor, 130.0, 130.0 * factor)
        widths.append(log(high / low))
    assert widths == sorted(widths)


def test_shares_of_the_round_weights_of_each_size_are_no_more_than_all() -> None:
    for grams in (5.0, 20.0, 75.0, 200.0, 600.0, 2000.0):
        there = sum(
            float(row["share"])
            for row in rows("pantry_round_weights")
            if float(row["from_g"]) <= grams < float(row["below_g"])
        )
        assert 0.7 < there <= 1.02, grams
