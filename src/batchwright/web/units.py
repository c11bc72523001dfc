"""Units as the cook chose them for this screen: grams or ounces, Celsius or Fahrenheit, whose cup."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from batchwright.base.shown import shown_number

COOKIE = "units"
GRAMS_PER_OUNCE = 28.349523125  # international avoirdupois ounce, NIST Handbook 44 appendix C
WEIGHTS = ("g", "oz")
HEATS = ("C", "F")
NO_BREAK = "\u00a0"  # a number and its unit stay on one line
_DEGREE = r"(?:\s*°)?\s*"
_PAIR = re.compile(
    rf"(?P<first>-?\d+(?:[–-]\d+| to \d+)?){_DEGREE}(?P<one>[FC])\b\s*[(/]\s*(?P<second>-?\d+(?:[–-]\d+| to \d+)?)"
    rf"{_DEGREE}(?P<other>[FC])\b\)?"
)
_GRAMS = re.compile(r"(?<![\d.,/])(?:(\d+(?:\.\d+)?)( to |–| - ))?(\d+(?:\.\d+)?) g\b")


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
        width = self._fair_width_g(mass_g) if width_g is None else width_g
        return f"{shown_number(mass_g / self.grams, max(width, 1e-9) / self.grams)}{NO_BREAK}{self.weight}"

    def _fair_width_g(self, mass_g: float) -> float:
        """Return the width [g] that shows a mass as a kitchen scale does: whole grams from 20 g, tenths from 2 g.

        In ounces tenths from 1 oz, hundredths below.
        """
        if self.weight == "oz":
            return (0.5 if mass_g >= GRAMS_PER_OUNCE else 0.1) * GRAMS_PER_OUNCE
        return 5.0 if mass_g >= 20 else 1.0 if mass_g >= 2 else 0.1

    def figure(self, mass_g: float, width_g: float | None = None) -> str:
        """Return the number of `mass` alone, for a column whose head names the unit."""
        return self.mass(mass_g, width_g).removesuffix(f"{NO_BREAK}{self.weight}")

    @property
    def grams(self) -> float:
        """What one of the chosen unit weighs [g]."""
        return GRAMS_PER_OUNCE if self.weight == "oz" else 1.0

    def typed(self, mass_g: float) -> str:
        """Return a mass [g] as a field shows it for changing: a number in the chosen unit, to a hundredth."""
        return f"{round(mass_g / self.grams, 2):g}" if mass_g < 10_000 else f"{mass_g / self.grams:.0f}"

    def heats(self, text: str) -> str:
        """Return a sentence whose temperatures stand in both scales with the chosen one first: "175 °C (350 °F)"."""
        return _PAIR.sub(self._chosen_first, text)

    def _chosen_first(self, found: re.Match[str]) -> str:
        pair = {found["one"].upper(): found["first"], found["other"].upper(): found["second"]}
        if len(pair) != 2:
            return found[0]
        rest = "F" if self.heat == "C" else "C"
        return f"{pair[self.heat]}{NO_BREAK}°{self.heat} ({pair[rest]}{NO_BREAK}°{rest})"

    def weights(self, text: str) -> str:
        """Return a line with its grams in the chosen unit: "310 g (2 1/2 cups)" to "10.9 oz (2 1/2 cups)"."""
        if self.weight == "g":
            return text
        return _GRAMS.sub(self._in_ounces, text)

    def _in_ounces(self, found: re.Match[str]) -> str:
        low = self.figure(float(found[1])) + found[2] if found[1] else ""
        return low + self.mass(float(found[3]))

    def temperature(self, temperature_c: float) -> str:
        """Return a temperature [C] in the chosen unit, whole degrees."""
        shown = temperature_c if self.heat == "C" else temperature_c * 9 / 5 + 32
        return f"{shown:.0f}{NO_BREAK}°{self.heat}"


def units_from_cookies(cookies: Mapping[str, str], cups: Sequence[str]) -> Units:
    """Return the units a browser's cookies ask for; what is not understood is left at grams, Celsius, any cup.

    cups: the conventions there are to choose from.
    """
    weight, heat, cup = ([*cookies.get(COOKIE, "").split("|"), "", "", ""])[:3]
    cup = cup.replace("_", " ")
    return Units(weight if weight in WEIGHTS else "g", heat if heat in HEATS else "C", cup if cup in cups else "")
