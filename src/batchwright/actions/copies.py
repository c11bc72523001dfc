"""Copies of the book: backups beside it, one file to send or keep, and back again; and whether it is whole."""

from __future__ import annotations

import glob
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from batchwright.actions.documents import check_kept
from batchwright.base.errors import Fault, InputError
from batchwright.store.backup import back_up
from batchwright.store.checking import check_book, counted
from batchwright.store.engine import book_url
from batchwright.store.exchange import export_book, take_in
from batchwright.store.exchange_file import opened_export
from batchwright.store.files import copy_file
from batchwright.store.opening import fit_file, has_header, open_engine, shown_place


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
    engine = open_engine(url, make_new=False)
    try:
        return back_up(engine)
    finally:
        engine.dispose()


def export_to(file: str, url: str = "", rebuild_id: int | None = None) -> Path:
    """Write a book, or one rebuild of it, into one file [zip]; return it."""
    engine = open_engine(url, make_new=False)
    try:
        return export_book(engine, Path(file).expanduser().absolute(), rebuild_id)
    finally:
        engine.dispose()


def import_from(file: str, url: str = "") -> tuple[int, ...]:
    """Take an exported file into a book, beside what is there; return the numbers of the new rebuilds."""
    source = Path(file).expanduser()
    with opened_export(source, check_kept) as export:  # before a book is made for it
        engine = open_engine(url)
        try:
            return take_in(engine, export)
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
    if not has_header(source):
        return _restore_export(source, url)
    if target.get_backend_name() != "sqlite":
        raise InputError([Fault("--book", "a PostgreSQL database", "a file, for a backup of a file",
                                "Restore it to a file, export that, and import it into the database.")])  # fmt: skip
    place = Path(str(target.database))
    if place.exists() and place.stat().st_size:
        raise InputError([Fault("--book", str(place), "a file that is not there yet", _ELSEWHERE)])
    fit_file(place, make_new=True)
    copied = place.with_name(f"{place.name}.restoring")
    try:
        copy_file(source, copied)
        open_engine(str(copied), make_new=False).dispose()  # is it a book, and one this program knows?
        _clear_remains(place)
        copy_file(copied, place)
    except InputError as error:
        raise InputError([_about(fault, file, copied.name) for fault in error.faults]) from error
    finally:
        for each in place.parent.glob(glob.escape(copied.name) + "*"):
            each.unlink(missing_ok=True)
    open_engine(str(place)).dispose()
    return str(place)


def _clear_remains(place: Path) -> None:
    """Put out of the way what a book moved from here left behind; the database would take it for the new one's."""
    for end in ("-wal", "-shm", "-journal"):
        remains = place.with_name(place.name + end)
        if remains.exists():
            remains.replace(remains.with_name(f"{remains.name}.left-{datetime.now(UTC):%Y%m%dT%H%M%S%f}"))


def _about(fault: Fault, file: str, copied: str) -> Fault:
    """Return a fault of the copy as one of the file it was made from."""
    return Fault("FILE", file if copied in str(fault.value) else fault.value, fault.allowed, fault.hint)


def _restore_export(source: Path, url: str) -> str:
    with opened_export(source, check_kept) as export:
        engine = open_engine(url)
        try:
            if counted(engine)["rebuild"]:
                raise InputError([Fault("--book", shown_place(engine), "a new or an empty book", _ELSEWHERE)])
            take_in(engine, export)
            return shown_place(engine)
        finally:
            engine.dispose()


_ELSEWHERE = "Give another one with --book; the book that is there was left alone."


def check(url: str = "") -> Checked:
    """Return what a book holds and whether it is whole (an older one is first brought to this version, as ever)."""
    engine = open_engine(url, make_new=False)
    try:
        counts, faults = check_book(engine)
        return Checked(shown_place(engine), counts, faults)
    finally:
        engine.dispose()
