"""A nutrition panel from the keys of a file: figures as printed, scheme and basis found out where not given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from math import isfinite
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.original.panels.checks import edition_of, sums_of
from batchwright.original.panels.converted import converted_serving, read_converted, read_loosely, speaks_american
from batchwright.original.panels.gather import Draft, take, zeros_are_storage
from batchwright.original.panels.reading import (
    EDITIONS,
    MINERALS,
    mineral_by_percent,
    narrowed_by_percent,
    percent_interval,
    read_figure,
    stated,
)
from batchwright.original.panels.records import PER_100_G, PER_SERVING, Panel, PanelFigure
from batchwright.original.panels.rounding import Interval, bands, last_digit_interval, printed_interval
from batchwright.original.panels.values import Printed


def read_panel(mapping: Mapping[str, Any]) -> Panel:
    """Return a panel from keys and figures as printed.

    mapping: panel keys (`energy_kcal`, `fat_g` ... and other spellings: `calories`, `total_carb_g`, `saturates_g`) with
    numbers or text ("less than 1 g", "<1", "1,5"), `basis`, `scheme`, `serving_g`; `<nutrient>_dv` holds a % daily
    value. Every key may be missing. Figures no rule allows are kept and flagged in `faults`; what cannot be (a negative
    figure, a serving of 0) raises InputError with all such faults together.
    Example: {"fat_g": 5, "serving_g": 27, "scheme": "US"} reads fat as 4.75 to 5.5 g per serving.
    """
    if not isinstance(mapping, Mapping):
        raise InputError([Fault("panel", mapping, "keys and figures, such as fat_g = 7")])
    draft = Draft()
    bare = zeros_are_storage(mapping)
    for key, value in mapping.items():
        take(draft, str(key), int(value) if bare and isinstance(value, float) and value.is_integer() else value)
    if draft.refused:
        raise InputError(draft.refused)
    return _assembled(draft)


def _tenths_shown(figures: list[PanelFigure]) -> list[PanelFigure]:
    """Read "8" as 8.0 where the same panel prints tenths in at least two other figures below 10."""
    shown = sum("." in figure.printed and 0.5 < figure.high < 10 and figure.nutrient != "salt_g" for figure in figures)
    if shown < 2:
        return figures
    return [
        replace(figure, low=figure.readings[0][1], high=figure.readings[0][2])
        if figure.readings and figure.readings[-1][0] == "whole number"
        else figure
        for figure in figures
    ]


def _found_basis(draft: Draft, scheme: str | None) -> str:
    """Return the basis where none was given: European panels speak of 100 g, American ones of a serving."""
    if scheme == "EU" or "salt_g" in draft.values or "energy_kj" in draft.values:
        return PER_100_G
    return PER_SERVING if draft.serving or draft.serving_ml else PER_100_G


def _found_scheme(draft: Draft, basis: str) -> str | None:
    """Return the scheme that the figures speak of, None where neither fits."""
    if "salt_g" in draft.values or "energy_kj" in draft.values:
        return "EU"
    if basis == PER_SERVING:
        tried = [(key, value) for key, value in draft.values.items() if bands("US", key) and value.kind == "number"]
        fits = sum(printed_interval("US", key, format(value.number, "f")).lawful for key, value in tried)
        macros = [value for key, value in tried if key not in MINERALS]
        return "US" if draft.percents or not macros or fits >= 0.7 * len(tried) else None
    if "sodium_mg" in draft.values or "cholesterol_mg" in draft.values:
        return None
    return "EU"


def _assembled(draft: Draft) -> Panel:
    basis = draft.basis or _found_basis(draft, draft.scheme)
    scheme = draft.scheme or _found_scheme(draft, basis)
    _swap_energies(draft)
    notes, faults = list(draft.notes), list(draft.faults)
    panel = Panel(basis=basis, scheme=scheme, column=draft.column, fiber_allowance_g=stated("fiber_allowance_g"))
    panel = _with_serving(panel, draft)
    served = converted_serving(draft.values, draft.serving) if basis == PER_100_G and draft.scheme != "EU" else None
    if served is not None:
        figures = read_converted(draft.values, served)
        panel = replace(panel, scheme="US")
        notes.append(
            f"figures per 100 g converted from a serving of {served} g: their doubt is that of the serving's print"
        )
    elif scheme is None and basis == PER_100_G and speaks_american(draft.values) and _fine(draft.values):
        figures = read_loosely(draft.values, draft.serving)
        panel = replace(panel, scheme="US")
        notes.append("figures per 100 g on no lawful grid, worked out from a serving that cannot be told")
    else:
        old = _minerals_by_percent(draft.values)
        figures = [
            _mineral(key, value, scheme, old) if key in MINERALS else read_figure(key, value, scheme)
            for key, value in draft.values.items()
        ]
        figures = _tenths_shown(figures)
    figures, edition = _with_percents(figures, draft, served is not None, notes, faults)
    for figure in figures:
        if not figure.lawful:
            faults.append(
                Fault(
                    figure.nutrient,
                    figure.printed,
                    f"a figure the {scheme or ''} rule prints".replace("  ", " "),
                    f"Kept, {figure.note}",
                )
            )
    panel = replace(panel, figures=tuple(figures), edition=edition)
    if figures and panel.factor_per_100g() is None:
        hint = "Weigh one serving: without it the panel says nothing per 100 g."
        faults.append(Fault("serving_g", None, "the weight of a serving in grams", hint))
    panel, more = sums_of(panel)
    told = tuple(_as_json_holds(fault) for fault in (*faults, *more))
    return replace(panel, faults=told, notes=tuple(notes))


def _fine(values: Mapping[str, Printed]) -> bool:
    return any(-int(value.number.as_tuple().exponent) >= 2 for value in values.values())


def _as_json_holds(fault: Fault) -> Fault:
    """Return the fault with a value that JSON can hold."""
    plain = Fault(**fault.to_json())
    finite = not isinstance(plain.value, float) or isfinite(plain.value)
    return plain if finite else replace(plain, value=str(plain.value))


def _swap_energies(draft: Draft) -> None:
    kj, kcal = draft.values.get("energy_kj"), draft.values.get("energy_kcal")
    if kj and kcal and kj.number and 3.8 < kcal.number / kj.number < 4.6:
        draft.values["energy_kj"], draft.values["energy_kcal"] = kcal, kj
        draft.faults.append(
            Fault("energy_kj", kj.text, "about 4.2 times the kcal", "kJ and kcal changed places; read so.")
        )
        draft.notes.append("kJ and kcal stood in each other's place and were changed back")


def _with_serving(panel: Panel, draft: Draft) -> Panel:
    density = draft.density or (stated("density_low_g_ml"), stated("density_high_g_ml"))
    panel = replace(panel, density_low_g_ml=density[0], density_high_g_ml=density[1])
    serving = draft.serving
    if serving is None and draft.serving_ml is None:
        return panel
    printed = serving if serving is not None else draft.serving_ml
    assert printed is not None
    interval: Interval = (
        printed_interval("US", "serving_g", format(printed, "f"))
        if panel.scheme == "US"
        else last_digit_interval(printed)
    )
    if not interval.lawful:
        interval = last_digit_interval(printed)
    if serving is not None:
        return replace(panel, serving_g=float(serving), serving_low_g=interval.low, serving_high_g=interval.high)
    return replace(
        panel,
        serving_g=float(printed),
        serving_low_g=interval.low * density[0],
        serving_high_g=interval.high * density[1],
    )


def _minerals_by_percent(values: Mapping[str, Printed]) -> bool:
    """Say whether minerals were worked out from % daily values: panels before 2016 print nothing else."""
    if "added_sugars_g" in values:
        return False
    iron = values.get("iron_mg")
    if iron and iron.number > 0 and iron.number % Decimal("0.36") == 0 and -int(iron.number.as_tuple().exponent) >= 2:
        return True
    calcium = values.get("calcium_mg")
    return bool(calcium and calcium.number and calcium.number % 10 != 0)


def _mineral(nutrient: str, printed: Printed, scheme: str | None, by_percent: bool) -> PanelFigure:
    figure = read_figure(nutrient, printed, scheme)
    if scheme != "US" or not by_percent or printed.kind != "number" or not printed.number:
        return figure
    value = {"calcium_mg": Decimal(1000), "iron_mg": Decimal(18), "potassium_mg": Decimal(3500)}.get(nutrient)
    if value is None:
        return figure
    exact = 100 * printed.number / value
    percent = exact.to_integral_value()
    if nutrient == "potassium_mg" or abs(exact - percent) * value / 100 > Decimal("0.3"):
        return figure
    interval = mineral_by_percent(nutrient, percent, "before 2016")
    if interval is None:
        return figure
    low, high = min(figure.low, interval.low), max(figure.high, interval.high)
    return replace(
        figure,
        low=low,
        high=high,
        readings=(("rounding", figure.low, figure.high), ("percent", interval.low, interval.high)),
        note=interval.note,
    )


def _with_percents(
    figures: list[PanelFigure], draft: Draft, converted: bool, notes: list[str], faults: list[Fault]
) -> tuple[list[PanelFigure], str]:
    """Use the % daily values as second measurements; return the lines and the edition they agree with."""
    if not draft.percents or converted:
        return figures, ""
    edition, verdicts = edition_of(figures, draft.values, draft.percents)
    if edition == "before 2016":
        notes.append("the % daily values are those from before 2016")
    found: list[PanelFigure] = []
    for figure in figures:
        percent = draft.percents.get(figure.nutrient)
        if percent is None or figure.nutrient in MINERALS:
            found.append(figure if percent is None else replace(figure, percent_dv=float(percent)))
            continue
        printed = draft.values[figure.nutrient]
        interval, verdict = narrowed_by_percent(
            figure.nutrient, Interval(figure.low, True, figure.high, False), printed.number, float(percent), edition
        )
        figure = replace(figure, percent_dv=float(percent), low=interval.low, high=interval.high)
        if verdict == "narrowed":
            figure = replace(figure, note=(figure.note + f" narrowed by {percent} % of the daily value").strip())
        elif verdict == "contradiction":
            faults.append(
                Fault(
                    figure.nutrient,
                    f"{figure.printed} with {percent}%",
                    "a figure and a percentage that agree",
                    "Check both against the packet; the percentage was left aside.",
                )
            )
        found.append(figure)
    for nutrient, percent in draft.percents.items():
        if nutrient not in draft.values:
            only = (
                mineral_by_percent(nutrient, percent, edition)
                if nutrient in MINERALS
                else percent_interval(nutrient, float(percent), edition)
            )
            if only is not None:
                found.append(
                    PanelFigure(
                        nutrient,
                        f"{percent}%",
                        only.low,
                        only.high,
                        percent_dv=float(percent),
                        note="read from the % daily value alone",
                    )
                )
    del verdicts
    return found, edition if edition in EDITIONS else ""
