"""Units of kitchens: what a cup, a spoon, an ounce holds or weighs, by country."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from batchwright.base.tables import number, rows

US_CUP_ML = 236.5882  # NIST Handbook 44, Appendix C: half a liquid pint


@dataclass(frozen=True, slots=True)
class KitchenUnit:
    """One unit as one country uses it: a volume [ml] with the range cooks mean by it, or a mass [g]."""

    name: str
    place: str
    volume_ml: float | None
    mass_g: float | None
    low_ml: float | None
    high_ml: float | None
    source: str


@cache
def _units() -> Mapping[tuple[str, str], KitchenUnit]:
    """Return (unit, place) to the unit."""
    found = {}
    for row in rows("pantry_units"):
        volume = number(row["volume_ml"])
        found[row["unit"], row["place"]] = KitchenUnit(
            row["unit"], row["place"], volume, number(row["mass_g"]), number(row["low_ml"]) or volume,
            number(row["high_ml"]) or volume, row["source"]
        )  # fmt: skip
    return found


def unit_of(name: str, place: str = "US") -> KitchenUnit | None:
    """Return the unit of that name, singular and in full, as `place` uses it; None for one that is a count.

    place: "US", "UK", "AU", "metric", "imperial", "label". Where a place has none of its own, that of all places or
    of the US is taken.
    """
    table = _units()
    return next((table[key] for key in ((name, place), (name, ""), (name, "US"), (name, "UK")) if key in table), None)


def places() -> tuple[str, ...]:
    """Return the places whose cups and spoons are known."""
    return tuple(dict.fromkeys(place for _, place in _units() if place))
