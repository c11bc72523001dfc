"""Gathering a panel's keys: which figure, which serving, which basis; every refusal with its reason."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from batchwright.base.errors import Fault
from batchwright.original.panels.reading import unit_of
from batchwright.original.panels.records import PER_100_G, PER_100_ML, PER_SERVING
from batchwright.original.panels.values import (
    IN_GRAMS,
    Printed,
    decimal_of,
    nutrient_of,
    read_value,
    spellings,
    squashed,
)

SCHEME_WORDS = {"us": "US", "usa": "US", "unitedstates": "US", "fda": "US", "american": "US",
                "eu": "EU", "uk": "EU", "gb": "EU", "europe": "EU", "ie": "EU"}  # fmt: skip
SILENT_KEYS = ("servings", "servingspercontainer", "style", "title", "name", "note", "source", "id", "asprepared")
SERVING_KEYS = ("serving", "servingsize", "servingg", "servingweight", "servingweightg", "servingsizeg", "portion",
                "portiong", "portionsize")  # fmt: skip
PERCENT_TABLES = ("percentdv", "dv", "dailyvalues", "dailyvalue", "dvpercent")


@dataclass
class Draft:
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


def zeros_are_storage(mapping: Mapping[str, Any]) -> bool:
    """Say whether ".0" comes from how the figures were stored and not from the packet: all are floats, 250.0 mg too."""
    numbers = [
        value
        for key, value in mapping.items()
        if isinstance(value, (int, float)) and not isinstance(value, bool) and squashed(str(key)) not in SERVING_KEYS
    ]
    return (
        len(numbers) > 1
        and all(isinstance(value, float) for value in numbers)
        and any(value >= 10 and value.is_integer() for value in numbers if isinstance(value, float))
    )


def take(draft: Draft, key: str, value: Any) -> None:
    """Take one key and its value into the draft: a figure, a percentage, the serving, the basis or the scheme."""
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
            take(draft, f"{name}_percent_dv", percent)
    elif word not in SILENT_KEYS:
        _take_figure(draft, key, value)


def _take_figure(draft: Draft, key: str, value: Any) -> None:
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
    if read.unit and (read.unit in IN_GRAMS) != (unit_of(nutrient) in IN_GRAMS):
        allowed = "kcal or kJ" if nutrient.startswith("energy") else "g, mg or µg"
        draft.refused.append(Fault(key, value, allowed, "Look which line of the panel the figure belongs to."))
        return
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


def _both_energies(draft: Draft, key: str, value: str) -> bool:
    """Take "1573 kJ / 373 kcal" as two figures; return whether it was."""
    found = re.findall(r"([0-9][0-9., ]{0,11}) ?(kj|kcal)", value[:80].lower())
    if len({unit for _, unit in found}) < 2:
        return False
    for text, unit in found[:2]:
        _take_figure(draft, f"energy_{unit}", text)
    return True


def _take_basis(draft: Draft, key: str, value: Any) -> None:
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
        draft.faults.append(
            Fault(key, value, "per 100 g, per 100 ml or per serving", "Found out from the figures instead.")
        )


def _take_serving(draft: Draft, key: str, value: Any) -> None:
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
        if not grams and re.match(r"\s*[0-9][0-9.,/ ]*[a-z]", value.lower()):
            draft.faults.append(Fault(key, value, 'a weight such as "31 g"', "Weigh one serving."))
            return
        value = grams[-1] if grams else value
    draft.serving = _positive(draft, key, value) or draft.serving


def _positive(draft: Draft, key: str, value: Any) -> Decimal | None:
    read = read_value(key, value)
    if isinstance(read, Fault):
        draft.refused.append(read)
        return None
    if read.kind != "number" or read.number <= 0:
        draft.refused.append(Fault(key, value, "more than 0", "Weigh a serving, or leave the key out."))
        return None
    return read.number
