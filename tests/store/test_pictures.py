"""Pictures are rows: their bytes come back as they were."""

from __future__ import annotations

import hashlib

import pytest
from sqlalchemy import Engine

from batchwright.base.errors import InputError
from batchwright.store.book import Book
from batchwright.store.pictures import Pictures
from tests.store.test_book import begun


def test_bytes_come_back(engine: Engine, book: Book) -> None:
    pictures = Pictures(engine)
    rebuild_id, _ = begun(book)
    other, _ = begun(book, "Rye thins")
    data = bytes(range(256)) * 40
    made = pictures.add(rebuild_id, "front\0 of it", data, "image/png", (80, 128))
    assert (made.name, made.size_bytes, made.digest) == ("front of it", len(data), hashlib.sha256(data).hexdigest())
    assert pictures.one(made.id) == (made, data)
    assert pictures.of(rebuild_id) == (made,)
    assert pictures.of(other) == ()
    assert book.rebuilds()[0].id == rebuild_id, "a picture is a change"


@pytest.mark.parametrize("media_type", ["text/html", "image/svg+xml", ""])
def test_only_what_a_browser_draws_is_kept(engine: Engine, book: Book, media_type: str) -> None:
    rebuild_id, _ = begun(book)
    with pytest.raises(InputError, match="image/jpeg"):
        Pictures(engine).add(rebuild_id, "x", b"<script>", media_type, (1, 1))
    assert Pictures(engine).of(rebuild_id) == ()


def test_what_is_not_there_is_a_fault(engine: Engine) -> None:
    with pytest.raises(InputError, match="picture"):
        Pictures(engine).one(4)
    with pytest.raises(InputError, match="rebuild"):
        Pictures(engine).add(4, "x", b"1", "image/png", (1, 1))
