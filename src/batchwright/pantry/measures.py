"""Cups and spoons to grams by convention, and the density of ingredients."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from batchwright.base.tables import number, rows


@dataclass(frozen=True, slots=True)
class Measure:
    """What a measure of an ingredient weighs: `quantity` of `measure` [cup, tbsp, piece ...] is `mass_g`.

    `convention` says how it is filled or who counts so: "dip and sweep", "packed", "table of portions" ... A cup of
    flour weighs 120 g or 142 g by convention; both rows stand.
    """

    measure: str
    quantity: float
    mass_g: float
    volume_ml: float | None
    convention: str
    source: str

    def to_json(self) -> dict[str, Any]:
        """Return the measure with its convention and source."""
        return {"measure": self.measure, "quantity": self.quantity, "mass_g": self.mass_g, "volume_ml": self.volume_ml,
                "convention": self.convention, "source": self.source}  # fmt: skip


@cache
def _by_ingredient() -> Mapping[str, tuple[Measure, ...]]:
    """Return every ingredient's measures in the order of the table."""
    found: dict[str, list[Measure]] = {}
    for row in rows("pantry_measures"):
        found.setdefault(row["ingredient"], []).append(
            Measure(row["measure"], float(row["quantity"]), float(row["mass_g"]), number(row["volume_ml"]),
                    row["convention"], row["source"])
        )  # fmt: skip
    return {name: tuple(each) for name, each in found.items()}


def measures_of(name: str) -> tuple[Measure, ...]:
    """Return the measures of a shelf ingredient, one row per convention; none where the table has none."""
    return _by_ingredient().get(name, ())


def density_of(name: str) -> float | None:
    """Return the density of a shelf ingredient as poured or filled [g/ml], None where no measure gives it.

    That of the first row with a volume: for powders a bulk density, air and all.
    """
    for each in measures_of(name):
        if each.volume_ml:
            return each.mass_g / each.volume_ml
    return None
