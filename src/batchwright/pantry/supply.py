"""Where an ingredient is sold, and whether it comes of an animal or of the oil palm: what a cook's wishes ask.

By class of the shelf, with the ingredients that differ from their class. Usual make-up only: the pack decides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from batchwright.base.tables import rows

SOLD = ("supermarket", "specialist", "trade")
"""Where a cook finds it: on a supermarket's shelf, from a baker's or health-food supplier, from the trade alone."""
ORIGINS = ("no", "some", "yes")
"""Whether it is of animal origin, or holds palm: never, in some makes, always."""


@dataclass(frozen=True, slots=True)
class Supply:
    """Of one ingredient: `sold` one of SOLD; `animal` and `palm` each one of ORIGINS."""

    sold: str
    animal: str
    palm: str


UNKNOWN = Supply("trade", "some", "some")  # of what nobody knows nothing is promised


@cache
def _table(kind: str) -> Mapping[str, Supply]:
    return {
        row["what"]: Supply(row["sold"], row["animal"], row["palm"])
        for row in rows("pantry_supply")
        if row["kind"] == kind
    }


def supply_of(ingredient: str, ingredient_class: str = "") -> Supply:
    """Return where an ingredient is sold and what it comes of.

    ingredient: a name of the shelf, or empty; ingredient_class: its class. An ingredient without a row of its own is
    taken as its class, one of no known class as anything.
    """
    return _table("ingredient").get(ingredient) or _table("class").get(ingredient_class) or UNKNOWN
