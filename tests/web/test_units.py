"""Units of a screen: what is shown, what is typed, what a cookie may say."""

from __future__ import annotations

import pytest

from batchwright.web.units import COOKIE, GRAMS_PER_OUNCE, Units, units_from_cookies


def plain(text: str) -> str:
    """Return a text with its no-break spaces as plain ones."""
    return text.replace("\u00a0", " ")


CUPS = ("spooned", "dip and sweep")


def test_cookie_round_trip() -> None:
    for units in (Units(), Units("oz", "F", "dip and sweep"), Units("g", "F", "spooned")):
        assert units_from_cookies({COOKIE: units.cookie()}, CUPS) == units


@pytest.mark.parametrize("cookie", ["", "stone|K|thimble", "|||||", "g|C|nobody's_cup", "<b>|<i>|<u>"])
def test_what_is_not_understood_is_left_out(cookie: str) -> None:
    assert units_from_cookies({COOKIE: cookie}, CUPS) == Units()


def test_mass_has_the_digits_of_a_scale() -> None:
    shown = [plain(Units().mass(grams)) for grams in (310.4, 19.96, 4.55, 1.234)]
    assert shown == ["310 g", "20.0 g", "4.5 g", "1.23 g"]
    assert plain(Units("oz").mass(283.495)) == "10.0 oz"  # 10 oz is 283.495 g by definition
    assert Units().figure(310.4) == "310"


def test_typed_amounts_come_back() -> None:
    for units in (Units(), Units("oz")):
        for grams in (0.5, 4.6, 142.0, 1089.25):
            assert float(units.typed(grams)) * units.grams == pytest.approx(grams, abs=0.006 * units.grams)
    assert Units("oz").grams == GRAMS_PER_OUNCE


@pytest.mark.parametrize(
    ("text", "celsius", "fahrenheit"),
    [
        ("Bake at 350 F (175 °C) for 12 minutes.", "Bake at 175 °C (350 °F) for 12 minutes.",
         "Bake at 350 °F (175 °C) for 12 minutes."),
        ("below 41 °F / 5 °C, or hotter", "below 5 °C (41 °F), or hotter", "below 41 °F (5 °C), or hotter"),
        ("Chill. Add 2 Cups (3 Full)", "Chill. Add 2 Cups (3 Full)", "Chill. Add 2 Cups (3 Full)"),
    ],
)  # fmt: skip
def test_heats_puts_the_chosen_scale_first(text: str, celsius: str, fahrenheit: str) -> None:
    assert plain(Units(heat="C").heats(text)) == celsius
    assert plain(Units(heat="F").heats(text)) == fahrenheit


def test_weights_of_a_card_line() -> None:
    assert Units().weights("310 g (2 1/2 cups) flour") == "310 g (2 1/2 cups) flour"
    assert plain(Units("oz").weights("567 g (4 cups) flour")) == "20.0 oz (4 cups) flour"
    assert plain(Units("oz").weights("980 to 1120 g baked")) == "34.6 to 39.5 oz baked"
    assert plain(Units("oz").weights("2 eggs, 3 grapes")) == "2 eggs, 3 grapes"
