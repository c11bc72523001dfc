"""Read a label's text: the ingredients as a tree, where each leaf stands on the shelf, the panel, what was mended."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.original.labels.item_match import among_spices, match_item
from batchwright.original.panels.records import Panel
from batchwright.original.panels.text import read_panels_text, split_label_text
from batchwright.original.statements.records import Leaf, Statement
from batchwright.original.statements.statement import read_statement
from batchwright.pantry.records import Match


@dataclass(frozen=True, slots=True)
class LabelReading:
    """What a label's text says: its ingredient statement, the match of each leaf, the panels it holds."""

    statement: Statement
    leaves: tuple[tuple[Leaf, Match], ...]
    panels: tuple[Panel, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the tree with its repairs, the leaves with their places in the text, the panel (all, if several)."""
        document = self.statement.to_json()
        document["leaves"] = [leaf_json(leaf, found) for leaf, found in self.leaves]
        if self.panels:
            document["panel"] = self.panels[0].to_json()
        if len(self.panels) > 1:
            document["panels"] = [panel.to_json() for panel in self.panels]
        return document


def leaf_json(leaf: Leaf, found: Match) -> dict[str, Any]:
    """Return a leaf as printed, its place in the text, and the shelf's ingredient that it was matched to."""
    start, end = leaf.item.name_span
    return {
        "name": leaf.item.name,
        "start": start,
        "end": end,
        "ingredient": found.ingredient,
        "match": found.how,
        "class": found.ingredient_class,
    }


def read_label(text: str, as_printed: Collection[str] = ()) -> LabelReading:
    """Return what a label's text says; nothing of it is dropped.

    text: an ingredient statement, or a whole label with its panel, as typed, pasted or read by a camera [up to 1 MB].
    as_printed: names that are right as they stand, in small letters; they are not mended.
    A text without any list gives a tree without items. Raises InputError where the text is too long to be a label.
    """
    listed, panel_text = split_label_text(text)
    before = max(0, text.find(listed))  # blanks in its place keep every offset that of the text given
    return _reading(" " * before + listed, read_panels_text(panel_text) if panel_text.strip() else (), as_printed)


def _reading(listed: str, panels: tuple[Panel, ...] = (), as_printed: Collection[str] = ()) -> LabelReading:
    statement = read_statement(listed, as_printed)
    meant = among_spices(statement.ingredients)
    return LabelReading(statement, tuple((leaf, match_item(leaf.item, meant)) for leaf in statement.leaves()), panels)


def read_statements(records: Iterable[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """Return for each record `{"id", "statement"}` its reading with that id, or its error; one never stops the rest.

    A statement is taken as ingredient list from its first letter to its last; no panel is looked for in it.
    """
    for record in records:
        label_id = record.get("id")
        try:
            text = record.get("statement")
            if not isinstance(text, str):
                hint = 'Each line is {"id": ..., "statement": "..."}.'
                raise InputError([Fault("statement", text, "text", hint)])
            yield {"id": label_id, **_reading(text).to_json()}
        except InputError as error:
            yield {"id": label_id, "error": error.faults[0].to_json()}
