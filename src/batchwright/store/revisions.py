"""Revisions on an open connection: reading, adding, which are newest, and the line that undo and redo walk."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Select, insert, select, update

from batchwright.base.errors import Fault, InputError
from batchwright.store import tables as t
from batchwright.store.records import Revision
from batchwright.store.text import document_text, plain

LONGEST_WHO = 200
REVISION = (t.revision.c.id, t.revision.c.thing_id, t.revision.c.parent_id, t.revision.c.document, t.revision.c.who,
            t.revision.c.made, t.revision.c.frozen)  # fmt: skip
UNSETTLED = ~select(t.settled.c.revision_id).where(t.settled.c.revision_id == t.revision.c.id).exists()


def now() -> str:
    """Return the time as the book writes it: UTC, to the microsecond, so that order by text is order in time."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def missing(what: str, asked: Any) -> InputError:
    """Return the fault of a number that this book does not have."""
    return InputError([Fault(what, asked, f"a {what} that is in this book", "It may have been set aside or removed.")])


def new_key(done: Any) -> int:
    """Return the number a new row was given."""
    return int(done.inserted_primary_key[0])


def revision_of(row: Any) -> Revision:
    """Return a row of `REVISION` as a record."""
    return Revision(row.id, row.thing_id, row.parent_id, json.loads(row.document), row.who, row.made, bool(row.frozen))


def hold_thing(connection: Connection, thing_id: int) -> None:
    """Hold a thing until the write is done; raises InputError where there is none (SQLite holds the whole book)."""
    if connection.execute(select(t.thing.c.id).where(t.thing.c.id == thing_id).with_for_update()).first() is None:
        raise missing("thing", thing_id)


def touch(connection: Connection, rebuild_id: int, when: str) -> None:
    """Note that a rebuild changed."""
    connection.execute(update(t.rebuild).where(t.rebuild.c.id == rebuild_id).values(changed=when))


def first_revision(
    connection: Connection, thing_id: int, document: Mapping[str, Any], who: str, made: str
) -> Revision:
    """Write the first revision of a new thing."""
    name = plain(who, LONGEST_WHO)
    fields = {"thing_id": thing_id, "parent_id": None, "document": document_text(document), "who": name, "made": made,
              "frozen": False}  # fmt: skip
    number = new_key(connection.execute(insert(t.revision).values(fields)))
    return Revision(number, thing_id, None, document, name, made)


def add(
    connection: Connection, thing_id: int, parent_id: int, document: Mapping[str, Any], who: str, sent_key: str = "",
    brings_back: int | None = None,
) -> Revision:  # fmt: skip
    """Write a revision of a held thing after its parent, which is newest no longer."""
    one(connection, thing_id, parent_id)
    made, name = now(), plain(who, LONGEST_WHO)
    fields = {"thing_id": thing_id, "parent_id": parent_id, "document": document_text(document), "who": name,
              "made": made, "frozen": False, "brings_back": brings_back, "sent_key": sent_key or None}  # fmt: skip
    number = new_key(connection.execute(insert(t.revision).values(fields)))
    settle(connection, parent_id)
    rebuild_id = connection.execute(select(t.thing.c.rebuild_id).where(t.thing.c.id == thing_id)).scalar_one()
    touch(connection, rebuild_id, made)
    return Revision(number, thing_id, parent_id, document, name, made)


def settle(connection: Connection, revision_id: int) -> None:
    """Note that another revision has taken this one's place (its thing is held, so nobody else notes it meanwhile)."""
    if connection.execute(select(t.settled).where(t.settled.c.revision_id == revision_id)).first() is None:
        connection.execute(insert(t.settled).values(revision_id=revision_id))


def sent_key_of(key: str, document: Mapping[str, Any]) -> str:
    """Return what tells a save sent again: its key and its words, so that no other words are taken for it."""
    return hashlib.sha256(f"{key}\0{document_text(document)}".encode("utf-8", "replace")).hexdigest() if key else ""


def sent_before(connection: Connection, thing_id: int, sent_key: str) -> Revision | None:
    """Return the revision that a save sent earlier made."""
    if not sent_key:
        return None
    asked = select(*REVISION).where(t.revision.c.thing_id == thing_id, t.revision.c.sent_key == sent_key)
    row = connection.execute(asked).first()
    return None if row is None else revision_of(row)


def one(connection: Connection, thing_id: int, revision_id: int) -> Revision:
    """Return a revision of a thing; raises InputError where the thing has none such."""
    asked = select(*REVISION).where(t.revision.c.thing_id == thing_id, t.revision.c.id == revision_id)
    row = connection.execute(asked).first()
    if row is None:
        raise missing("revision", revision_id)
    return revision_of(row)


def newest(thing_id: int) -> Select[Any]:
    """Return the query for the revisions nothing has taken the place of, newest first."""
    return select(*REVISION).where(t.revision.c.thing_id == thing_id, UNSETTLED).order_by(t.revision.c.id.desc())


def heads(connection: Connection, thing_id: int) -> tuple[Revision, ...]:
    """Return the revisions nothing has taken the place of, newest first."""
    return tuple(revision_of(row) for row in connection.execute(newest(thing_id)))


def beside(connection: Connection, revision: Revision) -> tuple[Revision, ...]:
    """Return the other newest revisions of a revision's thing."""
    return tuple(head for head in heads(connection, revision.thing_id) if head.id != revision.id)


def line_of(connection: Connection, thing_id: int, head_id: int) -> tuple[list[int], int]:
    """Return the line of documents that undo and redo walk, newest first, and where on it the head stands.

    An undo or redo brings an older revision back, so the line runs over what was really written; it starts at the last
    revision that brought nothing back.
    """
    asked = select(t.revision.c.id, t.revision.c.parent_id, t.revision.c.brings_back)
    links = {row.id: (row.parent_id, row.brings_back)
             for row in connection.execute(asked.where(t.revision.c.thing_id == thing_id))}  # fmt: skip

    def written(revision_id: int) -> int:
        while links[revision_id][1] is not None:
            revision_id = links[revision_id][1]
        return revision_id

    start = head_id
    while links[start][1] is not None:
        start = links[start][0]
    chain = [start]
    while links[chain[-1]][0] is not None:
        chain.append(written(links[chain[-1]][0]))
    shown = written(head_id)
    return chain, chain.index(shown) if shown in chain else 0
