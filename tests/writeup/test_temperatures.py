"""Temperatures stand in both scales, rounded as ovens and thermometers are marked; the cook's words stay."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.writeup.temperatures import in_both_scales, temperatures_in


@pytest.mark.parametrize(
    ("text", "written"),
    [("Heat the oven to 350°F.", "Heat the oven to 350°F (175 °C)."),
     ("Bake at 180 °C until firm", "Bake at 180 °C (350 °F) until firm"),
     ("Bake at 325-350 degrees F", "Bake at 325-350 degrees F (165 to 175 °C)"),
     ("Bake at 350 degrees for 10 minutes", "Bake at 350 degrees F (175 °C) for 10 minutes"),
     ("Boil to 240 F on a thermometer", "Boil to 240 F (116 °C) on a thermometer"),
     ("Heat the oil to 180°C and fry", "Heat the oil to 180°C (356 °F) and fry"),
     ("Set the oven to gas mark 4", "Set the oven to gas mark 4 (350 °F, 175 °C)"),
     ("Oven: 180C/160C fan/gas 4", "Oven: 180C (350 °F)/160C fan/gas 4"),
     ("Lower the oven by 25°F", "Lower the oven by 25°F (15 °C)"),
     ("375 F 20-25 min.", "375 F (190 °C) 20-25 min."),
     ("cut, bake 350 10-12 min.", "cut, bake 350 F (175 °C) 10-12 min."),
     ("Melt the chocolate to 45 C", "Melt the chocolate to 45 C (113 °F)")],
)  # fmt: skip
def test_the_other_scale_is_added(text: str, written: str) -> None:
    assert in_both_scales(text)[0] == written


@pytest.mark.parametrize(
    "text",
    ["Heat oven to 180C/350F/gas 4.", "Preheat to 350 °F / 180 °C", "Add 10 C flour", "Stir in 2 c sugar",
     "Chill 40 minutes", "Roll 3 mm thick", "Bake 300 g at once"],
)  # fmt: skip
def test_left_alone(text: str) -> None:
    assert in_both_scales(text) == (text, ())


def test_two_that_disagree_are_said() -> None:
    _, notes = in_both_scales("Heat the oven to 400 °F (150 °C).")
    assert notes == ("400 °F is 204 °C, the recipe says 150 °C: one of them is a slip",)


def test_a_guess_is_said() -> None:
    assert "taken as Fahrenheit" in in_both_scales("Bake at 350 degrees.")[1][0]


@given(st.integers(min_value=40, max_value=260))
def test_a_thermometer_reading_agrees_within_half_a_degree(celsius: int) -> None:
    text, _ = in_both_scales(f"Cook the syrup to {celsius} °C")
    fahrenheit = temperatures_in(text)[1]
    assert fahrenheit.scale == "F"
    assert abs(fahrenheit.low - (celsius * 1.8 + 32)) <= 0.51


@given(st.text(max_size=80))
def test_nothing_typed_is_lost(text: str) -> None:
    written, _ = in_both_scales(text)
    left = iter(written)
    assert all(letter in left for letter in text), "the words stand in order in what is printed"
