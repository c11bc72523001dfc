"""What fitting takes and hands out: what is wished for, what is allowed, what changed and how near it came."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from batchwright.base.shown import kept_g
from batchwright.formula.records import Formula

KEEPS = ("", "flour", "total", "nothing")


@dataclass(frozen=True, slots=True)
class Target:
    """One wish: a figure of the food that is linear in the grams of its lines, between `low` and `high`.

    The figure is (weights . grams) / (over . grams), or weights . grams alone where `over` is absent; both hold one
    number per gram for each line that `fit_lines.candidates_of` gives, in that order. `low` and `high` [unit of the
    figure] may be absent, one of them. `importance` is what a miss of 1 unit costs against other targets [> 0].
    A property model joins in by its value and slopes: `fit_targets.linearised`.
    `distance` is what a miss of 1 unit adds to the distance from an original [> 0 on its axes, else 0]. Where targets
    have it, such misses count together as the root of their squares and come first; all others are preferences.
    """

    name: str
    weights: tuple[float, ...]
    over: tuple[float, ...] | None
    low: float | None
    high: float | None
    importance: float = 1.0
    unit: str = "%"
    distance: float = 0.0


@dataclass(frozen=True, slots=True)
class Rules:
    """What a fit may do.

    keep: what stays as it is, one of KEEPS ("" = flour where there is some, else the total). locks: lines that stay;
    bounds: name to (least, most) [g]; steps: name to whole multiples [g]; extras: ingredients that may enter, "part:
    name" for a certain part. free: small lines (leavening, spices, flavours, salt) that may move as well; they stay
    otherwise. only_part: the one part that may change. no_sweeter: no sweetener may enter or grow. prices: name to
    price per kg. last: what is taken only where little else will do. whole_eggs: eggs by the piece.
    roomy: lines nobody bounds may grow by the whole batch. within: with a distance to an original, how near it must
    end wherever that can be.
    """

    keep: str = ""
    locks: tuple[str, ...] = ()
    bounds: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    steps: Mapping[str, float] = field(default_factory=dict)
    extras: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    only_part: str = ""
    no_sweeter: bool = False
    prices: Mapping[str, float] = field(default_factory=dict)
    last: tuple[str, ...] = ()
    whole_eggs: bool = True
    roomy: bool = False
    within: float = float("inf")


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the formula before and after [g]; percent of the flour, or of the whole where there is no flour."""

    name: str
    part: str
    before_g: float
    after_g: float
    before_percent: float
    after_percent: float
    entering: bool = False

    @property
    def changed(self) -> bool:
        """Whether the line was moved at all."""
        return self.before_g != self.after_g

    def to_json(self) -> dict[str, Any]:
        """Return all fields, grams as they are kept."""
        return {"name": self.name, "part": self.part, "before_g": kept_g(self.before_g),
                "after_g": kept_g(self.after_g), "before_percent": round(self.before_percent, 2),
                "after_percent": round(self.after_percent, 2), "entering": self.entering}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one target came out; `missed` is how far outside its limits the figure still is [unit], 0 where it is met.

    `preference`: a target that gives way to those before it, and is not counted where it is asked whether all are met.
    """

    name: str
    unit: str
    low: float | None
    high: float | None
    before: float
    after: float
    missed: float
    preference: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields, figures to four places."""
        numbers = {"low": self.low, "high": self.high, "before": self.before, "after": self.after,
                   "missed": self.missed}  # fmt: skip
        rounded = {key: None if value is None else round(value, 4) for key, value in numbers.items()}
        return {"name": self.name, "unit": self.unit, **rounded, "preference": self.preference}


@dataclass(frozen=True, slots=True)
class Shift:
    """A figure of the composition before and after, g per 100 g of the food as finished.

    `low`..`high` is the likely range of `after`: lots of the ingredients, what the oven takes, amounts that stay.
    """

    key: str
    name: str
    before: float
    after: float
    low: float
    high: float

    def to_json(self) -> dict[str, Any]:
        """Return all fields, figures to three places."""
        numbers = {"before": self.before, "after": self.after, "low": self.low, "high": self.high}
        return {"key": self.key, "name": self.name, **{name: round(value, 3) for name, value in numbers.items()}}


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fitted formula and what was done to it.

    `met` is False where not every target could be; `clash` then names a smallest set of targets and rules that cannot
    hold together, and `formula` is the nearest one. `percent_of` says what the percentages of `changes` are of.
    `proven` is False where time ran out before nothing better could be ruled out.
    """

    formula: Formula
    met: bool
    changes: tuple[Change, ...]
    outcomes: tuple[Outcome, ...]
    composition: tuple[Shift, ...]
    clash: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    percent_of: str = "flour"
    proven: bool = True
    seconds: float = 0.0

    def to_json(self) -> dict[str, Any]:
        """Return the whole answer, the fitted formula in the form every command takes."""
        return {
            "formula": self.formula.to_json(),
            "met": self.met,
            "changes": [change.to_json() for change in self.changes if change.changed],
            "lines": [change.to_json() for change in self.changes],
            "targets": [outcome.to_json() for outcome in self.outcomes],
            "composition": [shift.to_json() for shift in self.composition],
            "clash": list(self.clash),
            "notes": list(self.notes),
            "percent_of": self.percent_of,
            "proven": self.proven,
            "seconds": round(self.seconds, 4),
        }
