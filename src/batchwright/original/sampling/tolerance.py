"""How far a packet's figures may lie from the food in it: what the likely range allows beyond rounding and lots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from batchwright.base.tables import number, rows
from batchwright.original.region.problem import Floats, PanelRow, Problem

# One row of the guidance speaks of all of these.
AS_CARBOHYDRATE = ("available_carbohydrate_g", "sugars_g", "added_sugars_g", "fiber_g", "protein_g")
# Both from packets that declare percentages (common practice gives neither): where the likely range held best.
USED = 1.0  # of the legal tolerance
BY_MATCH = {"stripped": 1.3, "head": 2.0, "spelling": 1.3, "class": 1.5, "unknown": 1.0}
LOTS = 3.5  # spread of a named ingredient in packets at large, against the stated spread of its lots


@cache
def _table() -> tuple[tuple[str, float, float, float, float], ...]:
    found = []
    for row in rows("label_tolerances"):
        ends = number(row["from_g_per_100g"]) or 0.0, number(row["to_g_per_100g"]) or 0.0
        either = number(row["plus_minus_g"]) or 0.0, (number(row["plus_minus_percent"]) or 0.0) / 100.0
        found.append((row["nutrient"], *ends, *either))
    return tuple(found)


def tolerance_per_100g(nutrient: str, declared: float) -> float:
    """Return the tolerance of a figure `declared` [per 100 g, unit of `nutrient`]; energy a tenth, minerals a third."""
    if nutrient == "sodium_mg":
        return 1000.0 * tolerance_per_100g("sodium_g", declared / 1000.0)
    name = "carbohydrate_g" if nutrient in AS_CARBOHYDRATE else nutrient
    for known, low, high, grams, fraction in _table():
        if known == name and low <= declared <= high:
            return grams + fraction * declared
    if nutrient == "energy_kcal":
        return 0.1 * declared
    return 0.35 * declared if nutrient.endswith("_mg") else 0.2 * declared


def as_packets_are(problem: Problem, ways: Sequence[str], used: float = USED, lots: float = LOTS) -> Problem:
    """Return a task whose panel and compositions leave the room that packets at large take.

    ways: how each unknown was matched (n); used: times the legal tolerance [factor]; lots: times the stated spread of
    lots [factor]. For the likely range only: the sure range holds to what is printed.
    """
    figures: list[PanelRow] = []
    for figure in problem.panel:
        middle = (figure.low + figure.high) / 2 if np.isfinite(figure.high) else figure.low
        room = used * tolerance_per_100g(figure.nutrient, max(middle, 0.0))
        figures.append(replace(figure, low=max(0.0, figure.low - room), high=figure.high + room))
    factor: Floats = np.array([lots * BY_MATCH.get(way, 1.0) for way in ways])
    return replace(problem, panel=tuple(figures), spread=problem.spread * factor)
