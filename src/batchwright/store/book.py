"""The kitchen book: rebuilds, their things, and every revision of them."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Engine, delete, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from batchwright.base.errors import Fault, InputError
from batchwright.store import revisions as r
from batchwright.store import tables as t
from batchwright.store.engine import reading, writing
from batchwright.store.records import KINDS, Rebuild, Revision, Saved, Thing
from batchwright.store.revisions import missing, new_key, now, touch
from batchwright.store.text import document_text, plain

LONGEST_NAME = 200
MOST_ANSWERS = 20_000  # 40 kB for a label of ten ingredients, less for the rest of a rebuild: some 400 MB at most


class Book:
    """An open book. Every method is one short transaction; all may be called from several threads at once."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    # Rebuilds

    def rebuilds(self, set_aside: bool = False, most: int | None = None, skip: int = 0) -> tuple[Rebuild, ...]:
        """Return the rebuilds, the newest change first; those set aside instead where asked for.

        most: how many at most, None for all; skip: how many to leave out before them.
        """
        asked = select(t.rebuild).where(t.rebuild.c.set_aside == set_aside)
        asked = asked.order_by(t.rebuild.c.changed.desc(), t.rebuild.c.id.desc())
        asked = asked.limit(most).offset(skip)
        with reading(self.engine) as connection:
            return tuple(_rebuild(row) for row in connection.execute(asked))

    def count_rebuilds(self, set_aside: bool = False) -> int:
        """Return how many rebuilds there are; how many are set aside where asked for."""
        asked = select(func.count()).select_from(t.rebuild).where(t.rebuild.c.set_aside == set_aside)
        with reading(self.engine) as connection:
            return int(connection.execute(asked).scalar_one())

    def rebuild(self, rebuild_id: int) -> Rebuild:
        """Return one rebuild; raises InputError where the book has none of that number."""
        with reading(self.engine) as connection:
            row = connection.execute(select(t.rebuild).where(t.rebuild.c.id == rebuild_id)).first()
        if row is None:
            raise missing("rebuild", rebuild_id)
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
                raise missing("rebuild", rebuild_id)

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
            raise missing("thing", thing_id)
        return _thing(row)

    def new_thing(self, rebuild_id: int, kind: str, name: str, document: Mapping[str, Any], who: str) -> Saved:
        """Put a new thing with its first document into a rebuild."""
        made = now()
        with writing(self.engine) as connection:
            require_rebuild(connection, rebuild_id)
            revision = _new_thing(connection, rebuild_id, kind, name, document, who, made)
            touch(connection, rebuild_id, made)
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
                raise missing("thing", thing_id)

    # Revisions

    def heads(self, thing_id: int) -> tuple[Revision, ...]:
        """Return the revisions nothing has taken the place of, newest first; more than one where two people saved."""
        with reading(self.engine) as connection:
            found = r.heads(connection, thing_id)
        if not found:
            raise missing("thing", thing_id)
        return found

    def things_with_heads(self, rebuild_id: int, kind: str = "") -> tuple[tuple[Thing, tuple[Revision, ...]], ...]:
        """Return what `things` and `heads` do for each of them, in one query."""
        columns = (t.thing.c.rebuild_id, t.thing.c.kind, t.thing.c.name, *r.REVISION)
        asked = select(*columns).join_from(t.thing, t.revision, t.revision.c.thing_id == t.thing.c.id).where(
            t.thing.c.rebuild_id == rebuild_id, t.thing.c.removed.is_(False), r.UNSETTLED)  # fmt: skip
        if kind:
            asked = asked.where(t.thing.c.kind == kind)
        found: dict[Thing, list[Revision]] = {}
        with reading(self.engine) as connection:
            for row in connection.execute(asked.order_by(t.thing.c.id, t.revision.c.id.desc())):
                thing = Thing(row.thing_id, row.rebuild_id, row.kind, row.name)
                found.setdefault(thing, []).append(r.revision_of(row))
        return tuple((thing, tuple(heads)) for thing, heads in found.items())

    def history(self, thing_id: int) -> tuple[Revision, ...]:
        """Return every revision of a thing, newest first."""
        asked = select(*r.REVISION).where(t.revision.c.thing_id == thing_id).order_by(t.revision.c.id.desc())
        with reading(self.engine) as connection:
            return tuple(r.revision_of(row) for row in connection.execute(asked))

    def save(self, thing_id: int, parent_id: int | None, document: Mapping[str, Any], who: str, key: str = "") -> Saved:
        """Keep a document as a new revision made from `parent_id`.

        parent_id: the revision the writer saw; None for whichever is newest. Where another was saved from the same
        parent meanwhile, both stay: `beside` holds the others. key: sent with a save that may be sent twice; the same
        words under it a second time give the first answer again. Raises InputError where the parent is no revision of
        this thing.
        """
        sent_key = r.sent_key_of(key, document)
        with writing(self.engine) as connection:
            r.hold_thing(connection, thing_id)
            revision = r.sent_before(connection, thing_id, sent_key)
            if revision is None:
                parent = r.heads(connection, thing_id)[0].id if parent_id is None else parent_id
                revision = r.add(connection, thing_id, parent, document, who, sent_key)
            return Saved(revision, r.beside(connection, revision))

    def settle(
        self, thing_id: int, keep_id: int, who: str, document: Mapping[str, Any] | None = None,
        seen_ids: Collection[int] | None = None,
    ) -> Saved:  # fmt: skip
        """Let one of several newest revisions, or a `document` merged from them, take the place of all.

        seen_ids: the newest revisions the chooser saw; one saved since then stays beside. None for all there are.
        """
        with writing(self.engine) as connection:
            r.hold_thing(connection, thing_id)
            kept = r.one(connection, thing_id, keep_id)
            others = [head.id for head in r.heads(connection, thing_id)
                      if head.id != keep_id and (seen_ids is None or head.id in seen_ids)]  # fmt: skip
            merged, brings_back = (kept.document, keep_id) if document is None else (document, None)
            revision = r.add(connection, thing_id, keep_id, merged, who, brings_back=brings_back)
            for other in others:
                r.settle(connection, other)
            return Saved(revision, r.beside(connection, revision))

    def undo(self, thing_id: int, who: str) -> Saved:
        """Write the document before the newest as a new revision; raises InputError where there is none before it."""
        return self._step(thing_id, who, 1)

    def redo(self, thing_id: int, who: str) -> Saved:
        """Take the last undo back; raises InputError where nothing was undone."""
        return self._step(thing_id, who, -1)

    def _step(self, thing_id: int, who: str, step: int) -> Saved:
        with writing(self.engine) as connection:
            r.hold_thing(connection, thing_id)
            heads = r.heads(connection, thing_id)
            if len(heads) > 1:
                hint = "Choose which one goes on, then undo."
                raise InputError([Fault("thing", thing_id, "one newest version", hint)])
            chain, place = r.line_of(connection, thing_id, heads[0].id)
            if not 0 <= place + step < len(chain):
                word = "an older version" if step > 0 else "an undone version"
                raise InputError([Fault("thing", thing_id, f"{word}; there is none")])
            target = r.one(connection, thing_id, chain[place + step])
            return Saved(r.add(connection, thing_id, heads[0].id, target.document, who, brings_back=target.id))

    def freeze(self, revision_id: int) -> None:
        """Mark a revision as used by a trial: it stays as it is for good."""
        with writing(self.engine) as connection:
            marked = update(t.revision).where(t.revision.c.id == revision_id).values(frozen=True)
            if not connection.execute(marked).rowcount:
                raise missing("revision", revision_id)

    # Answers

    def kept_answer(self, digest: str) -> dict[str, Any] | None:
        """Return the answer kept under a digest, None where there is none."""
        with reading(self.engine) as connection:
            row = connection.execute(select(t.answer.c.document).where(t.answer.c.digest == digest)).first()
        return None if row is None else json.loads(row[0])

    def keep_answer(self, digest: str, program: str, document: Mapping[str, Any], cited_by: int | None = None) -> None:
        """Keep an answer under its digest; one that is there already stays, also where two keep it at once.

        The oldest that no revision cites go once there are more than MOST_ANSWERS; they can be worked out again.
        """
        values = {"digest": digest, "program": program, "document": document_text(document), "made": now(),
                  "cited_by": cited_by}  # fmt: skip
        dialect = sqlite if self.engine.dialect.name == "sqlite" else postgresql
        with writing(self.engine) as connection:
            connection.execute(dialect.insert(t.answer).values(values).on_conflict_do_nothing())
            uncited = t.answer.c.cited_by.is_(None)
            newest = select(t.answer.c.made).where(uncited).order_by(t.answer.c.made.desc())
            last = connection.execute(newest.offset(MOST_ANSWERS - 1).limit(1)).scalar()
            if last is not None:
                connection.execute(delete(t.answer).where(uncited, t.answer.c.made < last))


def require_rebuild(connection: Connection, rebuild_id: int) -> None:
    """Raise InputError where the book has no rebuild of that number."""
    if connection.execute(select(t.rebuild.c.id).where(t.rebuild.c.id == rebuild_id)).first() is None:
        raise missing("rebuild", rebuild_id)


def _name(name: str) -> str:
    shown = plain(name, LONGEST_NAME)
    if not shown:
        raise InputError([Fault("name", name, "a name of at least one letter")])
    return shown


def _rebuild(row: Any) -> Rebuild:
    return Rebuild(row.id, row.name, row.made, row.changed, bool(row.set_aside))


def _thing(row: Any) -> Thing:
    return Thing(row.id, row.rebuild_id, row.kind, row.name)


def _new_thing(
    connection: Connection, rebuild_id: int, kind: str, name: str, document: Mapping[str, Any], who: str, made: str
) -> Revision:
    if kind not in KINDS:
        raise InputError([Fault("kind", kind, ", ".join(KINDS))])
    values = {"rebuild_id": rebuild_id, "kind": kind, "name": _name(name), "removed": False}
    thing_id = new_key(connection.execute(insert(t.thing).values(values)))
    return r.first_revision(connection, thing_id, document, who, made)
