"""Figures per 100 g that were worked out from a serving: which serving, and what its print leaves open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from batchwright.base.nutrients import SODIUM_PER_SALT
from batchwright.original.panel_reading import MINERALS, plain_zero
from batchwright.original.panel_records import PanelFigure
from batchwright.original.panel_rounding import Interval, bands, last_digit_interval, printed_interval
from batchwright.original.panel_values import Printed

LARGEST_SERVING_G = 300
CHANCE = 0.01  # a serving is believed where chance alone would fit one at most this often
TELLING = tuple(key for key in ("energy_kcal", "fat_g", "saturated_fat_g", "carbohydrate_g", "fiber_g", "sugars_g",
                                "added_sugars_g", "protein_g", "sodium_mg", "cholesterol_mg"))  # fmt: skip


def half_digit(number: Decimal) -> float:
    """Return half of the last digit of a printed number."""
    exponent = number.as_tuple().exponent
    return 0.5 * 10.0 ** min(0, int(exponent))


def us_steps(nutrient: str) -> list[tuple[float, float, float]]:
    """Return (lower, upper, step) of the American grid of a nutrient."""
    return [(float(b.lower), float(b.upper) if b.upper is not None else float("inf"), float(b.step))
            for b in bands("US", nutrient) if b.step is not None and b.guide]


def nearest_us_print(nutrient: str, amount: float) -> tuple[Decimal, float]:
    """Return the printed figure of the American grid nearest to an amount per serving, and its step."""
    steps = us_steps(nutrient)
    step = next((s for lo, up, s in steps if amount <= up * 1.0000001), steps[-1][2])
    exact = Decimal(repr(step))
    return exact * int(amount / step + 0.5), step


def converted_serving(values: Mapping[str, Printed], serving: Decimal | None) -> Decimal | None:
    """Return the serving [g] from which figures per 100 g were converted, None where they were not.

    Believed only where a figure stands on no European grid or the panel speaks the American way (sodium without salt or
    kJ), every figure comes out on the American grid of that serving, and chance would do so less than once in a hundred.
    Without a serving weight the smallest that fits is taken: its rounding is the coarsest, so nothing is excluded.
    """
    told = {key: value.number for key, value in values.items() if key in TELLING and value.kind == "number" and value.number}
    fine = sum(-int(number.as_tuple().exponent) >= 2 for number in told.values())
    american = "sodium_mg" in values and "salt_g" not in values and "energy_kj" not in values
    if len(told) < 2 or "energy_kj" in values or not (american or fine >= 2):
        return None
    if serving is not None:
        return serving if _chance_of_fit(told, float(serving)) is not None and fine + american else None
    by_chance = 0.0
    for grams in range(2, LARGEST_SERVING_G + 1):
        fit = _chance_of_fit(told, float(grams))
        by_chance += _chance(told, float(grams))
        if by_chance > CHANCE:
            return None
        if fit is not None:
            return Decimal(grams)
    return None


def _chance(told: Mapping[str, Decimal], grams: float) -> float:
    chance = 1.0
    for key, number in told.items():
        amount = float(number) * grams / 100
        step = nearest_us_print(key, amount)[1]
        chance *= min(1.0, 2 * half_digit(number) * grams / 100 / step)
    return chance


def _chance_of_fit(told: Mapping[str, Decimal], grams: float) -> float | None:
    """Return the chance of the fit at this serving, None where a figure does not fit."""
    for key, number in told.items():
        amount = float(number) * grams / 100
        printed, _ = nearest_us_print(key, amount)
        if printed <= 0 or abs(amount - float(printed)) > 1.02 * half_digit(number) * grams / 100 + 1e-9:
            return None
        if not printed_interval("US", key, str(printed)).lawful:
            return None
    return _chance(told, grams)


def read_converted(values: Mapping[str, Printed], serving: Decimal, weighed: bool) -> list[PanelFigure]:
    """Return the lines, per 100 g, with the doubt of their serving print.

    weighed: the serving's weight was given; its own rounding then widens the figures.
    """
    weight = printed_interval("US", "serving_g", str(serving))
    if not weight.lawful:
        weight = last_digit_interval(serving)
    grams = float(serving)
    found = []
    for key, value in values.items():
        found.append(_one(key, value, grams, weight, weighed))
    return found


def _one(key: str, value: Printed, grams: float, weight: Interval, weighed: bool) -> PanelFigure:
    figure = PanelFigure(key, value.text, 0.0, 0.0)
    nutrient, scale = ("sodium_mg", 1000 * SODIUM_PER_SALT) if key == "salt_g" else (key, 1.0)
    if not bands("US", nutrient):
        interval = last_digit_interval(value.number)
        return replace(figure, low=interval.low, high=interval.high)
    amount = float(value.number) * scale * grams / 100
    if value.kind != "number" or not value.number:
        top = printed_interval("US", nutrient, "0").high if key != "salt_g" else 5.0
        return replace(figure, high=max(top * 100 / weight.low / scale, 0.0 if bands("US", nutrient) else plain_zero(key)))
    printed, step = nearest_us_print(nutrient, amount)
    interval = printed_interval("US", nutrient, str(printed)) if printed > 0 else Interval(0.0, True, 2 * step, False)
    close = abs(amount - float(printed)) <= 0.1 * step + half_digit(value.number) * scale * grams / 100
    if nutrient in MINERALS or not (interval.lawful and close):
        interval = Interval(max(0.0, amount - step), True, amount + step, False)
    note = f"{printed.normalize():f} in a serving of {grams:g} g" if close else f"about {amount:.3g} in a serving of {grams:g} g"
    return replace(figure, low=interval.low * 100 / weight.high / scale, high=interval.high * 100 / weight.low / scale, note=note)
