"""Pictures are rows: their bytes come back as they were."""

from __future__ import annotations

import hashlib
import random
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from batchwright.base.errors import InputError
from batchwright.store import pictures
from batchwright.store.book import Book
from batchwright.store.checking import check_book
from batchwright.store.exchange import export_book, import_book
from batchwright.store.opening import open_engine
from batchwright.store.pictures import Pictures
from tests.books import POSTGRES
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


def with_picture(engine: Engine, book: Book) -> tuple[int, int, int, bytes]:
    """Return rebuild, original and picture, the picture's bytes too large for one page of any database."""
    rebuild_id, _ = begun(book)
    data = random.Random(3).randbytes(60_000)
    kept = Pictures(engine).add(rebuild_id, "front.jpg", data, "image/jpeg", (30, 20))
    thing = book.new_thing(rebuild_id, "original", "Original", {"pictures": [kept.id], "notes": "x"}, "Ana")
    return rebuild_id, thing.revision.thing_id, kept.id, data


def test_a_removed_picture_is_gone_and_the_history_says_so(engine: Engine, book: Book, tmp_path: Path) -> None:
    rebuild_id, thing_id, number, _ = with_picture(engine, book)
    pictures = Pictures(engine)
    book.keep_answer("r" * 64, "1", {"read": "words"})
    said = pictures.remove(rebuild_id, number, "Ana", "r" * 64)
    document = book.heads(thing_id)[0].document
    assert said.document == document
    assert ("pictures" in document, document["notes"]) == (False, "x")
    assert document["pictures_removed"][0].startswith("front.jpg, 20")
    assert pictures.of(rebuild_id) == ()
    assert book.kept_answer("r" * 64) is None
    with pytest.raises(InputError, match="removed for good"):
        pictures.one(number)
    with pytest.raises(InputError, match="removed for good"):
        pictures.remove(rebuild_id, number, "Ana")
    assert pictures.gone([number, 77]) == (number,)
    assert pictures.add(rebuild_id, "next", b"1", "image/png", (1, 1)).id != number, "its number is never another's"
    book.undo(thing_id, "Ana")
    assert book.heads(thing_id)[0].document["pictures"] == [number]
    assert check_book(engine)[1] == ()
    file = export_book(engine, tmp_path / "a.zip", rebuild_id)
    other = open_engine(str(tmp_path / "other.sqlite"))
    (taken,) = import_book(other, file)
    assert [each.name for each in Pictures(other).of(taken)] == ["next"]
    other.dispose()


def test_its_bytes_are_gone_from_the_disk(engine: Engine, book: Book) -> None:
    rebuild_id, _, number, data = with_picture(engine, book)
    if engine.dialect.name == "postgresql":
        size = text("SELECT pg_total_relation_size('picture')")
        with engine.connect() as connection:
            before = connection.execute(size).scalar_one()
        Pictures(engine).remove(rebuild_id, number, "Ana")
        with engine.connect() as connection:
            assert connection.execute(size).scalar_one() < before - len(data) // 2
        return
    file = Path(str(engine.url.database))

    def pieces_there() -> int:
        held = b"".join(each.read_bytes() for each in file.parent.glob(f"{file.name}*"))
        return sum(data[at : at + 16] in held for at in range(0, len(data), 1000))

    assert pieces_there() > 50
    Pictures(engine).remove(rebuild_id, number, "Ana")
    assert pieces_there() == 0


@pytest.mark.skipif(not POSTGRES, reason="no PostgreSQL: BATCHWRIGHT_TEST_POSTGRES names no database")
@pytest.mark.parametrize("looks", ["SELECT count(*) FROM rebuild", "LOCK TABLE picture IN ACCESS SHARE MODE"])
def test_bytes_that_stay_since_somebody_looks_are_warned_of(
    looks: str, ready_schema: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    engine = open_engine(ready_schema)
    rebuild_id, _, number, _ = with_picture(engine, Book(engine))
    monkeypatch.setattr(pictures, "WIPE_S", 0.3)
    how = {"isolation_level": "REPEATABLE READ" if "SELECT" in looks else "READ COMMITTED"}
    with engine.connect().execution_options(**how) as other:
        other.execute(text(looks))
        Pictures(engine).remove(rebuild_id, number, "Ana")
        assert "VACUUM (FULL) picture" in caplog.text
    assert Pictures(engine).of(rebuild_id) == ()
    caplog.clear()
    pictures._wipe(engine)
    assert caplog.text == ""
    with engine.connect() as connection:
        assert connection.execute(text("SHOW lock_timeout")).scalar_one() == "15s"
    engine.dispose()


def test_another_rebuilds_picture_is_not_removed(engine: Engine, book: Book) -> None:
    _, _, number, data = with_picture(engine, book)
    other, _ = begun(book, "Rye thins")
    with pytest.raises(InputError, match="a picture that is in this book"):
        Pictures(engine).remove(other, number, "Ana")
    assert Pictures(engine).one(number)[1] == data


def test_both_of_two_newest_versions_go_on_without_it(engine: Engine, book: Book) -> None:
    rebuild_id, thing_id, number, _ = with_picture(engine, book)
    first = book.heads(thing_id)[0]
    for words in ("one", "other"):
        book.save(thing_id, first.id, {**first.document, "notes": words}, "Ben")
    Pictures(engine).remove(rebuild_id, number, "Ana")
    heads = book.heads(thing_id)
    assert {head.document["notes"] for head in heads} == {"one", "other"}
    assert all("pictures" not in head.document for head in heads)
