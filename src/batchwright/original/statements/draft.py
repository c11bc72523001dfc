"""An item while it is being read; places count in the plain text until it is finished."""

from __future__ import annotations

from dataclasses import dataclass, field

from batchwright.original.statements.clean import Plain
from batchwright.original.statements.records import Item, Span


@dataclass(slots=True)
class Draft:
    """What is known so far of one item; the fields are those of `Item`."""

    name: str
    spans: list[Span] = field(default_factory=list)
    children: list[Draft] = field(default_factory=list)
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

    def add(self, what: str, start: int, end: int) -> None:
        """Keep the stretch [start, end) of the plain text as read into this item."""
        if end > start:
            self.spans.append((start, end, what))

    def say(self, what: str, words: str) -> None:
        """Add words to a text field; a second remark of the same kind follows after a comma."""
        before = getattr(self, what)
        if before is None:
            setattr(self, what, words)
        elif words not in before.split(", "):
            setattr(self, what, f"{before}, {words}")

    def finished(self, text: Plain) -> Item:
        """Return the item with its places counted in the text given."""
        children = tuple(child.finished(text) for child in self.children)
        spans = tuple((text.start(start), text.end(end), what) for start, end, what in sorted(self.spans))
        starts = [span[0] for span in spans] + [child.start for child in children]
        ends = [span[1] for span in spans] + [child.end for child in children]
        return Item(
            self.name,
            min(starts, default=0),
            max(ends, default=0),
            children,
            self.percent,
            self.percent_min,
            self.percent_max,
            self.percent_basis,
            self.max_percent,
            self.strict_max,
            self.one_of,
            self.ordered,
            self.role,
            self.e_number,
            self.synonym,
            self.source,
            self.process,
            self.declares,
            self.note,
            self.kind,
            self.grouped,
            spans,
        )
