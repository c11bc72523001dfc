"""The kitchen book: rebuilds, their things, and every revision of them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Select, insert, or_, select, update

from batchwright.base.errors import Fault, InputError
from batchwright.store import tables as t
from batchwright.store.engine import reading, writing
from batchwright.store.records import KINDS, Rebuild, Revision, Saved, Thing

LONGEST_NAME = 200
_REVISION = (t.revision.c.id, t.revision.c.thing_id, t.revision.c.parent_id, t.revision.c.document, t.revision.c.who,
             t.revision.c.made, t.revision.c.frozen)  # fmt: skip


def now() -> str:
    """Return the time as the book writes it: UTC, to the microsecond, so that order by text is order in time."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _missing(what: str, asked: Any) -> InputError:
    return InputError([Fault(what, asked, f"a {what} that is in this book", "It may have been set aside or removed.")])


class Book:
    """An open book. Every method is one short transaction; all may be called from several threads at once."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    # Rebuilds

    def rebuilds(self, set_aside: bool = False) -> tuple[Rebuild, ...]:
        """Return the rebuilds, the newest change first; those set aside instead where asked for."""
        asked = select(t.rebuild).where(t.rebuild.c.set_aside == set_aside).order_by(t.rebuild.c.changed.desc())
        with reading(self.engine) as connection:
            return tuple(_rebuild(row) for row in connection.execute(asked))

    def rebuild(self, rebuild_id: int) -> Rebuild:
        """Return one rebuild; raises InputError where the book has none of that number."""
        with reading(self.engine) as connection:
            row = connection.execute(select(t.rebuild).where(t.rebuild.c.id == rebuild_id)).first()
        if row is None:
            raise _missing("rebuild", rebuild_id)
        return _rebuild(row)

    def new_rebuild(self, name: str, things: Sequence[tuple[str, str, Mapping[str, Any]]], who: str) -> Rebuild:
        """Begin a rebuild with its first things, each (kind, name, document), in one write; return it."""
        made = now()
        with writing(self.engine) as connection:
            values = {"name": _name(name), "made": made, "changed": made, "set_aside": False}
            rebuild_id = new_key(connection.execute(insert(t.rebuild).values(values)))
            for kind, title, document in things:
                _new_thing(connection, rebuild_id, kind, title, document, who, made)
        return Rebuild(rebuild_id, _name(name), made, made)

    def rename_rebuild(self, rebuild_id: int, name: str) -> None:
        """Give a rebuild another name."""
        self._change_rebuild(rebuild_id, name=_name(name))

    def set_rebuild_aside(self, rebuild_id: int, aside: bool) -> None:
        """Hide a rebuild from the list, or bring it back; nothing of it is lost."""
        self._change_rebuild(rebuild_id, set_aside=aside)

    def _change_rebuild(self, rebuild_id: int, **values: Any) -> None:
        with writing(self.engine) as connection:
            changed = {**values, "changed": now()}
            if not connection.execute(update(t.rebuild).where(t.rebuild.c.id == rebuild_id).values(changed)).rowcount:
                raise _missing("rebuild", rebuild_id)

    # Things

    def things(self, rebuild_id: int, kind: str = "") -> tuple[Thing, ...]:
        """Return the things of a rebuild in the order they were made, of one kind where `kind` says so."""
        asked = select(t.thing).where(t.thing.c.rebuild_id == rebuild_id, t.thing.c.removed.is_(False))
        if kind:
            asked = asked.where(t.thing.c.kind == kind)
        with reading(self.engine) as connection:
            return tuple(_thing(row) for row in connection.execute(asked.order_by(t.thing.c.id)))

    def thing(self, thing_id: int) -> Thing:
        """Return one thing, also one that was removed; raises InputError where there is none."""
        with reading(self.engine) as connection:
            row = connection.execute(select(t.thing).where(t.thing.c.id == thing_id)).first()
        if row is None:
            raise _missing("thing", thing_id)
        return _thing(row)

    def new_thing(self, rebuild_id: int, kind: str, name: str, document: Mapping[str, Any], who: str) -> Saved:
        """Put a new thing with its first document into a rebuild."""
        made = now()
        with writing(self.engine) as connection:
            if connection.execute(select(t.rebuild.c.id).where(t.rebuild.c.id == rebuild_id)).first() is None:
                raise _missing("rebuild", rebuild_id)
            revision = _new_thing(connection, rebuild_id, kind, name, document, who, made)
            _touch(connection, rebuild_id, made)
        return Saved(revision)

    def rename_thing(self, thing_id: int, name: str) -> None:
        """Give a thing another name."""
        self._change_thing(thing_id, name=_name(name))

    def remove_thing(self, thing_id: int, removed: bool = True) -> None:
        """Take a thing off the pages, or bring it back; its history stays either way."""
        self._change_thing(thing_id, removed=removed)

    def _change_thing(self, thing_id: int, **values: Any) -> None:
        with writing(self.engine) as connection:
            if not connection.execute(update(t.thing).where(t.thing.c.id == thing_id).values(values)).rowcount:
                raise _missing("thing", thing_id)

    # Revisions

    def heads(self, thing_id: int) -> tuple[Revision, ...]:
        """Return the revisions nothing has taken the place of, newest first; more than one where two people saved."""
        with reading(self.engine) as connection:
            found = _heads(connection, thing_id)
        if not found:
            raise _missing("thing", thing_id)
        return found

    def history(self, thing_id: int) -> tuple[Revision, ...]:
        """Return every revision of a thing, newest first."""
        asked = select(*_REVISION).where(t.revision.c.thing_id == thing_id).order_by(t.revision.c.id.desc())
        with reading(self.engine) as connection:
            return tuple(_revision(row) for row in connection.execute(asked))

    def save(self, thing_id: int, parent_id: int | None, document: Mapping[str, Any], who: str, key: str = "") -> Saved:
        """Keep a document as a new revision made from `parent_id`.

        Where another was saved from the same parent meanwhile, both stay: `beside` holds the others. key: sent with a
        save that may be sent twice; the second time gives the first answer again. Raises InputError where the parent is
        no revision of this thing.
        """
        with writing(self.engine) as connection:
            _lock(connection, thing_id)
            if key:
                sent = (t.revision.c.thing_id == thing_id) & (t.revision.c.sent_key == key)
                row = connection.execute(select(*_REVISION).where(sent)).first()
                if row is not None:
                    again = _revision(row)
                    return Saved(again, _beside(connection, again))
            if parent_id is None:
                parent_id = _heads(connection, thing_id)[0].id
            revision = _add(connection, thing_id, parent_id, document, who, key=key)
            return Saved(revision, _beside(connection, revision))

    def settle(self, thing_id: int, keep_id: int, who: str, document: Mapping[str, Any] | None = None) -> Saved:
        """Let one of several newest revisions, or a `document` merged from them, take the place of all."""
        with writing(self.engine) as connection:
            _lock(connection, thing_id)
            kept = _one(connection, thing_id, keep_id)
            others = [head.id for head in _heads(connection, thing_id) if head.id != keep_id]
            revision = _add(connection, thing_id, keep_id, kept.document if document is None else document, who)
            for other in others:
                connection.execute(insert(t.settled).values(revision_id=other))
            return Saved(revision)

    def undo(self, thing_id: int, who: str) -> Saved:
        """Write the document before the newest as a new revision; raises InputError where there is none before it."""
        return self._step(thing_id, who, 1)

    def redo(self, thing_id: int, who: str) -> Saved:
        """Take the last undo back; raises InputError where nothing was undone."""
        return self._step(thing_id, who, -1)

    def _step(self, thing_id: int, who: str, step: int) -> Saved:
        with writing(self.engine) as connection:
            _lock(connection, thing_id)
            heads = _heads(connection, thing_id)
            if len(heads) > 1:
                hint = "Choose which one goes on, then undo."
                raise InputError([Fault("thing", thing_id, "one newest version", hint)])
            chain, place = _line_of(connection, heads[0].id)
            if not 0 <= place + step < len(chain):
                word = "an older version" if step > 0 else "an undone version"
                raise InputError([Fault("thing", thing_id, f"{word}; there is none")])
            target = _one(connection, thing_id, chain[place + step])
            revision = _add(connection, thing_id, heads[0].id, target.document, who, brings_back=target.id)
            return Saved(revision)

    def freeze(self, revision_id: int) -> None:
        """Mark a revision as used by a trial: it stays as it is for good."""
        with writing(self.engine) as connection:
            marked = update(t.revision).where(t.revision.c.id == revision_id).values(frozen=True)
            if not connection.execute(marked).rowcount:
                raise _missing("revision", revision_id)

    # Answers

    def kept_answer(self, digest: str) -> dict[str, Any] | None:
        """Return the answer kept under a digest, None where there is none."""
        with reading(self.engine) as connection:
            row = connection.execute(select(t.answer.c.document).where(t.answer.c.digest == digest)).first()
        return None if row is None else json.loads(row[0])

    def keep_answer(self, digest: str, program: str, document: Mapping[str, Any], cited_by: int | None = None) -> None:
        """Keep an answer under its digest; one that is there already stays."""
        values = {"digest": digest, "program": program, "document": _json(document), "made": now(),
                  "cited_by": cited_by}  # fmt: skip
        with writing(self.engine) as connection:
            if connection.execute(select(t.answer.c.digest).where(t.answer.c.digest == digest)).first() is None:
                connection.execute(insert(t.answer).values(values))


def new_key(done: Any) -> int:
    """Return the number a new row was given."""
    return int(done.inserted_primary_key[0])


def _name(name: str) -> str:
    plain = " ".join(name.split())[:LONGEST_NAME]
    if not plain:
        raise InputError([Fault("name", name, "a name of at least one letter")])
    return plain


def _json(document: Mapping[str, Any]) -> str:
    try:
        return json.dumps(document, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    except (TypeError, ValueError) as error:
        raise InputError([Fault("document", type(document).__name__, "what JSON can hold", str(error))]) from error


def _rebuild(row: Any) -> Rebuild:
    return Rebuild(row.id, row.name, row.made, row.changed, bool(row.set_aside))


def _thing(row: Any) -> Thing:
    return Thing(row.id, row.rebuild_id, row.kind, row.name)


def _revision(row: Any) -> Revision:
    return Revision(row.id, row.thing_id, row.parent_id, json.loads(row.document), row.who, row.made, bool(row.frozen))


def _touch(connection: Connection, rebuild_id: int, when: str) -> None:
    connection.execute(update(t.rebuild).where(t.rebuild.c.id == rebuild_id).values(changed=when))


def _lock(connection: Connection, thing_id: int) -> None:
    """Hold a thing until the write is done; raises InputError where there is none (SQLite holds the whole book)."""
    if connection.execute(select(t.thing.c.id).where(t.thing.c.id == thing_id).with_for_update()).first() is None:
        raise _missing("thing", thing_id)


def _new_thing(
    connection: Connection, rebuild_id: int, kind: str, name: str, document: Mapping[str, Any], who: str, made: str
) -> Revision:
    if kind not in KINDS:
        raise InputError([Fault("kind", kind, ", ".join(KINDS))])
    values = {"rebuild_id": rebuild_id, "kind": kind, "name": _name(name), "removed": False}
    thing_id = new_key(connection.execute(insert(t.thing).values(values)))
    fields = {"thing_id": thing_id, "parent_id": None, "document": _json(document), "who": who, "made": made,
              "frozen": False}  # fmt: skip
    return Revision(new_key(connection.execute(insert(t.revision).values(fields))), thing_id, None, document, who, made)


def _add(
    connection: Connection, thing_id: int, parent_id: int, document: Mapping[str, Any], who: str, key: str = "",
    brings_back: int | None = None,
) -> Revision:  # fmt: skip
    """Write a revision after its parent, which is newest no longer."""
    _one(connection, thing_id, parent_id)
    made = now()
    fields = {"thing_id": thing_id, "parent_id": parent_id, "document": _json(document), "who": who, "made": made,
              "frozen": False, "brings_back": brings_back, "sent_key": key or None}  # fmt: skip
    revision_id = new_key(connection.execute(insert(t.revision).values(fields)))
    if connection.execute(select(t.settled).where(t.settled.c.revision_id == parent_id)).first() is None:
        connection.execute(insert(t.settled).values(revision_id=parent_id))
    rebuild_id = connection.execute(select(t.thing.c.rebuild_id).where(t.thing.c.id == thing_id)).scalar_one()
    _touch(connection, rebuild_id, made)
    return Revision(revision_id, thing_id, parent_id, document, who, made)


def _one(connection: Connection, thing_id: int, revision_id: int) -> Revision:
    asked = select(*_REVISION).where(t.revision.c.thing_id == thing_id, t.revision.c.id == revision_id)
    row = connection.execute(asked).first()
    if row is None:
        raise _missing("revision", revision_id)
    return _revision(row)


def _newest(thing_id: int) -> Select[Any]:
    gone = select(t.settled.c.revision_id)
    newest = select(*_REVISION).where(t.revision.c.thing_id == thing_id, t.revision.c.id.not_in(gone))
    return newest.order_by(t.revision.c.id.desc())


def _heads(connection: Connection, thing_id: int) -> tuple[Revision, ...]:
    return tuple(_revision(row) for row in connection.execute(_newest(thing_id)))


def _beside(connection: Connection, revision: Revision) -> tuple[Revision, ...]:
    return tuple(head for head in _heads(connection, revision.thing_id) if head.id != revision.id)


def _line_of(connection: Connection, head_id: int) -> tuple[list[int], int]:
    """Return the line of documents that undo and redo walk, newest first, and where on it the head stands.

    An undo or redo brings an older revision back, so the line runs over what was really written; it starts at the last
    revision that brought nothing back.
    """
    asked = select(t.revision.c.id, t.revision.c.parent_id, t.revision.c.brings_back).where(
        or_(t.revision.c.id == head_id, t.revision.c.thing_id == select(t.revision.c.thing_id).where(
            t.revision.c.id == head_id).scalar_subquery())
    )  # fmt: skip
    links = {row.id: (row.parent_id, row.brings_back) for row in connection.execute(asked)}

    def real(revision_id: int) -> int:
        while links[revision_id][1] is not None:
            revision_id = links[revision_id][1]
        return revision_id

    start = head_id
    while links[start][1] is not None:
        start = links[start][0]
    chain = [start]
    while links[chain[-1]][0] is not None:
        chain.append(real(links[chain[-1]][0]))
    return chain, chain.index(real(head_id))
