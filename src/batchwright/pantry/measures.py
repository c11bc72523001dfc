"""Cups and spoons to grams by convention, and the density of ingredients."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from batchwright.base.tables import rows


@cache
def _densities() -> Mapping[str, float]:
    """Return the density [g/ml] of each ingredient that has a row of one."""
    return {
        row["ingredient"]: float(row["mass_g"]) / float(row["volume_ml"])
        for row in rows("pantry_measures")
        if row["convention"] == "density"
    }


def density_of(name: str) -> float | None:
    """Return the density of a shelf ingredient [g/ml], None where no row gives it."""
    return _densities().get(name)
