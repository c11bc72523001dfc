"""What decoding hands out: each ingredient's share with its ranges, and what was made of the whole label."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from batchwright.base.estimate import Estimate

SIDES = ("low", "high")


def five(estimate: Estimate) -> dict[str, Any]:
    """Return the five numbers of an estimate, without words, rounded to what a label can carry (4 decimals)."""
    numbers = (estimate.likely, estimate.low, estimate.high, estimate.sure_low, estimate.sure_high)
    names = ("likely", "low", "high", "sure_low", "sure_high")
    return {name: None if value is None else round(value, 4) for name, value in zip(names, numbers, strict=True)}


@dataclass(frozen=True, slots=True)
class Pin:
    """A label line that holds one end of a sure range; `side` is "low" or "high"."""

    line: str
    side: str

    def to_json(self) -> dict[str, str]:
        """Return both fields."""
        return {"line": self.line, "side": self.side}


@dataclass(frozen=True, slots=True)
class Share:
    """One ingredient in one part of the food.

    `path` is where it stands in the list, outermost heading first; `match` one of the ways of the shelf (MATCH_WAYS).
    `added_percent` is of the whole listed mass as added, `finished_percent` of the finished food, `bakers_percent` of
    all flour (absent where there is no flour). `cannot_tell` is set where nothing on the label pins it.
    """

    name: str
    path: tuple[str, ...]
    part: str
    match: str
    ingredient: str | None
    added_percent: Estimate
    finished_percent: Estimate
    bakers_percent: Estimate | None
    pinned_by: tuple[Pin, ...] = ()
    cannot_tell: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return the share; the estimates as their five numbers."""
        return {
            "name": self.name,
            "path": list(self.path),
            "part": self.part,
            "match": self.match,
            "ingredient": self.ingredient,
            "added_percent": five(self.added_percent),
            "finished_percent": five(self.finished_percent),
            "bakers_percent": None if self.bakers_percent is None else five(self.bakers_percent),
            "pinned_by": [pin.to_json() for pin in self.pinned_by],
            "cannot_tell": self.cannot_tell,
        }


@dataclass(frozen=True, slots=True)
class Named:
    """A ratio, a part's share or another named estimate."""

    name: str
    estimate: Estimate

    def to_json(self) -> dict[str, Any]:
        """Return the name and the five numbers."""
        return {"name": self.name, **five(self.estimate)}


@dataclass(frozen=True, slots=True)
class Content:
    """How much of a nutrient the finished food holds, g per 100 g: of the whole (`part` empty) or of one part.

    `key` is spelled as everywhere ("fat_g"), `name` in plain words. Sure ends are those of the printed figure.
    """

    key: str
    name: str
    part: str
    estimate: Estimate

    def to_json(self) -> dict[str, Any]:
        """Return key, name, the part where it is one, and the five numbers."""
        said = {"key": self.key, "name": self.name, **({"part": self.part} if self.part else {})}
        return {**said, **five(self.estimate)}


@dataclass(frozen=True, slots=True)
class ClassShare:
    """All ingredients of one class (flour, fat, sugar ...) in percent: of the listed mass as added, of the finished."""

    name: str
    added_percent: Estimate
    finished_percent: Estimate

    def to_json(self) -> dict[str, Any]:
        """Return the name and both estimates as their five numbers."""
        return {"name": self.name, "added_percent": five(self.added_percent),
                "finished_percent": five(self.finished_percent)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Conflict:
    """Label lines that cannot all be true, or that can but hardly are, and what to re-check."""

    lines: tuple[str, ...]
    check: str

    def to_json(self) -> dict[str, Any]:
        """Return both fields."""
        return {"lines": list(self.lines), "check": self.check}


@dataclass(frozen=True, slots=True)
class Narrowing:
    """One more measurement and the mean likely width [points of share] now and after it."""

    measure: str
    width_now: float
    width_expected: float

    def to_json(self) -> dict[str, Any]:
        """Return the three fields."""
        return {
            "measure": self.measure,
            "width_now": round(self.width_now, 3),
            "width_expected": round(self.width_expected, 3),
        }


@dataclass(frozen=True, slots=True)
class FormulaLine:
    """One line of a formula ready to mix [g]; `part` where the food has more than one."""

    name: str
    grams: float
    part: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return name, grams to the milligram, and the part where there is one."""
        line: dict[str, Any] = {"name": self.name, "grams": round(self.grams, 3)}
        return {**line, "part": self.part} if self.part else line


@dataclass(frozen=True, slots=True)
class Answer:
    """What a label says its food is made of.

    `ingredients`: one Share per leaf and part. `items`: the printed top-level items, in printed order (as one whole
    over all parts). `composition`: what the finished food holds; `classes`: shares of the classes of ingredients.
    `one_formula`: a coherent formula in grams, dough water included. `consistent` is False where no
    formula fits every line; `conflicts` then holds the smallest set of lines that contradict each other and the
    answer is the nearest one. Where `consistent` is True, a conflict names the lines of one slip without which the
    label would be far likelier (its `check` begins "possible, but"); the answer takes the label as it is printed.
    """

    name: str
    ingredients: tuple[Share, ...]
    items: tuple[Share, ...]
    bake_loss_percent: Estimate
    dough_water_percent: Estimate
    ratios: tuple[Named, ...]
    parts: tuple[Named, ...]
    one_formula: tuple[FormulaLine, ...]
    mix: str
    narrow_next: tuple[Narrowing, ...]
    consistent: bool
    conflicts: tuple[Conflict, ...]
    repairs: tuple[Mapping[str, Any], ...]
    notes: tuple[str, ...]
    seconds: float
    doubt: str = field(default="")
    composition: tuple[Content, ...] = ()
    classes: tuple[ClassShare, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the answer as the command line and the pages show it."""
        return {
            "name": self.name,
            "ingredients": [share.to_json() for share in self.ingredients],
            "items": [share.to_json() for share in self.items],
            "bake_loss_percent": five(self.bake_loss_percent),
            "dough_water_percent": five(self.dough_water_percent),
            "ratios": [ratio.to_json() for ratio in self.ratios],
            "parts": [part.to_json() for part in self.parts],
            "composition": [content.to_json() for content in self.composition],
            "classes": [share.to_json() for share in self.classes],
            "one_formula": [line.to_json() for line in self.one_formula],
            "mix": self.mix,
            "narrow_next": [step.to_json() for step in self.narrow_next],
            "consistent": self.consistent,
            "conflicts": [conflict.to_json() for conflict in self.conflicts],
            "repairs": [dict(repair) for repair in self.repairs],
            "notes": list(self.notes),
            "seconds": round(self.seconds, 4),
        }
