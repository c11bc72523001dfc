"""Copies of the book: backups beside it, one file to send or keep, and back again; and whether it is whole."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zipfile import is_zipfile

from batchwright.base.errors import Fault, InputError
from batchwright.store.backup import back_up
from batchwright.store.checking import check_book
from batchwright.store.engine import book_url
from batchwright.store.exchange import export_book, import_book, read_export
from batchwright.store.opening import HEADER, open_engine, shown_place


@dataclass(frozen=True, slots=True)
class Checked:
    """What a book holds (rows by kind), and everything wrong with it; `place` is where it lies."""

    place: str
    counts: dict[str, int]
    faults: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Return all fields, and whether the book is whole."""
        return {"place": self.place, "whole": not self.faults, "counts": self.counts, "faults": list(self.faults)}


def backup(url: str = "") -> Path:
    """Write a copy of a book beside it, in use or not; return its file. The ten newest are kept."""
    engine = open_engine(url)
    try:
        return back_up(engine)
    finally:
        engine.dispose()


def export_to(file: str, url: str = "", rebuild_id: int | None = None) -> Path:
    """Write a book, or one rebuild of it, into one file [zip]; return it."""
    engine = open_engine(url)
    try:
        return export_book(engine, Path(file).expanduser().absolute(), rebuild_id)
    finally:
        engine.dispose()


def import_from(file: str, url: str = "") -> tuple[int, ...]:
    """Take an exported file into a book, beside what is there; return the numbers of the new rebuilds."""
    source = Path(file).expanduser()
    read_export(source)  # before a book is made for it
    engine = open_engine(url)
    try:
        return import_book(engine, source)
    finally:
        engine.dispose()


def restore(file: str, url: str = "") -> str:
    """Make a new book from a backup or an exported file; return where it lies.

    The place must be free: an existing book is never written over. Raises InputError where it is not, or where the file
    is neither.
    """
    source, target = Path(file).expanduser(), book_url(url)
    if not source.is_file():
        raise InputError([Fault("FILE", file, "a backup or an exported book that is there")])
    if is_zipfile(source):
        engine = open_engine(url)
        try:
            if check_book(engine)[0]["rebuild"]:
                raise InputError([Fault("--book", shown_place(engine), "a new or an empty book", _ELSEWHERE)])
            import_book(engine, source)
            return shown_place(engine)
        finally:
            engine.dispose()
    with source.open("rb") as opened:
        if opened.read(len(HEADER)) != HEADER:
            raise InputError([Fault("FILE", file, "a backup (.backup-...) or an exported book (.zip)")])
    if target.get_backend_name() != "sqlite":
        raise InputError([Fault("--book", "a PostgreSQL database", "a file, for a backup of a file",
                                "Restore it to a file, export that, and import it into the database.")])  # fmt: skip
    place = Path(str(target.database))
    if place.exists():
        raise InputError([Fault("--book", str(place), "a file that is not there yet", _ELSEWHERE)])
    shutil.copyfile(source, place)
    open_engine(str(place)).dispose()
    return str(place)


_ELSEWHERE = "Give another one with --book; the book that is there was left alone."


def check(url: str = "") -> Checked:
    """Return what a book holds and whether it is whole; nothing in it is changed."""
    engine = open_engine(url)
    try:
        counts, faults = check_book(engine)
        return Checked(shown_place(engine), counts, faults)
    finally:
        engine.dispose()
