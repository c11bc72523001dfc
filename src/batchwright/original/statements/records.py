"""What an ingredient statement says once it is read: items in a tree, repairs, trailers; nothing is lost."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

Span = tuple[int, int, str]
"""Start and end in the text as given (end exclusive), and what the stretch was read as: name, percent, role ..."""

_SILENT = ("P", "Z", "C", "Sm", "Sk")
"""Unicode categories of characters that carry no word: punctuation, blanks, controls, plus and accent signs."""


NAMES_MENDED = ("letters read wrong", "blank missing")
"""Repairs of a name itself, which may be told to stay as it is printed."""


@dataclass(frozen=True, slots=True)
class Repair:
    """One thing mended while reading: what stood there, what it was read as, and where (offsets in the text given)."""

    kind: str
    before: str
    after: str
    start: int
    end: int

    def to_json(self) -> dict[str, Any]:
        """Return the repair with its five fields."""
        return {"kind": self.kind, "before": self.before, "after": self.after, "start": self.start, "end": self.end}

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Repair:
        """Return the repair written by `to_json`."""
        return cls(document["kind"], document["before"], document["after"], document["start"], document["end"])


@dataclass(frozen=True, slots=True)
class Leaf:
    """A leaf of the tree: its item, the names above it from the top down, its places among its siblings."""

    item: Item
    path: tuple[str, ...]
    place: tuple[int, ...]


_PLAIN = ("percent", "percent_min", "percent_basis", "max_percent", "role", "e_number", "synonym", "source", "process")


@dataclass(frozen=True, slots=True)
class Item:
    """One listed thing.

    `name` is in lower case as printed, markup removed. `percent` is a printed percent [%] of the finished food
    (`percent_basis` "component" where the text says it is of a part), `max_percent` the threshold [%] of "
    "the "or less"
    group it stands in (`strict_max`: the text says "less than"). `one_of`: its children may be absent each;
    `ordered` False: their order says nothing. `start`, `end`: the stretch of the given text it takes, children
    included; `spans`: the stretches read into this item itself.
    """

    name: str
    start: int = 0
    end: int = 0
    children: tuple[Item, ...] = ()
    percent: float | None = None
    percent_min: float | None = None
    percent_max: float | None = None
    percent_basis: str | None = None
    max_percent: float | None = None
    strict_max: bool = False
    one_of: bool = False
    ordered: bool = True
    role: str | None = None
    e_number: str | None = None
    synonym: str | None = None
    source: str | None = None
    process: str | None = None
    declares: str | None = None
    note: str | None = None
    kind: str | None = None
    grouped: bool = False
    spans: tuple[Span, ...] = ()

    @property
    def name_span(self) -> tuple[int, int]:
        """Start and end of the printed name in the given text (the whole item where the name was put together)."""
        own = [span for span in self.spans if span[2] == "name"]
        return (own[0][0], own[-1][1]) if own else (self.start, self.end)

    def to_json(self) -> dict[str, Any]:
        """Return the node; a key that says nothing is left out."""
        out: dict[str, Any] = {"name": self.name}
        for key in (*_PLAIN, "percent_max", "declares", "note", "kind"):
            value = getattr(self, key)
            if value is not None:
                out[key] = value
        if self.strict_max:
            out["strict_max"] = True
        if self.one_of:
            out["one_of"] = True
        if not self.ordered:
            out["ordered"] = False
        if self.grouped:
            out["grouped"] = True
        if self.children:
            out["children"] = [child.to_json() for child in self.children]
        out["start"], out["end"] = self.start, self.end
        out["spans"] = [list(span) for span in self.spans]
        return out

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Item:
        """Return the item written by `to_json`."""
        plain = {key: value for key, value in document.items() if key not in ("children", "spans")}
        return cls(
            **plain,
            children=tuple(cls.from_json(child) for child in document.get("children", ())),
            spans=tuple((start, end, what) for start, end, what in document.get("spans", ())),
        )

    def leaves(self, path: tuple[str, ...] = (), place: tuple[int, ...] = ()) -> Iterator[Leaf]:
        """Walk the leaves below (or this item itself where it has no parts)."""
        if not self.children:
            yield Leaf(self, path, place)
        for position, child in enumerate(self.children):
            yield from child.leaves((*path, self.name), (*place, position))

    def walk(self) -> Iterator[Item]:
        """Walk this item and everything below it, parents first."""
        yield self
        for child in self.children:
            yield from child.walk()


@dataclass(frozen=True, slots=True)
class Trailer:
    """Text beside the list: `kind` is contains, may contain, equipment, cocoa solids, milk solids or statement."""

    kind: str
    text: str
    start: int
    end: int
    items: tuple[str, ...] = ()
    min_percent: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the trailer with the keys that say something."""
        out: dict[str, Any] = {"kind": self.kind, "text": self.text, "start": self.start, "end": self.end}
        if self.items:
            out["items"] = list(self.items)
        if self.min_percent is not None:
            out["min_percent"] = self.min_percent
        return out

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Trailer:
        """Return the trailer written by `to_json`."""
        return cls(
            document["kind"],
            document["text"],
            document["start"],
            document["end"],
            tuple(document.get("items", ())),
            document.get("min_percent"),
        )


@dataclass(frozen=True, slots=True)
class Footnote:
    """A mark's legend: "*" and "certified organic"."""

    mark: str
    text: str
    start: int
    end: int

    def to_json(self) -> dict[str, Any]:
        """Return the legend with its place."""
        return {"mark": self.mark, "text": self.text, "start": self.start, "end": self.end}

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Footnote:
        """Return the legend written by `to_json`."""
        return cls(document["mark"], document["text"], document["start"], document["end"])


@dataclass(frozen=True, slots=True)
class Statement:
    """A whole ingredient statement. `text` is kept as given; every offset counts its characters."""

    text: str
    ingredients: tuple[Item, ...] = ()
    trailers: tuple[Trailer, ...] = ()
    notes: tuple[Footnote, ...] = ()
    emphasised: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    headings: tuple[Span, ...] = field(default=())

    def _listed(self, kind: str) -> list[str]:
        found: dict[str, None] = {}
        for trailer in self.trailers:
            if trailer.kind == kind:
                found.update(dict.fromkeys(trailer.items))
        return list(found)

    @property
    def contains(self) -> tuple[str, ...]:
        """What the "contains" trailer names."""
        return tuple(self._listed("contains"))

    @property
    def may_contain(self) -> tuple[str, ...]:
        """What the "may contain" trailer names."""
        return tuple(self._listed("may contain"))

    @property
    def footnotes(self) -> dict[str, str]:
        """Each mark and its legend."""
        return {note.mark: note.text for note in self.notes}

    def leaves(self) -> Iterator[Leaf]:
        """Walk the leaves of the tree in printed order."""
        for position, item in enumerate(self.ingredients):
            yield from item.leaves((), (position,))

    def walk(self) -> Iterator[Item]:
        """Walk every item of the tree, parents first, in printed order."""
        for item in self.ingredients:
            yield from item.walk()

    def uncovered(self) -> list[tuple[int, int]]:
        """Return the stretches of the text that belong to nothing: no item, trailer, footnote, heading or repair.

        Separators, brackets, blanks and bare signs aside. Always empty unless the reader lost a word.
        """
        marks = bytearray(len(self.text))
        for start, end, _ in self._spans():
            marks[start:end] = b"\x01" * (end - start)
        out: list[tuple[int, int]] = []
        for place, (mark, character) in enumerate(zip(marks, self.text, strict=True)):
            if mark or unicodedata.category(character).startswith(_SILENT):
                continue
            if out and out[-1][1] == place:
                out[-1] = (out[-1][0], place + 1)
            else:
                out.append((place, place + 1))
        return out

    def _spans(self) -> Iterator[Span]:
        for item in self.walk():
            yield from item.spans
        yield from self.headings
        for trailer in self.trailers:
            yield (trailer.start, trailer.end, trailer.kind)
        for note in self.notes:
            yield (note.start, note.end, "footnote")
        for repair in self.repairs:
            if repair.kind in REMOVED:
                yield (repair.start, repair.end, repair.kind)

    def to_json(self) -> dict[str, Any]:
        """Return the tree with trailers, footnotes, emphasis and repairs, as `read --json` prints it."""
        out: dict[str, Any] = {"text": self.text, "ingredients": [item.to_json() for item in self.ingredients]}
        for key, listed in (("contains", self.contains), ("may_contain", self.may_contain)):
            if listed:
                out[key] = list(listed)
        if self.notes:
            out["footnotes"] = self.footnotes
        if self.emphasised:
            out["emphasised"] = list(self.emphasised)
        other = [
            trailer.to_json() for trailer in self.trailers if trailer.kind not in ("contains", "may contain", "header")
        ]
        if other:
            out["other_trailers"] = other
        out["repairs"] = [repair.to_json() for repair in self.repairs]
        out["trailers"] = [trailer.to_json() for trailer in self.trailers]
        out["notes"] = [note.to_json() for note in self.notes]
        out["headings"] = [list(span) for span in self.headings]
        return out

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Statement:
        """Return the statement written by `to_json`."""
        return cls(
            document["text"],
            tuple(Item.from_json(item) for item in document["ingredients"]),
            tuple(Trailer.from_json(trailer) for trailer in document["trailers"]),
            tuple(Footnote.from_json(note) for note in document["notes"]),
            tuple(document.get("emphasised", ())),
            tuple(Repair.from_json(repair) for repair in document["repairs"]),
            tuple((start, end, what) for start, end, what in document["headings"]),
        )


REMOVED = frozenset({"markup", "noise", "entity", "mojibake"})
"""Kinds of repair that take characters out of the text: only these count as a place where text went."""
