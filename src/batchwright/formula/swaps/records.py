"""What a swap is: the choices for an ingredient, and what taking one does to a recipe."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from batchwright.base.shown import kept_g
from batchwright.formula.records import Formula

WISHES = ("shop", "vegan", "gluten-free", "no-palm")
"""What a swap may be for: sold in a supermarket, of no animal, without gluten cereals, without the oil palm."""
UNTESTED = "Untested: bake a small batch first."


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to take instead: its ingredients, why, and what else it changes.

    `instead` are names of the shelf ("butter (browned)" for a process), empty to leave the ingredient out. `keys` are
    what is held when the amounts are reckoned, `ratios` the fixed grams per gram where they are not (None = reckoned),
    `balance` what may give or take in the rest of the recipe. `suits` are among WISHES. `tabled` is
    False for the cook's own choice, of which nothing is known but its composition.
    """

    instead: tuple[str, ...]
    ratios: tuple[float | None, ...]
    keys: tuple[str, ...]
    balance: tuple[str, ...]
    suits: tuple[str, ...]
    why: str
    moves: str
    source: str
    basis: str
    tabled: bool = True

    @property
    def name(self) -> str:
        """The choice in words."""
        return " + ".join(self.instead) if self.instead else "leave it out"

    def to_json(self) -> dict[str, Any]:
        """Return all fields and the name."""
        return {"choice": self.name, **asdict(self)}


@dataclass(frozen=True, slots=True)
class Changed:
    """One line that a swap changes: grams before and after (0 where it is new or gone)."""

    part: str
    item: str
    before_g: float
    after_g: float
    why: str

    def to_json(self) -> dict[str, Any]:
        """Return all fields, grams to a hundredth."""
        return {"part": self.part, "item": self.item, "before_g": kept_g(self.before_g),
                "after_g": kept_g(self.after_g), "why": self.why}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Moved:
    """What else moves: grams in the whole recipe as mixed, before and after."""

    what: str
    before_g: float
    after_g: float

    def to_json(self) -> dict[str, Any]:
        """Return all fields, grams to a hundredth."""
        return {"what": self.what, "before_g": kept_g(self.before_g), "after_g": kept_g(self.after_g)}


@dataclass(frozen=True, slots=True)
class Swapped:
    """A recipe with one ingredient swapped.

    `gained` and `no_longer_from_it` are allergens: what the new lines always hold and the old did not, and the reverse,
    said of these lines alone; `read_pack` what the packs of the new ones decide. Nothing here says that the
    recipe is free of anything. `notes` end with UNTESTED.
    """

    what: str
    choice: Choice
    changes: tuple[Changed, ...]
    moved: tuple[Moved, ...]
    gained: tuple[str, ...]
    no_longer_from_it: tuple[str, ...]
    read_pack: tuple[str, ...]
    formula: Formula
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return everything; every command that takes a recipe takes what stands under "formula"."""
        return {
            "what": self.what, "choice": self.choice.to_json(), "changes": [each.to_json() for each in self.changes],
            "moved": [each.to_json() for each in self.moved],
            "allergens": {"gained": list(self.gained), "no_longer_from_it": list(self.no_longer_from_it),
                          "read_pack": list(self.read_pack)},
            "untested": True, "notes": list(self.notes), "formula": self.formula.to_json(),
        }  # fmt: skip
