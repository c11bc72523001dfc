"""Invented labels with a known formula, for the tests of bounds and conflicts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from batchwright.original.panels.rounding import print_amount, printed_interval
from batchwright.original.region.problem import PanelRow, Problem, Row

NUTRIENTS = (
    "energy_kcal",
    "fat_g",
    "saturated_fat_g",
    "carbohydrate_g",
    "fiber_g",
    "sugars_g",
    "protein_g",
    "sodium_mg",
)
UNITS = {"energy_kcal": "kcal", "sodium_mg": "mg"}


@dataclass(frozen=True)
class Invented:
    """A label, the formula x it was printed from, and the figures as printed, by nutrient."""

    problem: Problem
    truth: NDArray[np.float64]
    printed: dict[str, str]
    serving_g: float


def panel_row(nutrient: str, text: str, serving_g: float) -> PanelRow:
    """Return the panel row of a figure printed per serving by the US rules."""
    interval = printed_interval("US", nutrient, text)
    line = f"{nutrient.rsplit('_', 1)[0].replace('_', ' ')} {text} {UNITS.get(nutrient, 'g')}"
    return PanelRow(nutrient, interval.low * 100.0 / serving_g, interval.high * 100.0 / serving_g, line)


def composition(luck: np.random.Generator, n: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return (K, n) amounts per 100 g and (n,) water of random but possible ingredients, some nearly pure."""
    parts = (
        luck.dirichlet([0.35, 0.35, 0.35, 0.1, 0.35], size=n).T * 100.0
    )  # fat, sugars, starch and fibre, protein, water
    fat, sugars, starch, protein, water = parts
    fiber = starch * luck.uniform(0.0, 0.2, n)
    sodium = luck.exponential(150.0, n)
    carbohydrate = sugars + starch
    energy = 9.0 * fat + 4.0 * (carbohydrate + protein)
    saturated = fat * luck.uniform(0.1, 0.7, n)
    return np.array([energy, fat, saturated, carbohydrate, fiber, sugars, protein, sodium]), water


def invented_label(
    luck: np.random.Generator, n: int | None = None, parts: int = 1, doubt: float = 0.0, quid: bool = False
) -> Invented:
    """Return a random label: ordered list, US panel per serving, perhaps parts, doubt, a declared percentage."""
    n = int(luck.integers(3, 12)) if n is None else n
    part_of = np.sort(np.concatenate([np.arange(parts), luck.integers(0, parts, n - parts)]))
    amounts, water = composition(luck, n)
    shares = luck.dirichlet(np.full(n, 0.8))
    rows: list[Row] = []
    for part in range(parts):
        places = np.flatnonzero(part_of == part)
        shares[places] = np.sort(shares[places])[::-1]
        rows += [
            Row({int(a): 1.0, int(b): -1.0}, 0.0, np.inf, f"order: item {a} before item {b}", "order")
            for a, b in pairwise(places)
        ]
    mass = np.array([shares[part_of == part].sum() for part in range(parts)])
    most = np.array([(shares * water / 100.0)[part_of == part].sum() for part in range(parts)])
    finished = mass - np.minimum(luck.uniform(0.0, 0.2, parts) * mass, most * luck.uniform(0.0, 1.0, parts))
    serving_g = float(luck.integers(20, 120))
    per_100g = amounts @ shares / finished.sum()
    printed = {
        key: print_amount("US", key, amount * serving_g / 100.0)
        for key, amount in zip(NUTRIENTS, per_100g, strict=True)
    }
    if quid:
        declared = round(100.0 * shares[0] / finished.sum())
        low, high = (declared - 0.5) / 100.0, (declared + 0.5) / 100.0
        whole = {n + part: 1.0 for part in range(parts)}
        rows.append(Row({0: 1.0, **dict.fromkeys(whole, -low)}, 0.0, np.inf, f"item 0 {declared} %", "quid"))
        rows.append(Row({0: 1.0, **dict.fromkeys(whole, -high)}, -np.inf, 0.0, f"item 0 {declared} %", "quid"))
    low, high = amounts * (1.0 - doubt), amounts * (1.0 + doubt)
    problem = Problem(
        names=tuple(f"item {place}" for place in range(n)),
        part_of=tuple(int(part) for part in part_of),
        part_names=tuple(f"part {part}" for part in range(parts)),
        nutrients=NUTRIENTS,
        typical=amounts,
        spread=amounts * doubt / 2.0,
        low=low,
        high=high,
        water_typical=water,
        water_low=water,
        water_high=water,
        rows=tuple(rows),
        panel=tuple(panel_row(key, text, serving_g) for key, text in printed.items()),
        loss_max=0.3,
    )
    return Invented(problem, np.concatenate([shares, finished]), printed, serving_g)
