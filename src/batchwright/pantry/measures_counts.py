"""What one egg, stick, clove, bunch, packet or lemon weighs, with the range between lots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

from batchwright.base.tables import rows

ALIKE_UNITS = {"envelope": "package", "sachet": "package", "packet": "package", "tin": "can", "bulb": "head",
               "rib": "stalk", "stem": "stalk", "rasher": "slice", "strip": "slice", "block": "block",
               "bag": "package", "box": "package", "carton": "package", "tub": "package", "bottle": "jar",
               "container": "package", "piece": ""}  # fmt: skip

SMALL_PACKS = frozenset({"envelope", "sachet"})
SMALL_KINDS = frozenset({"acid", "colour", "flavour", "gum", "leavening", "salt", "spice", "yeast"})
"""A few grams of yeast, sugar or spice: what packages of most foods weigh says nothing of them (common practice)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What one piece weighs [g], 90 % within low..high; `what` as in `measures_fills.Fill`."""

    low_g: float
    likely_g: float
    high_g: float
    what: str
    unit: str
    size: str
    source: str
    basis: str

    @property
    def kin(self) -> bool:
        """True where the weight is that of its kind, not its own."""
        return self.what.startswith(("class:", "any"))


@cache
def _table() -> Mapping[tuple[str, str, str], Piece]:
    """Return (what, unit, size) to the piece."""
    found = {}
    for row in rows("pantry_counts"):
        for what in row["what"].split(";"):
            found[what, row["unit"], row["size"]] = Piece(
                float(row["low_g"]), float(row["likely_g"]), float(row["high_g"]), what, row["unit"], row["size"],
                row["source"], row["basis"]
            )  # fmt: skip
    return found


def piece_of(item: Sequence[str], ingredient: str | None, ingredient_class: str | None, unit: str = "",
             size: str = "", place: str = "US") -> Piece | None:  # fmt: skip
    """Return what one `unit` of a food weighs, "" a piece of it; None where nothing is known of it.

    item: the words of the recipe's name for it; ingredient, ingredient_class: what the shelf takes it for; size: small,
    medium, large, extra-large, jumbo or "" where none is said; place: "UK" takes the egg classes of the UK and EU.
    """
    return _piece(tuple(item), ingredient, ingredient_class, unit, size, place)


@lru_cache(maxsize=16_384)
def _piece(
    item: tuple[str, ...], ingredient: str | None, ingredient_class: str | None, unit: str, size: str, place: str
) -> Piece | None:
    table = _table()
    words = _words(item)
    whole = [name for name in words if " " in name or ":" in name]  # a cherry tomato is no tomato
    names = [name for name in (*whole, ingredient, *words) if name]
    if ingredient == "whole egg" and place in ("UK", "AU", "metric"):
        names.insert(0, "UK egg")
    names += [f"class:{ingredient_class}", "any"]
    for asked in dict.fromkeys((unit, ALIKE_UNITS.get(unit, unit))):
        packs = asked == "package" and (unit in SMALL_PACKS or ingredient_class in SMALL_KINDS)
        for name in [name for name in names if not packs or (name != "any" and not name.startswith("class:"))]:
            for wanted in dict.fromkeys((size, "")):
                if (name, asked, wanted) in table:
                    return table[name, asked, wanted]
    return None


def _words(item: Sequence[str]) -> list[str]:
    """Return the item's words and pairs of words as the table may name them, the last first, plurals made one."""
    single = [_one(word) for word in reversed(item)]
    pairs = [f"{_one(first)} {_one(last)}" for first, last in pairwise(item)]
    return [f"word:{' '.join(item)}", *pairs, *single, *reversed(list(item))]


def _one(word: str) -> str:
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith("oes"):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith(("ss", "us", "is")) else word
