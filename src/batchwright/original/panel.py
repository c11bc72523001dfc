"""A nutrition panel from the keys of a file: figures as printed, scheme and basis found out where not given."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.base.tables import rows
from batchwright.original.panel_checks import edition_of, sums_of
from batchwright.original.panel_converted import converted_serving, read_converted
from batchwright.original.panel_reading import (
    EDITIONS,
    MINERALS,
    mineral_by_percent,
    narrowed_by_percent,
    percent_interval,
    read_figure,
    unit_of,
)
from batchwright.original.panel_records import PER_100_G, PER_100_ML, PER_SERVING, Panel, PanelFigure
from batchwright.original.panel_rounding import Interval, bands, last_digit_interval, printed_interval
from batchwright.original.panel_values import Printed, decimal_of, nutrient_of, read_value, spellings, squashed

SCHEME_WORDS = {"us": "US", "usa": "US", "unitedstates": "US", "fda": "US", "american": "US",
                "eu": "EU", "uk": "EU", "gb": "EU", "europe": "EU", "ie": "EU"}  # fmt: skip
SILENT_KEYS = ("servings", "servingspercontainer", "style", "title", "name", "note", "source", "id", "asprepared")
SERVING_KEYS = ("serving", "servingsize", "servingg", "servingweight", "servingweightg", "servingsizeg", "portion",
                "portiong", "portionsize")  # fmt: skip
PERCENT_TABLES = ("percentdv", "dv", "dailyvalues", "dailyvalue", "dvpercent")


@dataclass
class _Draft:
    """What has been gathered from the keys so far."""

    values: dict[str, Printed] = field(default_factory=dict)
    percents: dict[str, Decimal] = field(default_factory=dict)
    scheme: str | None = None
    basis: str | None = None
    serving: Decimal | None = None
    serving_ml: Decimal | None = None
    density: tuple[float, float] | None = None
    column: str = ""
    refused: list[Fault] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


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
    draft = _Draft()
    bare = _zeros_are_storage(mapping)
    for key, value in mapping.items():
        _take(draft, str(key), int(value) if bare and isinstance(value, float) and value.is_integer() else value)
    if draft.refused:
        raise InputError(draft.refused)
    return _assembled(draft)


def _zeros_are_storage(mapping: Mapping[str, Any]) -> bool:
    """Say whether ".0" comes from how the figures were stored and not from the packet: all are floats, 250.0 mg too."""
    numbers = [value for key, value in mapping.items()
               if isinstance(value, (int, float)) and not isinstance(value, bool) and squashed(str(key)) not in SERVING_KEYS]
    return (len(numbers) > 1 and all(isinstance(value, float) for value in numbers)
            and any(value >= 10 and value.is_integer() for value in numbers if isinstance(value, float)))


def _tenths_shown(figures: list[PanelFigure]) -> list[PanelFigure]:
    """Read "8" as 8.0 where the same panel prints tenths in at least two other figures below 10."""
    shown = sum("." in figure.printed and 0.5 < figure.high < 10 and figure.nutrient != "salt_g" for figure in figures)
    if shown < 2:
        return figures
    return [replace(figure, low=figure.readings[0][1], high=figure.readings[0][2])
            if figure.readings and figure.readings[-1][0] == "whole number" else figure for figure in figures]


def _take(draft: _Draft, key: str, value: Any) -> None:
    word = squashed(key)
    if value is None or (isinstance(value, str) and not value.strip()):
        return
    if word == "scheme":
        draft.scheme = SCHEME_WORDS.get(squashed(str(value)))
        if draft.scheme is None:
            draft.faults.append(Fault(key, value, "US or EU", "Left out, the scheme is found out from the figures."))
    elif word in ("basis", "per"):
        _take_basis(draft, key, value)
    elif word in SERVING_KEYS:
        _take_serving(draft, key, value)
    elif word in ("servingml",):
        draft.serving_ml = _positive(draft, key, value)
    elif word in ("density", "densitygml"):
        number = _positive(draft, key, value)
        draft.density = (float(number), float(number)) if number else None
    elif word == "column":
        draft.column = str(value)[:80]
    elif word in PERCENT_TABLES and isinstance(value, Mapping):
        for name, percent in value.items():
            _take(draft, f"{name}_percent_dv", percent)
    elif word not in SILENT_KEYS:
        _take_figure(draft, key, value)


def _take_figure(draft: _Draft, key: str, value: Any) -> None:
    nutrient, is_percent, unit = nutrient_of(key[:120])
    if nutrient is None or nutrient == "serving_g":
        if squashed(key).startswith("vit") or not isinstance(value, (int, float, str)):
            draft.notes.append(f"not used: {key[:60]}")
            return
        near = get_close_matches(squashed(key)[:40], spellings(), 1, 0.8)
        hint = f"Did you mean {spellings()[near[0]]}?" if near else "Nothing was read from it."
        draft.faults.append(Fault(key[:120], value, "a panel key such as energy_kcal, fat_g or sodium_mg", hint))
        return
    if nutrient.startswith("energy") and isinstance(value, str) and _both_energies(draft, key, value):
        return
    read = read_value(key, value, unit or unit_of(nutrient))
    if isinstance(read, Fault):
        draft.refused.append(read)
        return
    if is_percent or read.kind == "percent":
        percent = read.percent_dv if read.kind == "percent" and read.percent_dv is not None else read.number
        draft.percents[nutrient] = percent
        return
    if not read.unit and unit:
        read = replace(read, unit=unit)
    if nutrient == "energy_kcal" and read.unit == "kJ":
        nutrient = "energy_kj"
    elif nutrient == "energy_kj" and read.unit == "kcal":
        nutrient = "energy_kcal"
    if nutrient in draft.values:
        draft.faults.append(Fault(key, value, f"one figure for {nutrient}", "Two keys give it; the first one is kept."))
        return
    draft.values[nutrient] = read.in_unit(unit_of(nutrient))
    if read.percent_dv is not None:
        draft.percents.setdefault(nutrient, read.percent_dv)


def _both_energies(draft: _Draft, key: str, value: str) -> bool:
    """Take "1573 kJ / 373 kcal" as two figures; return whether it was."""
    found = re.findall(r"([0-9][0-9., ]{0,11}) ?(kj|kcal)", value[:80].lower())
    if len({unit for _, unit in found}) < 2:
        return False
    for text, unit in found[:2]:
        _take_figure(draft, f"energy_{unit}", text)
    return True


def _take_basis(draft: _Draft, key: str, value: Any) -> None:
    text = str(value).lower().replace("_", " ")[:80]
    found = re.search(r"([0-9]{1,5}(?:[.,][0-9]+)?) ?(g|ml|gram|grams)\b", text)
    number = decimal_of(found[1], False) if found else None
    if found and number == 100:
        draft.basis = PER_100_ML if found[2] == "ml" else PER_100_G
    elif found or re.search(r"serv|portion|biscuit|cookie|bar|piece|slice|pack", text):
        draft.basis = PER_SERVING
        if found and number and found[2] != "ml" and draft.serving is None:
            draft.serving = number
    else:
        draft.faults.append(Fault(key, value, "per 100 g, per 100 ml or per serving", "Found out from the figures instead."))


def _take_serving(draft: _Draft, key: str, value: Any) -> None:
    if isinstance(value, str):
        found = re.findall(r"([0-9]{1,5}(?:[.,][0-9]{1,4})?) ?(g|gr|gram|grams|ml|oz)\b", value[:120].lower())
        grams = [text for text, unit in found if unit.startswith("g")]
        volumes = [text for text, unit in found if unit == "ml"]
        if volumes and not grams:
            draft.serving_ml = _positive(draft, key, volumes[-1])
            return
        ounces = [text for text, unit in found if unit == "oz"]
        if ounces and not grams:
            number = _positive(draft, key, ounces[-1])
            draft.serving = round(number * Decimal("28.35"), 0) if number else None
            return
        value = grams[-1] if grams else value
    draft.serving = _positive(draft, key, value) or draft.serving


def _positive(draft: _Draft, key: str, value: Any) -> Decimal | None:
    read = read_value(key, value)
    if isinstance(read, Fault):
        draft.refused.append(read)
        return None
    if read.kind != "number" or read.number <= 0:
        draft.refused.append(Fault(key, value, "more than 0", "Weigh a serving, or leave the key out."))
        return None
    return read.number


def _found_basis(draft: _Draft, scheme: str | None) -> str:
    """Return the basis where none was given: European panels speak of 100 g, American ones of a serving."""
    if scheme == "EU" or "salt_g" in draft.values or "energy_kj" in draft.values:
        return PER_100_G
    return PER_SERVING if draft.serving or draft.serving_ml else PER_100_G


def _found_scheme(draft: _Draft, basis: str) -> str | None:
    """Return the scheme that the figures speak of, None where neither fits."""
    if "salt_g" in draft.values or "energy_kj" in draft.values:
        return "EU"
    if basis == PER_SERVING:
        tried = [(key, value) for key, value in draft.values.items() if bands("US", key) and value.kind == "number"]
        fits = sum(printed_interval("US", key, str(value.number)).lawful for key, value in tried)
        macros = [value for key, value in tried if key not in MINERALS]
        return "US" if draft.percents or not macros or fits >= 0.7 * len(tried) else None
    if "sodium_mg" in draft.values or "cholesterol_mg" in draft.values:
        return None
    return "EU"


def _assembled(draft: _Draft) -> Panel:
    basis = draft.basis or _found_basis(draft, draft.scheme)
    scheme = draft.scheme or _found_scheme(draft, basis)
    notes, faults = list(draft.notes), list(draft.faults)
    _swap_energies(draft, notes)
    panel = Panel(basis=basis, scheme=scheme, column=draft.column, fiber_allowance_g=_limit("fiber_allowance_g"))
    panel = _with_serving(panel, draft)
    served = converted_serving(draft.values, draft.serving) if basis == PER_100_G and draft.scheme != "EU" else None
    if served is not None:
        figures = read_converted(draft.values, served, draft.serving is not None)
        panel = replace(panel, scheme="US")
        notes.append(f"figures per 100 g converted from a serving of {served} g: their doubt is that of the serving's print")
    else:
        old = _minerals_by_percent(draft.values)
        figures = [_mineral(key, value, scheme, old) if key in MINERALS else read_figure(key, value, scheme)
                   for key, value in draft.values.items()]
        figures = _tenths_shown(figures)
    figures, edition = _with_percents(figures, draft, served is not None, notes, faults)
    for figure in figures:
        if not figure.lawful:
            faults.append(Fault(figure.nutrient, figure.printed, f"a figure the {scheme or ''} rule prints".replace("  ", " "),
                                f"Kept, {figure.note}"))
    panel = replace(panel, figures=tuple(figures), edition=edition)
    panel, more = sums_of(panel)
    return replace(panel, faults=tuple(faults) + more, notes=tuple(notes))


def _limit(name: str) -> float:
    return next(float(row["value"]) for row in rows("panel_limits") if row["what"] == name)


def _swap_energies(draft: _Draft, notes: list[str]) -> None:
    kj, kcal = draft.values.get("energy_kj"), draft.values.get("energy_kcal")
    if kj and kcal and kj.number and 3.8 < kcal.number / kj.number < 4.6:
        draft.values["energy_kj"], draft.values["energy_kcal"] = kcal, kj
        draft.faults.append(Fault("energy_kj", kj.text, "about 4.2 times the kcal", "kJ and kcal changed places; read so."))
        notes.append("kJ and kcal stood in each other's place and were changed back")


def _with_serving(panel: Panel, draft: _Draft) -> Panel:
    density = draft.density or (_limit("density_low_g_ml"), _limit("density_high_g_ml"))
    panel = replace(panel, density_low_g_ml=density[0], density_high_g_ml=density[1])
    serving = draft.serving
    if serving is None and draft.serving_ml is None:
        return panel
    printed = serving if serving is not None else draft.serving_ml
    assert printed is not None
    interval: Interval = printed_interval("US", "serving_g", str(printed)) if panel.scheme == "US" else \
        last_digit_interval(printed)
    if not interval.lawful:
        interval = last_digit_interval(printed)
    if serving is not None:
        return replace(panel, serving_g=float(serving), serving_low_g=interval.low, serving_high_g=interval.high)
    return replace(panel, serving_g=float(printed), serving_low_g=interval.low * density[0],
                   serving_high_g=interval.high * density[1])


def _minerals_by_percent(values: Mapping[str, Printed]) -> bool:
    """Say whether minerals were worked out from % daily values, as panels before 2016 (which print percent only) are."""
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
    return replace(figure, low=low, high=high, readings=(("rounding", figure.low, figure.high),
                   ("percent", interval.low, interval.high)), note=interval.note)


def _with_percents(figures: list[PanelFigure], draft: _Draft, converted: bool, notes: list[str], faults: list[Fault]
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
        interval, verdict = narrowed_by_percent(figure.nutrient, Interval(figure.low, True, figure.high, False),
                                                printed.number, float(percent), edition)
        figure = replace(figure, percent_dv=float(percent), low=interval.low, high=interval.high)
        if verdict == "narrowed":
            figure = replace(figure, note=(figure.note + f" narrowed by {percent} % of the daily value").strip())
        elif verdict == "contradiction":
            faults.append(Fault(figure.nutrient, f"{figure.printed} with {percent}%", "a figure and a percentage that agree",
                                "Check both against the packet; the percentage was left aside."))
        found.append(figure)
    for nutrient, percent in draft.percents.items():
        if nutrient not in draft.values:
            only = mineral_by_percent(nutrient, percent, edition) if nutrient in MINERALS else \
                percent_interval(nutrient, float(percent), edition)
            if only is not None:
                found.append(PanelFigure(nutrient, f"{percent}%", only.low, only.high, percent_dv=float(percent),
                                         note="read from the % daily value alone"))
    del verdicts
    return found, edition if edition in EDITIONS else ""
