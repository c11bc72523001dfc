"""Figures per 100 g that were worked out from a serving: which serving, and what its print leaves open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cache

from batchwright.base.nutrients import SODIUM_PER_SALT
from batchwright.original.panels.reading import MINERALS, stated
from batchwright.original.panels.records import EXACT_SALT, PanelFigure
from batchwright.original.panels.rounding import Interval, bands, last_digit_interval, printed_interval
from batchwright.original.panels.values import Printed

LARGEST_SERVING_G = 300  # grams tried
TELLING = tuple(key for key in ("energy_kcal", "fat_g", "saturated_fat_g", "carbohydrate_g", "fiber_g", "sugars_g",
                                "added_sugars_g", "protein_g", "sodium_mg", "cholesterol_mg"))  # fmt: skip


def half_digit(number: Decimal) -> float:
    """Return half of the last digit of a printed number."""
    exponent = number.as_tuple().exponent
    return 0.5 * 10.0 ** min(0, int(exponent))


@cache
def us_steps(nutrient: str) -> list[tuple[float, float, float]]:
    """Return (lower, upper, step) of the American grid of a nutrient."""
    return [
        (float(b.lower), float(b.upper) if b.upper is not None else float("inf"), float(b.step))
        for b in bands("US", nutrient)
        if b.step is not None and b.guide
    ]


def nearest_us_print(nutrient: str, amount: float) -> tuple[Decimal, float]:
    """Return the American print nearest to amount [per serving, in the key's unit], and the step of its grid."""
    steps = us_steps(nutrient)
    step = next((s for lo, up, s in steps if amount <= up * 1.0000001), steps[-1][2])
    exact = Decimal(repr(step))
    return exact * int(amount / step + 0.5), step


def converted_serving(values: Mapping[str, Printed], serving: Decimal | None) -> Decimal | None:
    """Return the serving [g] from which figures per 100 g were converted, None where they were not.

    Believed only where a figure stands on no European grid or the panel speaks the American way (sodium without salt or
    kJ), the figures (one in four may miss) come out on the American grid of that serving, and chance would do so less
    than once in a hundred. The serving on the pack is tried first; then the smallest that fits is taken: its rounding
    is the coarsest, so nothing is excluded.
    """
    told = _told(values)
    fine = sum(-int(number.as_tuple().exponent) >= 2 for number in told.values())
    american = speaks_american(values)
    if len(told) < 2 or "energy_kj" in values or not (american or fine >= 2):
        return None
    if serving is not None:
        fits, chance = _fit(told, float(serving))
        if fits and chance < 5 * stated("chance_of_fit"):
            return serving
    by_chance = 0.0
    for grams in range(2, LARGEST_SERVING_G + 1):
        fits, chance = _fit(told, float(grams))
        by_chance += chance
        if by_chance > stated("chance_of_fit"):
            return None
        if fits:
            return Decimal(grams)
    return None


def speaks_american(values: Mapping[str, Printed]) -> bool:
    """Say whether a panel speaks of sodium and of neither salt nor kJ."""
    return "sodium_mg" in values and "salt_g" not in values and "energy_kj" not in values


def _told(values: Mapping[str, Printed]) -> dict[str, Decimal]:
    """Return the figures that tell one serving from another: above 0, and each only once where lines agree."""
    told: dict[str, Decimal] = {}
    for key, value in values.items():
        if key in TELLING and value.kind == "number" and value.number and value.number not in told.values():
            told[key] = value.number
    return told


def _fit(told: Mapping[str, Decimal], grams: float) -> tuple[bool, float]:
    """Return whether the figures are whole prints of a serving of `grams`, and how often chance would make them so."""
    allowed = len(told) // 4
    misses = 0
    odds = [1.0] + [0.0] * allowed  # odds[k]: chance that exactly k figures miss
    for key, number in told.items():
        amount, reach = float(number) * grams / 100, half_digit(number) * grams / 100
        printed, step = nearest_us_print(key, amount)
        misses += printed <= 0 or abs(amount - float(printed)) > 1.02 * reach + 1e-9
        hit = min(1.0, 2 * reach / step)
        odds = [odds[k] * hit + (odds[k - 1] * (1 - hit) if k else 0.0) for k in range(allowed + 1)]
    return misses <= allowed, sum(odds)


def read_converted(values: Mapping[str, Printed], serving: Decimal) -> list[PanelFigure]:
    """Return the lines, per 100 g, with the doubt of their print per serving and of the serving's own weight."""
    weight = printed_interval("US", "serving_g", format(serving, "f"))
    if not weight.lawful:
        weight = last_digit_interval(serving)
    grams = float(serving)
    return [_one(key, value, grams, weight) for key, value in values.items()]


def _one(key: str, value: Printed, grams: float, weight: Interval) -> PanelFigure:
    figure = PanelFigure(key, value.text, 0.0, 0.0)
    nutrient, scale = ("sodium_mg", 1000 * SODIUM_PER_SALT) if key == "salt_g" else (key, 1.0)
    if not bands("US", nutrient):
        interval = last_digit_interval(value.number)
        return replace(figure, low=interval.low, high=interval.high)
    amount = float(value.number) * scale * grams / 100
    if value.kind != "number" or not value.number:
        top = printed_interval("US", nutrient, "0").high if key != "salt_g" else 5.0
        return replace(figure, high=max(top * 100 / weight.low / scale, float(value.number)))
    printed, step = nearest_us_print(nutrient, amount)
    interval = (
        printed_interval("US", nutrient, format(printed, "f")) if printed > 0 else Interval(0.0, True, 2 * step, False)
    )
    close = abs(amount - float(printed)) <= 0.1 * step + half_digit(value.number) * scale * grams / 100
    if nutrient in MINERALS or not (interval.lawful and close):
        interval = Interval(max(0.0, amount - step), True, amount + step, False)
    note = (
        f"{printed.normalize():f} in a serving of {grams:g} g"
        if close
        else f"about {amount:.3g} in a serving of {grams:g} g"
    )
    low, high = interval.low * 100 / weight.high / scale, interval.high * 100 / weight.low / scale
    exact = ((f"sodium {EXACT_SALT}", low, high),) if key == "salt_g" else ()
    return replace(figure, low=low, high=high, readings=exact, note=note)


def read_loosely(values: Mapping[str, Printed], serving: Decimal | None) -> list[PanelFigure]:
    """Return the lines of a panel per 100 g whose serving cannot be told: half an American step of a serving wide.

    The pack's serving is taken, or one of 50 g (common practice) where it gives none.
    """
    grams = float(serving) if serving is not None else stated("usual_serving_g")
    found = []
    for key, value in values.items():
        own = last_digit_interval(value.number)
        low, high = own.low, own.high
        if bands("US", key):
            step = nearest_us_print(key, float(value.number) * grams / 100)[1]
            half = step / 2 * 100 / grams
            low, high = max(0.0, min(low, float(value.number) - half)), max(high, float(value.number) + half)
            if value.kind != "number" or not value.number:
                low, high = 0.0, printed_interval("US", key, "0").high * 100 / grams
        found.append(
            PanelFigure(
                key,
                value.text,
                low,
                high,
                readings=(("last digit", own.low, own.high),),
                note=f"worked out from some serving; read as half a step of {grams:g} g",
            )
        )
    return found
