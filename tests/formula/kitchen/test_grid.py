"""What cups, spoons and sticks can measure, and how it is written."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from batchwright.formula.kitchen.grid import TSP_PER, Amount, fraction_text, step_tsp, stick_amounts, volume_amounts

PART = {"teaspoon": Fraction(1), "tablespoon": Fraction(3), "cup": Fraction(48)}
HALF = Fraction(1, 2)
WRITINGS = [pytest.param(one, id=one.text) for one in volume_amounts()]


def near(value: float) -> Fraction:
    return Fraction(value).limit_denominator(24)


def text_of(size_tsp: Fraction) -> str:
    return next(one.text for one in volume_amounts() if one.size == size_tsp)


@pytest.mark.parametrize(
    ("size_tsp", "text"),
    [
        (Fraction(1, 8), "1/8 teaspoon"), (Fraction(3, 8), "1/4 teaspoon plus 1/8 teaspoon"), (3, "1 tablespoon"),
        (4, "1 tablespoon plus 1 teaspoon"), (6, "2 tablespoons"),  # never 1/8 cup
        (7, "2 tablespoons plus 1 teaspoon"), (12, "1/4 cup"), (16, "1/3 cup"), (18, "1/4 cup plus 2 tablespoons"),
        (48, "1 cup"), (66, "1 1/4 cups plus 2 tablespoons"), (80, "1 2/3 cups"), (108, "2 1/4 cups"),
    ],
)  # fmt: skip
def test_writing(size_tsp: int | Fraction, text: str) -> None:
    assert text_of(Fraction(size_tsp)) == text


def test_household_measures() -> None:
    """NIST Handbook 44, Appendix C: 3 teaspoons a tablespoon, 16 tablespoons a cup, so 5 1/3 a third."""
    assert TSP_PER["tablespoon"] == 3
    assert TSP_PER["cup"] == 16 * TSP_PER["tablespoon"]
    assert text_of(Fraction(4 * 3)) == "1/4 cup"
    assert text_of(Fraction(16 * 3, 3)) == "1/3 cup"
    sizes = [one.size for one in volume_amounts()]
    assert len(sizes) == len(set(sizes)), "one writing for each amount"


@pytest.mark.parametrize("one", WRITINGS)
def test_rules_of_the_page(one: Amount) -> None:
    first, *more = one.amounts
    assert len(more) <= 1
    assert near(first.low).denominator in ((1, 2, 3, 4) if first.unit == "cup" else (1, 2, 4, 8))
    assert sum(near(each.low) * PART[each.unit] for each in one.amounts) == one.size, "the words say the amount"
    assert one.size >= Fraction(1, 8)
    for each in one.amounts:
        assert near(each.low).denominator != 8 or (each.unit == "teaspoon" and each.low == 0.125)
    for each in more:
        assert PART[each.unit] * near(each.low) < PART[first.unit] * near(first.low), "largest first"
        assert each.join == "plus"
    if first.unit == "tablespoon":
        assert one.size < 12, "from a quarter cup on, cups"
    if first.unit == "teaspoon":
        assert one.size < 3


def test_the_steps_of_the_rounding_guide() -> None:
    """Menu and Recipe Manual, Appendix 7: teaspoons follow its steps; two parts leave gaps, none over an eighth."""
    steps = [step_tsp(Fraction(size)) for size in (1, 4, 10, 30, 300, 500)]
    assert steps == [Fraction(1, 8), Fraction(1, 4), HALF, 1, 12, 24]
    sizes = [one.size for one in volume_amounts() if one.size >= 1]
    assert max((high - low) / low for low, high in pairwise(sizes)) <= Fraction(1, 8)
    quarts = [size for size in sizes if 12 <= size <= 192]
    assert max((high - low) / low for low, high in pairwise(quarts)) <= Fraction(1, 12)


def test_sticks() -> None:
    found = {one.size: one.text for one in stick_amounts()}
    assert found[Fraction(8)] == "1 stick"  # 8 tablespoons on the wrapper of a US quarter pound
    assert found[Fraction(10)] == "1 stick plus 2 tablespoons"
    assert found[Fraction(12)] == "1 1/2 sticks"
    assert found[Fraction(4)] == "1/2 stick"
    assert found[Fraction(3)] == "3 tablespoons"
    assert found[Fraction(1, 3)] == "1 teaspoon"
    assert all(len(one.amounts) <= 2 for one in stick_amounts())


@pytest.mark.parametrize(("value", "text"), [(0.125, "1/8"), (1 / 3, "1/3"), (1.75, "1 3/4"), (2.0, "2"), (0.7, "0.7")])
def test_fractions(value: float, text: str) -> None:
    assert fraction_text(value) == text
