"""A formula written back in kitchen measures: what each line says, what that weighs, and what it does to the ratios."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from batchwright.formula.records import Written

UNITS = ("us", "metric")
UNKNOWN = "no grams are known for"
"""How `WrittenLine.why` begins where a line has no amount that can be written."""


@dataclass(frozen=True, slots=True)
class WrittenLine:
    """One ingredient line in kitchen measures.

    `text` is the amount as a card prints it ("1 1/4 cups plus 2 tablespoons", "2 large", "a pinch"), empty where the
    line can only be weighed or has no amount; `amounts` the same as numbers. `item` is the noun that follows it ("eggs"
    after "2 large"). `grams` is what the writing weighs by the convention, None where the line has no grams;
    `wanted_g` what the formula asks for in this batch. `exact` says that the two differ by half a percent at most.
    `percent_before` and `percent_after` are of the flour, of everything where there is no flour. `tolerance_percent` is
    how far the percentage may move (relative), `doubt_percent` how far one cook's measure is from another's.
    `weigh_it` says that the line must be weighed, `why` in words. `filling` is how the measure is filled where that is
    the line's own and not the page's (packed, sifted): a card prints it.
    """

    part: str
    item: str
    text: str
    grams: float | None
    wanted_g: float | None
    exact: bool = False
    weigh_it: bool = False
    why: str = ""
    amounts: tuple[Written, ...] = ()
    ingredient: str | None = None
    preparation: str = ""
    percent_before: float | None = None
    percent_after: float | None = None
    tolerance_percent: float | None = None
    doubt_percent: float | None = None
    filling: str = ""

    @property
    def shift_percent(self) -> float | None:
        """How far the line's percentage moves, in percent of itself; None without grams."""
        if not self.percent_before or self.percent_after is None:
            return None
        return 100.0 * (self.percent_after / self.percent_before - 1.0)

    def to_json(self) -> dict[str, Any]:
        """Return all fields, figures to five places (a pinch in a large batch), and the shift."""
        numbers = {name: getattr(self, name) for name in (
            "grams", "wanted_g", "percent_before", "percent_after", "shift_percent", "tolerance_percent",
            "doubt_percent")}  # fmt: skip
        return {
            "part": self.part, "item": self.item, "text": self.text, "ingredient": self.ingredient,
            "preparation": self.preparation, "filling": self.filling,
            "amounts": [each.to_json() for each in self.amounts], "exact": self.exact,
            "weigh_it": self.weigh_it, "why": self.why,
            **{name: None if value is None else round(value, 5) for name, value in numbers.items()},
        }  # fmt: skip

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> WrittenLine:
        """Read back what `to_json` wrote."""
        fields = {name: value for name, value in document.items() if name != "shift_percent"}
        return cls(**{**fields, "amounts": tuple(Written(**each) for each in document.get("amounts", ()))})


@dataclass(frozen=True, slots=True)
class Writing:
    """A whole formula in kitchen measures.

    `lines` stand in the formula's order, further ingredients of one line after it. `convention` is the name of whose
    cup it is and `convention_text` the sentence a page prints once ("1 cup flour = 120 g, spooned and levelled").
    `units` is one of UNITS. `factor` is the size of this batch against the formula. `percent_of` is "flour" or "all".
    `moved` is what was made least (see `formula.kitchen_choice`), `gap` how far it may be from the least there is: 0
    where proven.
    """

    name: str
    lines: tuple[WrittenLine, ...]
    convention: str = ""
    convention_text: str = ""
    units: str = "us"
    factor: float = 1.0
    percent_of: str = "flour"
    moved: float = 0.0
    gap: float = 0.0
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the writing with all its lines."""
        return {
            "name": self.name, "units": self.units, "convention": self.convention,
            "convention_text": self.convention_text, "factor": round(self.factor, 4), "percent_of": self.percent_of,
            "moved": round(self.moved, 4), "gap": self.gap, "lines": [line.to_json() for line in self.lines],
            "notes": list(self.notes),
        }  # fmt: skip

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Writing:
        """Read back what `to_json` wrote."""
        lines = tuple(WrittenLine.from_json(line) for line in document["lines"])
        return cls(**{**document, "lines": lines, "notes": tuple(document.get("notes", ()))})
