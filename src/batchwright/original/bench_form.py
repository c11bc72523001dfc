"""A label whose every ingredient comes with its composition (the form of the side-by-side files) as a Problem.

One record holds `serving_g`, `ingredients` in printed order with `per_100g` and `water_g`, `n_ordered`,
`minor_max_share`, `water_loss_max` and a `panel` of amounts per serving as half-open intervals. No name is matched.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Any

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.original.region.problem import Floats, PanelRow, Problem, Row
from batchwright.original.sampling.bank import title_stems

# The record's keys, ours, and how a panel line names them.
PANEL_NAMES = {
    "calories": ("energy_kcal", "energy", "kcal"),
    "total_fat": ("fat_g", "fat", "g"),
    "saturated_fat": ("saturated_fat_g", "saturated fat", "g"),
    "total_carbohydrate": ("carbohydrate_g", "carbohydrate", "g"),
    "dietary_fiber": ("fiber_g", "fiber", "g"),
    "total_sugars": ("sugars_g", "sugars", "g"),
    "protein": ("protein_g", "protein", "g"),
    "sodium": ("sodium_mg", "sodium", "mg"),
    "cholesterol": ("cholesterol_mg", "cholesterol", "mg"),
    "calcium": ("calcium_mg", "calcium", "mg"),
    "iron": ("iron_mg", "iron", "mg"),
    "potassium": ("potassium_mg", "potassium", "mg"),
}
SHRINKING = ("fat_g", "saturated_fat_g", "carbohydrate_g", "fiber_g", "sugars_g", "protein_g")
ENERGY_FACTORS = {"fat_g": 9.0, "carbohydrate_g": 4.0, "protein_g": 4.0}  # kcal per g, 21 CFR 101.9(c)(1)(i)(B)
SPREADS = 2.0  # how many stated spreads the sure range allows a composition to lie off
MINOR_LINE = "group: the minor ingredients, each at most {percent:g} %"


def problem_from_case(case: Mapping[str, Any]) -> Problem:
    """Return the decoding task of one record whose ingredients carry their composition.

    case: a mapping as described at the head of this file; `composition_sd` of an ingredient is its relative standard
    deviation (absent or 0 = exact). With it, a macronutrient's spread shrinks towards purity
    (sd x min(1, (100 - value)/40)), energy follows fat, carbohydrate and protein (9/4/4 kcal per g), water is exact,
    and `low`/`high` are the values within two spreads on a log scale that mass allows (`composition_doubt`).

    Returns one part, rows for printed order and the minor group, panel rows per 100 g finished.
    Raises InputError with every fault found (missing list, text for a number, serving of 0, names twice).
    """
    faults: list[Fault] = []
    items = case.get("ingredients")
    if not isinstance(items, list) or not items or not all(isinstance(item, Mapping) for item in items):
        raise InputError([Fault("ingredients", items, "a list of at least one ingredient", "give the printed list")])
    names = tuple(str(item.get("name", "")) for item in items)
    for place, name in enumerate(names):
        if not name or name in names[:place]:
            faults.append(Fault(f"ingredients[{place}].name", name, "a name used once in the list"))
    serving_g = _number(case, "serving_g", 1e-6, 1e6, None, "serving_g", faults)
    loss_max = _number(case, "water_loss_max", 0.0, 1.0, 0.5, "water_loss_max", faults)
    keys = tuple(PANEL_NAMES)
    nutrients = tuple(PANEL_NAMES[key][0] for key in keys)
    typical = np.zeros((len(keys), len(items)))
    deviation = np.zeros(len(items))
    water = np.zeros((2, len(items)))
    for place, item in enumerate(items):
        where = f"ingredients[{place}]"
        content = _mapping(item, "per_100g", faults, where)
        for row, key in enumerate(keys):
            # a value the source does not know counts as 0, in the panel as well; fortifiers may stand at 1000 g
            top = 1e5 if nutrients[row].endswith("_mg") else 1000.0
            typical[row, place] = _number(content, key, 0.0, top, 0.0, f"{where}.per_100g.{key}", faults)
        deviation[place] = _number(item, "composition_sd", 0.0, 1.0, 0.0, f"{where}.composition_sd", faults)
        if item.get("water_g") is None:
            water[:, place] = 0.0, 100.0
        else:
            water[:, place] = _number(item, "water_g", 0.0, 100.5, None, f"{where}.water_g", faults)
    panel = _panel_rows(_mapping(case, "panel", faults), serving_g, faults)
    rows = _list_rows(case, names, faults)
    if faults:
        raise InputError(faults)
    spread, low, high = composition_doubt(nutrients, typical, deviation, water[0])
    return Problem(
        names=names,
        part_of=(0,) * len(names),
        part_names=("whole",),
        nutrients=nutrients,
        typical=typical,
        spread=spread,
        low=low,
        high=high,
        water_typical=water.mean(axis=0),
        water_low=water[0],
        water_high=water[1],
        rows=rows,
        panel=panel,
        loss_max=loss_max,
        kinds=tuple(str(item.get("kind", "")) for item in items),
        title_words=title_stems(str(case.get("name", ""))),
        sort=str(case.get("category", "")),
    )


def composition_doubt(
    nutrients: tuple[str, ...], typical: Floats, deviation: Floats, water: Floats, spreads: float = SPREADS
) -> tuple[Floats, Floats, Floats]:
    """Return (spread, low, high), each (K, n), of compositions known to a relative standard deviation.

    nutrients: K keys; typical: (K, n) per 100 g; deviation: (n,) relative standard deviation [fraction, 0-1];
    water: (n,) least water [g per 100 g]; spreads: how many spreads `low` and `high` lie off on a log scale [-, >= 0].
    Macronutrients shrink towards purity; the spread of energy adds those of fat, carbohydrate and protein in
    quadrature at 9, 4 and 4 kcal per g. What mass forbids is cut off: fat, carbohydrate, protein and water make at most
    100 g (or what the typical values already make), saturated fat is part of fat, sugars and fiber of carbohydrate.
    """
    relative = np.repeat(deviation[None, :], len(nutrients), axis=0)
    macros = [row for row, key in enumerate(nutrients) if key in SHRINKING]
    relative[macros] *= np.clip((100.0 - typical[macros]) / 40.0, 0.0, 1.0)
    spread = relative * typical
    low, high = typical * np.exp(-spreads * relative), typical * np.exp(spreads * relative)
    place = {key: row for row, key in enumerate(nutrients)}
    main = [place[key] for key in ENERGY_FACTORS]
    for row in main:
        others = low[main].sum(axis=0) - low[row]
        high[row] = np.minimum(high[row], np.maximum(100.0 - water - others, typical[row]))
    for key, holder in (("saturated_fat_g", "fat_g"), ("sugars_g", "carbohydrate_g"), ("fiber_g", "carbohydrate_g")):
        row = place[key]
        high[row] = np.minimum(high[row], np.maximum(high[place[holder]], typical[row]))
    energy = place["energy_kcal"]
    factors = np.array(list(ENERGY_FACTORS.values()))
    spread[energy] = np.sqrt((factors**2) @ spread[main] ** 2)
    low[energy] = np.maximum(typical[energy] - spreads * spread[energy], 0.0)
    high[energy] = typical[energy] + spreads * spread[energy]
    # the most energy within that mass: as much fat as fits, the rest of the dry matter at 4 kcal per g
    fat, carbohydrate, protein = main
    room = np.maximum(100.0 - water, typical[main].sum(axis=0))
    most_fat = np.minimum(high[fat], room - low[carbohydrate] - low[protein])
    rest = np.minimum(high[carbohydrate] + high[protein], room - most_fat)
    most = 9.0 * most_fat + 4.0 * rest + typical[energy] - factors @ typical[main]
    high[energy] = np.minimum(high[energy], np.maximum(most, typical[energy]))
    return spread, low, high


def _list_rows(case: Mapping[str, Any], names: tuple[str, ...], faults: list[Fault]) -> tuple[Row, ...]:
    """Return the rows of printed order and of the minor group."""
    n_ordered = int(_number(case, "n_ordered", 0, len(names), float(len(names)), "n_ordered", faults))
    rows = [
        Row({place: 1.0, place + 1: -1.0}, 0.0, np.inf, f"order: {names[place]} before {names[place + 1]}", "order")
        for place in range(n_ordered - 1)
    ]
    if case.get("minor_max_share") is not None:
        share = _number(case, "minor_max_share", 0.0, 1.0, None, "minor_max_share", faults)
        line = MINOR_LINE.format(percent=100.0 * share)
        rows += [Row({place: 1.0}, -np.inf, share, line, "group") for place in range(n_ordered, len(names))]
    return tuple(rows)


def _panel_rows(panel: Mapping[str, Any], serving_g: float, faults: list[Fault]) -> tuple[PanelRow, ...]:
    """Return the panel's intervals per 100 g finished."""
    rows = []
    for key, (nutrient, title, unit) in PANEL_NAMES.items():
        if key not in panel:
            continue
        entry = _mapping(panel, key, faults, "panel")
        low = _number(entry, "low", 0.0, 1e7, None, f"panel.{key}.low", faults)
        high = _number(entry, "high", 0.0, 1e7, None, f"panel.{key}.high", faults)
        if low > high:
            faults.append(Fault(f"panel.{key}", [low, high], "low <= high", "swap the two ends"))
        line = f"{title} {entry.get('printed', f'{low:g}-{high:g}')} {unit}"
        rows.append(PanelRow(nutrient, low * 100.0 / serving_g, high * 100.0 / serving_g, line))
    return tuple(rows)


def _mapping(holder: Mapping[str, Any], key: str, faults: list[Fault], where: str = "") -> Mapping[str, Any]:
    """Return a mapping held under a key, an empty one where it is absent; a fault where it is something else."""
    value = holder.get(key)
    if value is None:
        return {}
    if not isinstance(value, Mapping):
        faults.append(Fault(f"{where}.{key}" if where else key, value, "a table of named values"))
        return {}
    return value


def _number(
    holder: Mapping[str, Any], key: str, low: float, high: float, absent: float | None, field: str, faults: list[Fault]
) -> float:
    """Return a finite number between low and high; note a fault (and return 1) where there is none."""
    value = holder.get(key)
    if value is None and absent is not None:
        return absent
    numeric = isinstance(value, (int, float)) and not isinstance(value, bool)
    if value is None or not numeric or not isfinite(value) or not low <= value <= high:
        faults.append(Fault(field, value, f"a number from {low:g} to {high:g}"))
        return 1.0
    return float(value)
