"""Units as the cook chose them for this screen: grams or ounces, Celsius or Fahrenheit, whose cup."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from batchwright.base.shown import shown_number

COOKIE = "units"
GRAMS_PER_OUNCE = 28.349523125  # international avoirdupois ounce, NIST Handbook 44 appendix C
WEIGHTS = ("g", "oz")
HEATS = ("C", "F")


@dataclass(frozen=True, slots=True)
class Units:
    """What a screen shows: `weight` g or oz, `heat` C or F, `cup` whose cup, empty = the recipe's."""

    weight: str = "g"
    heat: str = "C"
    cup: str = ""

    def cookie(self) -> str:
        """Return the choice as a cookie's value."""
        return "|".join((self.weight, self.heat, self.cup.replace(" ", "_")))

    def mass(self, mass_g: float, width_g: float | None = None) -> str:
        """Return a mass [g] in the chosen unit with the digits that a range of `width_g` [g] deserves."""
        divided = GRAMS_PER_OUNCE if self.weight == "oz" else 1.0
        width = _fair_width(mass_g) if width_g is None else width_g
        return f"{shown_number(mass_g / divided, max(width, 1e-9) / divided)} {self.weight}"

    def temperature(self, temperature_c: float) -> str:
        """Return a temperature [C] in the chosen unit, whole degrees."""
        return f"{temperature_c:.0f} °C" if self.heat == "C" else f"{temperature_c * 9 / 5 + 32:.0f} °F"


def units_from_cookies(cookies: Mapping[str, str]) -> Units:
    """Return the units a browser's cookies ask for; what is not understood is left at grams and Celsius."""
    weight, heat, cup = ([*cookies.get(COOKIE, "").split("|"), "", "", ""])[:3]
    return Units(weight if weight in WEIGHTS else "g", heat if heat in HEATS else "C", cup.replace("_", " ")[:40])


def _fair_width(mass_g: float) -> float:
    """Return the width that shows a mass [g] as a kitchen scale does: whole grams from 20 g, tenths from 2 g."""
    return 5.0 if mass_g >= 20 else 1.0 if mass_g >= 2 else 0.1
