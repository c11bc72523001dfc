"""What a recipe becomes on its way to the bench: lines as read, lines in grams, parts, formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from batchwright.base.estimate import Estimate
from batchwright.base.shown import kept_g

JOINS = ("first", "plus", "same", "each")
MARKS = ("about", "by convention", "divided", "for serving", "optional", "plus more", "to taste")
FILLINGS = ("", "heaped", "level", "packed", "scant", "sifted", "spooned")
PROCESSES = ("", "browned", "drained", "reduced", "soaked", "toasted")


def three(estimate: Estimate) -> dict[str, float]:
    """Return low, likely and high of a mass [g], to the digits that are kept."""
    return {"low": kept_g(estimate.low), "likely": kept_g(estimate.likely), "high": kept_g(estimate.high)}


@dataclass(frozen=True, slots=True)
class Written:
    """One amount as the line writes it: `low`..`high` of `unit`, both ends equal unless a range is printed.

    `unit` is singular and in full (cup, tablespoon, teaspoon, ounce, pound, gram, stick, package ...), empty for a
    count. `join` is one of JOINS: "first", "plus" (2 sticks + 2 tablespoons), "same" (1 cup, 120 g: another writing of
    the same), "each" (2 packages of 8 ounces). `place` is whose cup or spoon it is where the line says so: "US", "UK",
    "AU", else empty.
    """

    low: float
    high: float
    unit: str
    join: str = "first"
    place: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return all fields; the place where it is said."""
        plain: dict[str, Any] = {"low": self.low, "high": self.high, "unit": self.unit, "join": self.join}
        return {**plain, "place": self.place} if self.place else plain


@dataclass(frozen=True, slots=True)
class ReadLine:
    """One ingredient line as read, nothing weighed yet.

    `amounts` in the order written, none where the line gives no number. `item` is the ingredient without amount and
    preparation; `before` the preparation words that stand before it and so belong to what is measured ("1 cup chopped
    nuts"), `after` those that follow the comma and come after measuring. `size` is a size word (large, medium, heaping
    is a filling), `filling` one of FILLINGS, `marks` among MARKS. `also` holds further ingredients of the same line.
    `assumptions` say in words what was taken for granted; `read` is False where the line could not be made out.
    """

    text: str
    amounts: tuple[Written, ...] = ()
    item: str = ""
    before: tuple[str, ...] = ()
    after: str = ""
    size: str = ""
    filling: str = ""
    marks: tuple[str, ...] = ()
    also: tuple[ReadLine, ...] = ()
    assumptions: tuple[str, ...] = ()
    read: bool = True

    @property
    def preparation(self) -> str:
        """What is done to the ingredient, before and after measuring, in one phrase."""
        return ", ".join(each for each in (" ".join(self.before), self.after) if each)


@dataclass(frozen=True, slots=True)
class Own:
    """A cook's own ingredient: its class on the shelf (may be empty) and what 100 g hold, key to figure."""

    ingredient_class: str
    composition: tuple[tuple[str, float], ...]

    def to_json(self) -> dict[str, Any]:
        """Return the class, and each figure under its key."""
        return {"class": self.ingredient_class, **dict(self.composition)}

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Own:
        """Read back what `to_json` wrote."""
        figures = tuple((key, float(value)) for key, value in document.items() if key != "class")
        return cls(str(document.get("class", "")), figures)


@dataclass(frozen=True, slots=True)
class Line:
    """One ingredient line in grams.

    `grams` is absent where the line gives no amount that can be weighed. `ingredient` and `match` are those of the
    shelf (`pantry.records.MATCH_WAYS`). `doubt_percent` is half the likely range over its middle. `stage` tells apart
    several uses of one part, `process` is one of PROCESSES: what happens to the mass before mixing. `own` holds the
    contents of an ingredient of the cook's own, which the shelf does not have.
    """

    text: str
    item: str
    grams: Estimate | None
    ingredient: str | None = None
    match: str = "unknown"
    amounts: tuple[Written, ...] = ()
    preparation: str = ""
    assumptions: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    stage: str = ""
    process: str = ""
    also: tuple[Line, ...] = ()
    size: str = ""
    filling: str = ""
    own: Own | None = None

    @property
    def doubt_percent(self) -> float | None:
        """Half the likely range in percent of its middle; None without grams."""
        if self.grams is None or self.grams.likely <= 0:
            return None
        return 50.0 * (self.grams.high - self.grams.low) / self.grams.likely

    @property
    def prepared(self) -> tuple[str, str]:
        """The preparation that is measured with the food, and the one that comes after measuring.

        Which it is changes the amount ("1 cup nuts, chopped"), and only the line's own words tell: what stands before
        the item was measured so.
        """
        words = self.preparation.strip(" ,")
        if not words or not self.item:
            return "", words
        place = self.text.lower().find(self.item.lower())
        before: list[str] = []
        after: list[str] = []
        for each in words.split(", "):
            found = self.text.lower().find(each.lower())
            (before if 0 <= found < place else after).append(each)
        return " ".join(before), ", ".join(after)

    def to_json(self) -> dict[str, Any]:
        """Return the line as the command `weigh` prints it."""
        first = self.amounts[0] if self.amounts else None
        doubt = self.doubt_percent
        plain: dict[str, Any] = {
            "text": self.text,
            "amount": None if first is None else {"low": round(first.low, 6), "high": round(first.high, 6)},
            "unit": "" if first is None else first.unit,
            "item": self.item,
            "preparation": self.preparation,
            "ingredient": self.ingredient,
            "match": self.match,
            "grams": None if self.grams is None else three(self.grams),
            "assumptions": list(self.assumptions),
            "doubt_percent": None if doubt is None else round(doubt, 1),
            "also": [line.to_json() for line in self.also],
        }
        said = {"stage": self.stage, "process": self.process, "marks": list(self.marks), "size": self.size,
                "filling": self.filling}  # fmt: skip
        plain |= {key: value for key, value in said.items() if value}
        if self.own is not None:
            plain["own"] = self.own.to_json()
        if len(self.amounts) > 1:
            plain["amounts"] = [each.to_json() for each in self.amounts]
        return plain

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Line:
        """Read back what `to_json` wrote."""
        amount, grams = document.get("amount"), document.get("grams")
        written = document.get("amounts") or ([{**amount, "unit": document.get("unit", "")}] if amount else [])
        return cls(
            document["text"], document.get("item", ""),
            None if grams is None else Estimate(grams["likely"], grams["low"], grams["high"], unit="g"),
            document.get("ingredient"), document.get("match", "unknown"), tuple(Written(**each) for each in written),
            document.get("preparation", ""), tuple(document.get("assumptions", ())), tuple(document.get("marks", ())),
            document.get("stage", ""), document.get("process", ""),
            tuple(cls.from_json(each) for each in document.get("also", ())),
            document.get("size", ""), document.get("filling", ""),
            Own.from_json(document["own"]) if document.get("own") else None,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a method in the cook's own words, with the times and temperatures found in it."""

    text: str
    part: str = ""
    minutes_low: float | None = None
    minutes_high: float | None = None
    temperature_c: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the text and what was found in it."""
        plain = {"part": self.part, "minutes_low": self.minutes_low, "minutes_high": self.minutes_high,
                 "temperature_c": self.temperature_c}  # fmt: skip
        return {"text": self.text, **{key: value for key, value in plain.items() if value not in ("", None)}}

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Step:
        """Read back what `to_json` wrote."""
        return cls(**document)


@dataclass(frozen=True, slots=True)
class Yield:
    """What a recipe makes: `low`..`high` of `what` ("cookies"); `text` as written."""

    text: str
    low: float | None = None
    high: float | None = None
    what: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"text": self.text, "low": self.low, "high": self.high, "what": self.what}

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Yield:
        """Read back what `to_json` wrote."""
        return cls(**document)


@dataclass(frozen=True, slots=True)
class ReadPart:
    """One part of a recipe as read: its heading and its lines."""

    name: str
    lines: tuple[ReadLine, ...]


@dataclass(frozen=True, slots=True)
class ReadRecipe:
    """A recipe as read, nothing weighed. `unread` holds every line of the text that fits nowhere, as it stood."""

    name: str
    parts: tuple[ReadPart, ...]
    unread: tuple[str, ...] = ()
    method: tuple[Step, ...] = ()
    makes: Yield | None = None
    credit: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a formula (dough, filling): its lines in order of use, and its loss in the oven where known [%]."""

    name: str
    lines: tuple[Line, ...]
    bake_loss_percent: Estimate | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the name and the lines, and the loss where there is one."""
        plain: dict[str, Any] = {"name": self.name, "lines": [line.to_json() for line in self.lines]}
        if self.bake_loss_percent is not None:
            plain["bake_loss_percent"] = self.bake_loss_percent.to_json()
        return plain

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Part:
        """Read back what `to_json` wrote."""
        loss = document.get("bake_loss_percent")
        return cls(document["name"], tuple(Line.from_json(line) for line in document["lines"]),
                   None if loss is None else Estimate.from_json(loss))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Formula:
    """A recipe in grams: what the bench works with. One record serves a pasted recipe and a formula fitted to a food.

    `convention` says whose cup was taken. `unread` keeps every line that fits nowhere. `piece_g` is the mass of one raw
    piece where it was said.
    """

    name: str
    parts: tuple[Part, ...]
    method: tuple[Step, ...] = ()
    makes: Yield | None = None
    convention: str = ""
    credit: str = ""
    piece_g: float | None = None
    unread: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the formula; every command that takes a recipe takes this back."""
        plain: dict[str, Any] = {
            "name": self.name,
            "parts": [part.to_json() for part in self.parts],
            "unread": list(self.unread),
            "convention": self.convention,
            "yield": None if self.makes is None else self.makes.to_json(),
            "method": [step.to_json() for step in self.method],
            "notes": list(self.notes),
        }
        said = {"credit": self.credit, "piece_g": self.piece_g}
        return {**plain, **{key: value for key, value in said.items() if value}}

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Formula:
        """Read back what `to_json` wrote; keys it does not know are left alone."""
        makes = document.get("yield")
        return cls(
            document.get("name", ""), tuple(Part.from_json(part) for part in document["parts"]),
            tuple(Step.from_json(step) for step in document.get("method", ())),
            None if makes is None else Yield.from_json(makes), document.get("convention", ""),
            document.get("credit", ""), document.get("piece_g"), tuple(document.get("unread", ())),
            tuple(document.get("notes", ())),
        )  # fmt: skip
