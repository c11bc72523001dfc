"""Pictures in the book: rows like all else, so that a copy of the book has them."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import Engine, func, insert, select

from batchwright.base.errors import Fault, InputError
from batchwright.store import tables as t
from batchwright.store.book import LONGEST_NAME, require_rebuild
from batchwright.store.engine import reading, writing
from batchwright.store.records import PICTURE_TYPES, Picture
from batchwright.store.revisions import new_key, now, touch
from batchwright.store.text import plain

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
        asked = select(*_WORDS).where(t.picture.c.rebuild_id == rebuild_id).order_by(t.picture.c.id)
        with reading(self.engine) as connection:
            return tuple(_picture(row) for row in connection.execute(asked))

    def one(self, picture_id: int) -> tuple[Picture, bytes]:
        """Return a picture and its bytes; raises InputError where there is none of that number."""
        with reading(self.engine) as connection:
            row = connection.execute(select(*_WORDS, t.picture.c.data).where(t.picture.c.id == picture_id)).first()
        if row is None:
            raise InputError([Fault("picture", picture_id, "a picture that is in this book")])
        return _picture(row), bytes(row.data)
