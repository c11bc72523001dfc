"""Backups: whole while others write, ten of them, and the book untouched when one cannot be written."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from pathlib import Path

import pytest

from batchwright.base.errors import InputError
from batchwright.store import backup as backup_module
from batchwright.store import files
from batchwright.store.backup import KEPT, back_up
from batchwright.store.book import Book
from batchwright.store.checking import check_book, counted
from batchwright.store.exchange import export_book
from batchwright.store.opening import open_engine
from tests.books import POSTGRES, Schemas
from tests.store.test_book import begun
from tests.store.test_exchange import filled


def test_a_copy_is_the_whole_book_in_one_file(file_place: str, tmp_path: Path) -> None:
    engine = open_engine(file_place)
    filled(engine)
    copy = back_up(engine)
    assert copy.parent == tmp_path
    assert copy.name.startswith("book.sqlite.backup-2")
    engine.dispose()
    (tmp_path / "away").mkdir()
    moved = str(shutil.copy(copy, tmp_path / "away" / "book.sqlite"))
    other, engine = open_engine(moved), open_engine(file_place)
    assert counted(other) == counted(engine)
    assert export_book(other, tmp_path / "a.zip").read_bytes() == export_book(engine, tmp_path / "b.zip").read_bytes()
    engine.dispose()
    other.dispose()


def test_ten_are_kept_and_nothing_else_touched(file_place: str, tmp_path: Path) -> None:
    others = ["book.sqlite.backup-mine", "book.sqlite2.backup-20260101T000000000000", "notes.txt"]
    for name in others:
        (tmp_path / name).write_text("mine")
    engine = open_engine(file_place)
    made = [back_up(engine) for _ in range(KEPT + 3)]
    engine.dispose()
    assert len({*made}) == KEPT + 3
    assert sorted(tmp_path.glob("book.sqlite.backup-2*")) == made[-KEPT:]
    assert all((tmp_path / name).read_text() == "mine" for name in others)
    assert list(tmp_path.glob("*.part*")) == []


def test_while_others_write(file_place: str) -> None:
    """Each copy holds everything that was acknowledged before it was begun, and is whole."""
    engine, writer = open_engine(file_place), open_engine(file_place)
    book = Book(writer)
    _, thing_id = begun(book)
    stop, count = threading.Event(), [0]

    def write() -> None:
        while not stop.is_set():
            book.save(thing_id, None, {"n": count[0], "words": "oats " * 500}, "Ana")
            count[0] += 1

    thread = threading.Thread(target=write)
    thread.start()
    try:
        for _ in range(4):
            before = count[0]
            copy = open_engine(str(back_up(engine)))
            assert counted(copy)["revision"] >= before + 1
            assert check_book(copy)[1] == ()
            copy.dispose()
    finally:
        stop.set()
        thread.join()
    assert count[0] > 0
    engine.dispose()
    writer.dispose()


def test_a_folder_without_room_leaves_nothing_behind(
    file_place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = open_engine(file_place)
    before = back_up(engine)

    class Full(sqlite3.Connection):
        def backup(self, *_args: object, **_options: object) -> None:
            raise sqlite3.OperationalError("database or disk is full")

    connect = sqlite3.connect
    monkeypatch.setattr(files.sqlite3, "connect", lambda *args, **how: connect(*args, **how, factory=Full))
    with pytest.raises(InputError, match=r"full.*not touched"):
        back_up(engine)
    assert list(tmp_path.glob("*.backup-*")) == [before]
    monkeypatch.undo()
    assert check_book(engine)[1] == ()
    engine.dispose()


def test_a_damaged_book_makes_no_backup(file_place: str, tmp_path: Path) -> None:
    engine = open_engine(file_place)
    filled(engine)
    engine.dispose()
    with open(file_place, "r+b") as file:
        file.seek(3 * 4096)
        file.write(b"\xff" * 4096 * 6)
    with pytest.raises(InputError):
        back_up(open_engine(file_place))
    assert list(tmp_path.glob("*.backup-*")) == []


@pytest.mark.skipif(not POSTGRES, reason="no PostgreSQL: BATCHWRIGHT_TEST_POSTGRES names no database")
def test_on_postgresql_the_copy_is_the_export(
    schemas: Schemas, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(backup_module, "KEPT", 2)
    engine = open_engine(schemas.new())
    filled(engine)
    made = [back_up(engine) for _ in range(4)]
    assert sorted(tmp_path.iterdir()) == made[-2:]
    assert made[-1].read_bytes() == export_book(engine, tmp_path / "a.zip").read_bytes()
    engine.dispose()
