"""What comparing hands out: a food's band, each recipe's place beside it, and the first moves towards it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from batchwright.base.estimate import Estimate
from batchwright.base.shown import kept_g

RELATIONS = ("inside", "above", "below")
MOVES = ("add", "leave out", "raise", "lower", "swap")


def numbers(estimate: Estimate) -> dict[str, Any]:
    """Return the numbers of an estimate to four decimals; sure ends where there are any."""
    names = ["likely", "low", "high"]
    names += [name for name in ("sure_low", "sure_high") if getattr(estimate, name) is not None]
    return {name: round(getattr(estimate, name), 4) for name in names}


@dataclass(frozen=True, slots=True)
class BandAxis:
    """One axis of the original, percent of the finished food; `key`, `name` and `kind` as in `axes.Axis`."""

    key: str
    name: str
    kind: str
    estimate: Estimate

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"key": self.key, "name": self.name, "kind": self.kind, **numbers(self.estimate)}


@dataclass(frozen=True, slots=True)
class BandPart:
    """One part of the original: what 100 g of it hold, by the keys of the nutrient axes."""

    name: str
    contents: dict[str, Estimate]


@dataclass(frozen=True, slots=True)
class Band:
    """The original that recipes are held against: its axes with their ranges, its parts, and what it is made of.

    `ingredients` names shelf ingredients it lists, (ingredient, part), the largest first.
    """

    name: str
    axes: tuple[BandAxis, ...]
    parts: tuple[BandPart, ...] = ()
    ingredients: tuple[tuple[str, str], ...] = ()
    consistent: bool = True


@dataclass(frozen=True, slots=True)
class Beside:
    """One axis of a recipe beside the original's likely range, both in percent of the finished food.

    `relation` is one of RELATIONS; `by_points` how far beyond the nearest end of the range [points]; `clear` whether
    the two differ by more than both doubts together; `steps` the same distance in the original's own measure.
    """

    key: str
    name: str
    kind: str
    original: Estimate
    recipe: Estimate
    relation: str
    by_points: float
    clear: bool
    steps: float

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {
            "key": self.key,
            "name": self.name,
            "kind": self.kind,
            "original": numbers(self.original),
            "recipe": numbers(self.recipe),
            "relation": self.relation,
            "by_points": round(self.by_points, 4),
            "larger_than_doubt": self.clear,
            "steps": round(self.steps, 4),
        }


@dataclass(frozen=True, slots=True)
class Compared:
    """One recipe held against the original. `place` is where it stood among the recipes given, from 0.

    `distance` has no unit: 0 is inside every range. `as_near` is set where its doubt reaches that of the nearest.
    `parts` pairs the recipe's parts with the original's (empty name: no counterpart).
    """

    place: int
    name: str
    axes: tuple[Beside, ...]
    distance: Estimate
    reason: str
    as_near: bool = False
    parts: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {
            "name": self.name,
            "distance": numbers(self.distance),
            "reason": self.reason,
            "as_near_as_the_nearest": self.as_near,
            "axes": [axis.to_json() for axis in self.axes],
            "parts": [{"recipe": mine, "original": theirs} for mine, theirs in self.parts],
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True)
class Move:
    """One single change. `kind` is one of MOVES; `item` changes from `from_g` to `to_g` in `part`.

    A swap also takes `for_item` from `for_from_g` to `for_to_g`. `reason` says what it brings; `distance_after` is
    that of the recipe with this move and those before it.
    """

    kind: str
    part: str
    item: str
    from_g: float
    to_g: float
    reason: str
    distance_after: float
    for_item: str = ""
    for_from_g: float = 0.0
    for_to_g: float = 0.0
    required: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields; those of the swap where it is one."""
        plain: dict[str, Any] = {
            "kind": self.kind,
            "part": self.part,
            "item": self.item,
            "from_g": kept_g(self.from_g),
            "to_g": kept_g(self.to_g),
            "change_g": kept_g(self.to_g - self.from_g),
        }
        if self.for_item:
            plain["for"] = {"item": self.for_item, "from_g": kept_g(self.for_from_g),
                            "to_g": kept_g(self.for_to_g)}  # fmt: skip
        return {**plain, "required": self.required, "reason": self.reason,
                "distance_after": round(self.distance_after, 4)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class FirstMoves:
    """The few single changes that together bring one recipe closest: in order, the largest gain first.

    `formula` is the recipe after them, as every command takes it back (the JSON of a formula).
    """

    recipe: str
    moves: tuple[Move, ...]
    distance_before: float
    distance_after: float
    formula: dict[str, Any]
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {
            "recipe": self.recipe,
            "distance_before": round(self.distance_before, 4),
            "distance_after": round(self.distance_after, 4),
            "moves": [move.to_json() for move in self.moves],
            "notes": list(self.notes),
            "formula": self.formula,
        }


@dataclass(frozen=True, slots=True)
class Comparison:
    """Recipes beside the original, the nearest first; `moves` where they were asked for."""

    original: str
    recipes: tuple[Compared, ...]
    moves: FirstMoves | None = None
    notes: tuple[str, ...] = field(default=())

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {
            "original": self.original,
            "recipes": [recipe.to_json() for recipe in self.recipes],
            "moves": None if self.moves is None else self.moves.to_json(),
            "notes": list(self.notes),
        }
