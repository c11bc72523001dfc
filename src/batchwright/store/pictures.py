"""Pictures in the book: rows like all else, so that a copy of the book has them."""

from __future__ import annotations

import hashlib
import logging
import time
from typing import Any

from sqlalchemy import Connection, Engine, delete, func, insert, select, text, update
from sqlalchemy.exc import DBAPIError

from batchwright.base.errors import Fault, InputError
from batchwright.store import revisions as r
from batchwright.store import tables as t
from batchwright.store.book import LONGEST_NAME, require_rebuild
from batchwright.store.engine import reading, writing
from batchwright.store.records import PICTURE_TYPES, Picture, Revision
from batchwright.store.revisions import new_key, now, touch
from batchwright.store.text import plain

GONE = ""  # the digest of a picture that was removed: its row stays, so that its number is never another picture's
WIPE_S = 5.0  # how long readers are waited for before what was removed is wiped
_LOOKING = """SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()
    AND backend_xmin IS NOT NULL AND age(backend_xmin) >= age(CAST(CAST(:before AS text) AS xid))"""
log = logging.getLogger("batchwright.book")
_WORDS = (*(column for column in t.picture.c if column.name != "data"), func.length(t.picture.c.data).label("size"))


def _picture(row: Any) -> Picture:
    return Picture(row.id, row.rebuild_id, row.name, row.media_type, row.width, row.height, row.size, row.digest,
                   row.made)  # fmt: skip


class Pictures:
    """The pictures of one book; safe to call from several threads."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def add(self, rebuild_id: int, name: str, data: bytes, media_type: str, size_px: tuple[int, int]) -> Picture:
        """Keep a picture's bytes, already re-encoded and without metadata; `size_px` its width and height [px].

        Raises InputError for a media type that is no picture's (PICTURE_TYPES), or a rebuild that is not there.
        """
        if media_type not in PICTURE_TYPES:
            raise InputError([Fault("picture", media_type, ", ".join(PICTURE_TYPES))])
        made, digest, shown = now(), hashlib.sha256(data).hexdigest(), plain(name, LONGEST_NAME)
        values = {"rebuild_id": rebuild_id, "name": shown, "media_type": media_type, "width": size_px[0],
                  "height": size_px[1], "digest": digest, "made": made, "data": data}  # fmt: skip
        with writing(self.engine) as connection:
            require_rebuild(connection, rebuild_id)
            done = connection.execute(insert(t.picture).values(values))
            touch(connection, rebuild_id, made)
        picture_id = new_key(done)
        return Picture(picture_id, rebuild_id, shown, media_type, *size_px, len(data), digest, made)

    def of(self, rebuild_id: int) -> tuple[Picture, ...]:
        """Return what is known of the pictures of a rebuild, without their bytes, in the order they came."""
        asked = select(*_WORDS).where(t.picture.c.rebuild_id == rebuild_id, t.picture.c.digest != GONE)
        with reading(self.engine) as connection:
            return tuple(_picture(row) for row in connection.execute(asked.order_by(t.picture.c.id)))

    def one(self, picture_id: int) -> tuple[Picture, bytes]:
        """Return a picture and its bytes; raises InputError where there is none of that number."""
        with reading(self.engine) as connection:
            row = connection.execute(select(*_WORDS, t.picture.c.data).where(t.picture.c.id == picture_id)).first()
        if row is None or row.digest == GONE:
            raise _not_there(picture_id, row is not None)
        return _picture(row), bytes(row.data)

    def gone(self, picture_ids: list[int]) -> tuple[int, ...]:
        """Return which of some pictures were removed."""
        asked = select(t.picture.c.id).where(t.picture.c.id.in_(picture_ids), t.picture.c.digest == GONE)
        with reading(self.engine) as connection:
            return tuple(connection.execute(asked.order_by(t.picture.c.id)).scalars())

    def remove(self, rebuild_id: int, picture_id: int, who: str, read_under: str = "") -> Revision:
        """Remove a picture of a rebuild for good, its bytes and what was read in it; return the revision that says so.

        The original's newest revisions go on without it, under `pictures_removed` its name and the day. Bytes are
        overwritten in a file; PostgreSQL writes its table of pictures anew. Copies made before still hold it.
        read_under: the digest under which what was read in it is kept. Raises InputError where it is not there.
        """
        with writing(self.engine) as connection:
            if self.engine.dialect.name == "sqlite":
                connection.exec_driver_sql("PRAGMA secure_delete=ON")
            asked = select(t.picture.c.name, t.picture.c.digest)
            asked = asked.where(t.picture.c.id == picture_id, t.picture.c.rebuild_id == rebuild_id)
            row = connection.execute(asked.with_for_update()).first()
            if row is None or row.digest == GONE:
                raise _not_there(picture_id, row is not None)
            empty = {"data": b"", "digest": GONE, "width": 0, "height": 0, "name": ""}
            connection.execute(update(t.picture).where(t.picture.c.id == picture_id).values(empty))
            connection.execute(delete(t.answer).where(t.answer.c.digest == read_under))
            said = _go_on_without(connection, rebuild_id, picture_id, row.name, who)
        _wipe(self.engine)
        return said


def _not_there(picture_id: int, removed: bool) -> InputError:
    hint = "It was removed for good; copies of the book made before still hold it." if removed else ""
    return InputError([Fault("picture", picture_id, "a picture that is in this book", hint)])


def _go_on_without(connection: Connection, rebuild_id: int, picture_id: int, name: str, who: str) -> Revision:
    """Write the original's newest revisions anew without a picture; where none names it the newest says so too."""
    asked = select(t.thing.c.id).where(t.thing.c.rebuild_id == rebuild_id, t.thing.c.kind == "original")
    thing_id = connection.execute(asked.order_by(t.thing.c.id)).scalars().first()
    if thing_id is None:
        raise r.missing("rebuild", rebuild_id)
    r.hold_thing(connection, thing_id)
    heads = r.heads(connection, thing_id)
    naming = [head for head in heads if picture_id in (head.document.get("pictures") or ())]
    said = f"{name or 'picture'}, {now()[:10]}"
    written = []
    for head in naming or heads[:1]:
        kept = [each for each in head.document.get("pictures") or () if each != picture_id]
        removed = [*(head.document.get("pictures_removed") or ()), said]
        document = {**head.document, "pictures": kept, "pictures_removed": removed}
        if not kept:
            del document["pictures"]
        written.append(r.add(connection, thing_id, head.id, document, who))
    return written[0]


def _wipe(engine: Engine) -> None:
    """Let nothing of removed bytes stay on the disk; where the database is busy it is tried again with the next."""
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT", begins=False) as connection:
        end = time.monotonic() + WIPE_S
        if engine.dialect.name == "postgresql":
            if not _written_anew(connection, end):
                log.warning("a removed picture's bytes stay in the database, which somebody else is reading, until the "
                            "next picture is removed; or say there: VACUUM (FULL) picture")  # fmt: skip
            return
        while connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)").one()[0]:
            if time.monotonic() > end:
                log.warning("a removed picture stays in the book's log of writes until it is next emptied")
                return
            time.sleep(0.05)


def _written_anew(connection: Connection, end: float) -> bool:
    """Let PostgreSQL write its table of pictures anew; False where that left in it what somebody may be looking at."""
    before = connection.execute(text("SELECT pg_current_xact_id()::xid::text")).scalar_one()
    while looking := connection.execute(text(_LOOKING), {"before": before}).scalar_one():
        if time.monotonic() > end:
            break
        time.sleep(0.05)
    try:
        connection.execute(text("SELECT set_config('lock_timeout', :most, false)"), {"most": f"{int(WIPE_S * 1000)}ms"})
        connection.execute(text("VACUUM (FULL) picture"))
    except DBAPIError:  # somebody holds the table: the picture is off every page all the same
        return False
    finally:
        connection.execute(text("RESET lock_timeout"))
    return not looking
