"""What the pantry hands out: an ingredient, a match of a printed name, a composition with its doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

MATCH_WAYS = ("name", "synonym", "stripped", "head", "spelling", "class", "unknown")


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One row of the shelf. `composition` is per 100 g; a key that is absent is unknown, never 0."""

    name: str
    ingredient_class: str
    composition: Mapping[str, float]
    allergens: tuple[str, ...] = ()
    allergens_read_pack: tuple[str, ...] = ()
    density_g_ml: float | None = None
    source: str = ""
    locator: str = ""
    basis: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Match:
    """How a printed name found its place: `how` is one of MATCH_WAYS.

    `ingredient` is the shelf's name, None where only the class is known or nothing is. `alternatives` are shelf
    ingredients a cook may choose instead; `note` says in words what was assumed.
    """

    printed: str
    how: str
    ingredient: str | None = None
    ingredient_class: str | None = None
    alternatives: tuple[str, ...] = ()
    note: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return the match with the words of `how` as they stand in MATCH_WAYS."""
        return {"printed": self.printed, "match": self.how, "ingredient": self.ingredient,
                "ingredient_class": self.ingredient_class, "alternatives": list(self.alternatives), "note": self.note}


@dataclass(frozen=True, slots=True)
class Profile:
    """Composition per 100 g with its doubt, for the keys of COMPOSITION_KEYS that are known or bounded.

    `typical` the likeliest figure, `spread` one standard deviation of real lots (same unit), `low`..`high` every lot
    within two spreads (a class: as wide as the class; unknown: as wide as food allows).
    """

    typical: Mapping[str, float]
    spread: Mapping[str, float]
    low: Mapping[str, float]
    high: Mapping[str, float]
    notes: tuple[str, ...] = field(default=())
