"""Is a book whole? Looks at every row, changes nothing."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from sqlalchemy import Connection, Engine, Table, func, select, text

from batchwright.store import tables as t
from batchwright.store.engine import reading
from batchwright.store.pictures import GONE


def check_book(engine: Engine) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return how many rows of each kind a book holds, and everything that is wrong with it, in words; none is good."""
    faults: list[str] = []
    with reading(engine, whole=True) as connection:
        if engine.url.get_backend_name() == "sqlite":
            said = [row[0] for row in connection.execute(text("PRAGMA integrity_check"))]
            faults += [f"file: {each}" for each in said if each != "ok"]
            faults += [f"link: {row[0]} {row[1]} names a missing {row[2]}"
                       for row in connection.execute(text("PRAGMA foreign_key_check"))]  # fmt: skip
        faults += _documents(connection)
        pictures = select(t.picture.c.id, t.picture.c.digest, t.picture.c.data).execution_options(yield_per=10)
        for row in connection.execute(pictures):
            if row.digest != GONE and hashlib.sha256(bytes(row.data)).hexdigest() != row.digest:
                faults.append(f"picture {row.id}: its bytes are not those that were kept")
        counts = _counts(connection)
    return counts, tuple(faults)


def counted(engine: Engine) -> dict[str, int]:
    """Return how many rows of each kind a book holds."""
    with reading(engine) as connection:
        return _counts(connection)


def _counts(connection: Connection) -> dict[str, int]:
    def counted_of(table: Table) -> int:
        asked = select(func.count()).select_from(table)
        return int(connection.execute(asked if table is not t.picture else asked.where(there)).scalar_one())

    there = t.picture.c.digest != GONE
    return {each.name: counted_of(each) for each in (t.rebuild, t.thing, t.revision, t.picture, t.answer)}


def _documents(connection: Connection) -> list[str]:
    """Return documents that cannot be read, parents of another thing, and things without a newest revision."""
    faults = []
    owner: dict[int, int] = {}
    parents: list[tuple[int, Any, int]] = []
    asked = select(t.revision.c.id, t.revision.c.thing_id, t.revision.c.parent_id, t.revision.c.document)
    for row in connection.execute(asked.execution_options(yield_per=1000)):
        owner[row.id] = row.thing_id
        if row.parent_id is not None:
            parents.append((row.id, row.parent_id, row.thing_id))
        try:
            json.loads(row.document)
        except ValueError:
            faults.append(f"revision {row.id}: its document cannot be read")
    faults += [f"revision {number}: made from a revision of another thing" for number, parent, thing in parents
               if owner.get(parent) != thing]  # fmt: skip
    gone = {row.revision_id for row in connection.execute(select(t.settled))}
    newest = {thing for number, thing in owner.items() if number not in gone}
    things = [row.id for row in connection.execute(select(t.thing.c.id))]
    return faults + [f"thing {number}: nothing newest in it" for number in things if number not in newest]
