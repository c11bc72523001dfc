"""One panel figure -> its interval: the scheme's rounding, % daily value, minerals printed by percent."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache

from batchwright.base.tables import rows
from batchwright.original.panels.records import PanelFigure
from batchwright.original.panels.rounding import (
    Interval,
    bands,
    last_digit_interval,
    nutrient_rows,
    print_amount,
    printed_interval,
    rounded_half_up,
    step_interval,
)
from batchwright.original.panels.values import Printed

EDITIONS = {"2016": "daily_value_2016", "before 2016": "daily_value_before_2016"}
MINERALS = ("calcium_mg", "iron_mg", "potassium_mg", "vitamin_d_ug")
SALT_PER_SODIUM = (Decimal("2.5"), Decimal("2.54"))  # 1169/2011 Annex I; the exact factor databases use
PERCENT_STEPS = ((Decimal(10), Decimal(2)), (Decimal(50), Decimal(5)))  # 21 CFR 101.9(c)(8)(iii); above: 10


@cache
def limits() -> dict[str, float]:
    """Return the stated limits of panel reading by name, each in the unit its row gives."""
    return {row["what"]: float(row["value"]) for row in rows("panel_limits")}


def stated(name: str) -> float:
    """Return one stated limit by name."""
    return limits()[name]


def unit_of(nutrient: str) -> str:
    """Return the unit of a panel key, "" for an unknown one."""
    row = nutrient_rows().get(nutrient)
    return row["unit"] if row else ""


def daily_value(nutrient: str, edition: str) -> Decimal | None:
    """Return the daily value of a nutrient in an edition ("2016", "before 2016"); None where it has none."""
    row = nutrient_rows().get(nutrient)
    cell = row[EDITIONS[edition]] if row else ""
    return Decimal(cell) if cell else None


def percent_interval(nutrient: str, percent: float, edition: str = "2016") -> Interval | None:
    """Return the amounts whose % daily value rounds to `percent` [%]; None where the nutrient has no daily value.

    Source: 21 CFR 101.9(d)(7)(ii). Example: 11 % of 78 g fat is 8.19 up to 8.97 g.
    """
    value = daily_value(nutrient, edition)
    if value is None:
        return None
    exact = Decimal(repr(float(percent)))
    half = Decimal("0.5")
    return Interval(
        float(max(Decimal(0), value * (exact - half) / 100)), True, float(value * (exact + half) / 100), False
    )


def narrowed_by_percent(
    nutrient: str, interval: Interval, number: Decimal, percent: float, edition: str
) -> tuple[Interval, str]:
    """Return the interval narrowed, and the verdict: "nothing learned", "narrowed" or "contradiction".

    percent: [% daily value] as printed; edition: "2016" or "before 2016".

    A percentage equal to that of the printed amount may have been worked out from it and teaches nothing; any other was
    worked out from the actual amount. Example: fat "8" with 11 % is 8.19 up to 8.5 g.
    """
    value = daily_value(nutrient, edition)
    actual = percent_interval(nutrient, percent, edition)
    if value is None or actual is None:
        return interval, "nothing learned"
    if rounded_half_up(100 * number / value, Decimal(1)) == Decimal(repr(float(percent))):
        return interval, "nothing learned"
    low, high = max(interval.low, actual.low), min(interval.high, actual.high)
    if low >= high:
        return interval, "contradiction"
    return replace(
        interval, low=low, low_closed=True, high=high, high_closed=high == interval.high and interval.high_closed
    ), "narrowed"


def mineral_by_percent(nutrient: str, percent: Decimal, edition: str) -> Interval | None:
    """Return the amounts of a vitamin or mineral whose % daily value prints as `percent`.

    Percentages go by 2 up to 10 %, by 5 up to 50 %, by 10 above; below 2 % they may print 0.
    """
    value = daily_value(nutrient, edition)
    if value is None:
        return None
    if percent == 0:
        return Interval(0.0, True, float(value * 2 / 100), False)
    step = next((step for top, step in PERCENT_STEPS if percent <= top), Decimal(10))
    upper = next((step for top, step in PERCENT_STEPS if percent < top), Decimal(10))
    off = percent % step != 0
    below, above = (Decimal(1), Decimal(1)) if off else (step, upper)
    low = Decimal(1) if percent == 2 and not off else percent - below / 2
    return Interval(
        float(value * low / 100),
        True,
        float(value * (percent + above / 2) / 100),
        False,
        not off,
        f"read from {percent} % of the daily value of {value}",
    )


def plain_zero(nutrient: str) -> float:
    """Return the largest amount a printed zero may hide where no rule of the scheme speaks of the nutrient."""
    known = limits()
    return known.get(f"zero_{nutrient}", known["zero_other"])


def read_figure(nutrient: str, printed: Printed, scheme: str | None) -> PanelFigure:
    """Return the line with the interval its figure stands for under `scheme`, rival readings beside it.

    A figure printed in another unit than the key's ("0.2 g" sodium) is not read finer than half of its last digit.
    """
    figure = _read_own_unit(nutrient, printed, scheme)
    if not printed.half or printed.kind != "number" or not printed.number:
        return figure
    low, high = float(max(Decimal(0), printed.number - printed.half)), float(printed.number + printed.half)
    return replace(figure, low=min(low, figure.low), high=max(high, figure.high))


def _read_own_unit(nutrient: str, printed: Printed, scheme: str | None) -> PanelFigure:
    """Return the line with the interval its figure stands for under `scheme`, rival readings beside it."""
    percent = float(printed.percent_dv) if printed.percent_dv is not None else None
    whole = PanelFigure(nutrient, printed.text, 0.0, 0.0, percent_dv=percent)
    table = bands(scheme, nutrient) if scheme else ()
    if printed.kind in ("trace", "insignificant") or (printed.kind == "number" and printed.number == 0):
        return _zero(whole, nutrient, printed, scheme, bool(table))
    if not table:
        return _without_rule(whole, printed)
    assert scheme is not None
    interval = printed_interval(scheme, nutrient, printed.text)
    guide = printed_interval(scheme, nutrient, printed.text, "guide")
    if interval.lawful:
        readings = [("permissive", interval.low, interval.high)]
        if guide.lawful and (guide.low, guide.high) != (interval.low, interval.high):
            readings.insert(0, ("guide", guide.low, guide.high))
        if scheme == "EU" and printed.kind == "number" and _whole(printed.number) and 0 < printed.number < 10:
            coarse = last_digit_interval(printed.number.quantize(Decimal(1)))
            if nutrient not in ("energy_kj", "energy_kcal") and "." not in printed.text:
                readings.append(("whole number", coarse.low, coarse.high))
                interval = replace(interval, low=min(interval.low, coarse.low), high=max(interval.high, coarse.high))
        kept = tuple(readings) if len(readings) > 1 else ()
        return replace(whole, low=interval.low, high=interval.high, readings=kept)
    if nutrient == "salt_g" and printed.kind == "number":
        return _salt(whole, printed.number, interval)
    readings = [("last digit", interval.low, interval.high)]
    low, high, note = interval.low, interval.high, interval.note
    step = step_interval(scheme, nutrient, printed.number) if printed.kind == "number" and scheme == "US" else None
    if step is not None:
        readings.append((step.note, step.low, step.high))
        low, high, note = min(low, step.low), max(high, step.high), step.note
    if scheme == "US" and printed.kind == "number":
        lawful_print = print_amount(scheme, nutrient, float(printed.number))
        note = f"{printed.text} is not a lawful figure here (the rule prints {lawful_print}); {note}"
    lawful = scheme == "EU" or nutrient in MINERALS
    return replace(whole, low=low, high=high, lawful=lawful, readings=tuple(readings), note=note)


def _salt(whole: PanelFigure, number: Decimal, interval: Interval) -> PanelFigure:
    """Read salt finer than the guidance: to its last digit, or as sodium times 2.5 (or 2.54) where it may be."""
    readings = [("last digit", interval.low, interval.high)]
    for factor in SALT_PER_SODIUM:
        sodium_mg = 1000 * number / factor
        for step in (Decimal(10), Decimal(5), Decimal(1)):
            reach = 1000 * Decimal(repr(interval.high - interval.low)) / 2 / factor
            if reach < step / 4 and abs(sodium_mg - rounded_half_up(sodium_mg, step)) <= reach:
                low, high = (float((sodium_mg + side * step / 2) * factor / 1000) for side in (-1, 1))
                readings.append((f"sodium to {step} mg x {factor}", max(0.0, low), high))
                break
    low, high = min(low for _, low, _ in readings), max(high for _, _, high in readings)
    note = "finer than the guidance" if len(readings) == 1 else "finer than the guidance: a sodium figure times 2.5?"
    return replace(whole, low=low, high=high, readings=tuple(readings), note=note)


def _whole(number: Decimal) -> bool:
    return number == number.to_integral_value()


def _zero(whole: PanelFigure, nutrient: str, printed: Printed, scheme: str | None, ruled: bool) -> PanelFigure:
    if not ruled or scheme is None:
        return replace(whole, high=plain_zero(nutrient))
    top = printed_interval(scheme, nutrient, "0").high
    if printed.kind == "insignificant" and scheme == "US" and nutrient in ("carbohydrate_g", "fiber_g", "protein_g"):
        top = 1.0  # 21 CFR 101.9(c)(6)-(7): less than 1 g counts as insignificant there
    if printed.kind == "trace":
        top = max(top, 1.0) if nutrient.endswith("_g") and nutrient != "salt_g" else top
    decimals = -int(printed.number.as_tuple().exponent) if printed.kind == "number" else 0
    if scheme == "EU" and decimals >= 1 and nutrient != "salt_g":
        shown = float(Decimal(1).scaleb(-decimals) / 2)  # "0.0" shows tenths, yet the rule lets 0.5 g print as nothing
        return replace(whole, high=top, readings=(("last digit", 0.0, shown), ("permissive", 0.0, top)))
    return replace(whole, high=top)


def _without_rule(whole: PanelFigure, printed: Printed) -> PanelFigure:
    if printed.kind == "less":
        return replace(whole, high=float(printed.number))
    interval = last_digit_interval(printed.number)
    return replace(whole, low=interval.low, high=interval.high)
