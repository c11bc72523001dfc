"""What a cook does with the book: begin a rebuild, keep what was typed, look at what was kept."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from batchwright.actions.bench import named, pasted_document
from batchwright.actions.pasted import looks_like_recipe, packet_document
from batchwright.actions.read import read_label
from batchwright.base.errors import Fault, InputError
from batchwright.store.book import Book
from batchwright.store.records import Rebuild, Revision, Saved, Thing

BRIEF: dict[str, Any] = {"deadline": "", "must": [], "nice": [], "drop": []}


@dataclass(frozen=True, slots=True)
class Kept:
    """A thing of a rebuild with its newest revisions, newest first; more than one where two people saved it."""

    thing: Thing
    heads: tuple[Revision, ...]


def listed_rebuilds(
    book: Book, set_aside: bool = False, most: int | None = None, skip: int = 0, find: str = ""
) -> tuple[Rebuild, ...]:
    """Return the rebuilds, the newest change first: at most `most` (None for all) after the first `skip`.

    find: words that must all stand in a name, in any order and case; empty for all.
    """
    if not find.strip():
        return book.rebuilds(set_aside, most, skip)
    words = find.casefold().split()
    found = [each for each in book.rebuilds(set_aside) if all(word in each.name.casefold() for word in words)]
    return tuple(found[skip : None if most is None else skip + most])


def counted_rebuilds(book: Book, set_aside: bool = False) -> int:
    """Return how many rebuilds there are; how many are set aside where asked for."""
    return book.count_rebuilds(set_aside)


def the_rebuild(book: Book, rebuild_id: int) -> Rebuild:
    """Return one rebuild; raises InputError where the book has none of that number."""
    return book.rebuild(rebuild_id)


def begin_rebuild(book: Book, pasted: str, who: str, name: str = "") -> tuple[Rebuild, str]:
    """Begin a rebuild from whatever was pasted; return it, and the room to show first ("original", "formula/7").

    pasted: a packet's words, or a recipe [text]; which of them is told by what can be read in it. name: empty for the
    recipe's own name or the first words of the label and the day; renamed at any time.
    """
    recipe = pasted_document(pasted) if pasted.strip() and looks_like_recipe(pasted) else None
    original = {} if recipe else packet_document(pasted)
    title = name or (named(recipe) if recipe else _first_name(pasted))
    things: list[tuple[str, str, Mapping[str, Any]]] = [("brief", "Brief", BRIEF), ("original", "Original", original)]
    if recipe:
        things.append(("formula", named(recipe), recipe))
    begun = book.new_rebuild(title, things, who)
    room = f"formula/{book.things(begun.id, 'formula')[0].id}" if recipe else "original"
    return begun, room


def _first_name(pasted: str) -> str:
    """Return a name to begin with: the first listed ingredient and the day."""
    day = datetime.now(UTC).date().isoformat()
    try:
        reading = read_label(pasted) if pasted.strip() else None
    except InputError:
        reading = None
    first = next(iter(reading.statement.ingredients), None) if reading else None
    return f"{first.name.capitalize()[:60]}, {day}" if first else f"Rebuild of {day}"


def change_rebuild(book: Book, rebuild_id: int, fields: Mapping[str, str], who: str) -> None:
    """Rename a rebuild (`name`), set it aside (`set_aside` = yes) or bring it back (no)."""
    if fields.get("name", "").strip():
        book.rename_rebuild(rebuild_id, fields["name"])
    if fields.get("set_aside") in ("yes", "no"):
        book.set_rebuild_aside(rebuild_id, fields["set_aside"] == "yes")


def kept_thing(book: Book, rebuild_id: int, kind: str) -> Kept:
    """Return the one thing of its kind that every rebuild has (brief, original) with its newest revisions."""
    things = book.things_with_heads(rebuild_id, kind)
    if not things:
        raise InputError([Fault("rebuild", rebuild_id, "a rebuild that is in this book")])
    return Kept(*things[0])


def thing_of(book: Book, rebuild_id: int, thing_id: int) -> Kept:
    """Return a thing by its number with its newest revisions; raises InputError where this rebuild has none such."""
    thing = book.thing(thing_id)
    if thing.rebuild_id != rebuild_id:
        raise InputError([Fault("thing", thing_id, "a thing of this rebuild")])
    return Kept(thing, book.heads(thing_id))


def things_of(book: Book, rebuild_id: int, kind: str) -> tuple[Kept, ...]:
    """Return every thing of a kind with its newest revisions."""
    return tuple(Kept(thing, heads) for thing, heads in book.things_with_heads(rebuild_id, kind))


def new_thing(book: Book, rebuild_id: int, kind: str, name: str, document: Mapping[str, Any], who: str) -> Saved:
    """Put a new thing into a rebuild."""
    return book.new_thing(rebuild_id, kind, name, document, who)


def remove_thing(book: Book, thing_id: int) -> None:
    """Take a thing off the pages; its history stays."""
    book.remove_thing(thing_id)


def save_thing(book: Book, thing_id: int, parent_id: int | None, document: Mapping[str, Any], who: str,
               key: str = "") -> Saved:  # fmt: skip
    """Keep a document as the next revision of a thing; see `Book.save`. What did not change is not written again."""
    if not key:
        heads = book.heads(thing_id)
        if len(heads) == 1 and heads[0].id == parent_id and dict(heads[0].document) == dict(document):
            return Saved(heads[0])
    return book.save(thing_id, parent_id, document, who, key)


def history_of(book: Book, thing_id: int) -> tuple[Revision, ...]:
    """Return every revision of a thing, newest first."""
    return book.history(thing_id)


def step_back(book: Book, thing_id: int, who: str) -> Saved:
    """Undo: bring the document before the newest back as a new revision."""
    return book.undo(thing_id, who)


def step_forward(book: Book, thing_id: int, who: str) -> Saved:
    """Redo: take the last undo back."""
    return book.redo(thing_id, who)


def settle_thing(
    book: Book, thing_id: int, keep_id: int, who: str, seen_ids: Collection[int] | None = None
) -> Saved:
    """Let one of several newest revisions take the place of all; the others stay in the history.

    seen_ids: the newest revisions the page showed; one saved since then stays beside. None for all there are.
    """
    return book.settle(thing_id, keep_id, who, seen_ids=seen_ids)
