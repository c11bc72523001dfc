"""Copies of a book beside it, made while it is in use; the last ten are kept."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine

from batchwright.base.errors import Fault, InputError
from batchwright.store.exchange import export_book

KEPT = 10


def back_up(engine: Engine) -> Path:
    """Write a copy of a book beside it and return its file; the eleventh oldest copy goes.

    SQLite: a copy of the whole book, devices and all, by the database's own online backup. PostgreSQL: the export, in
    the folder at hand; devices and invitations are not in it, and the database's own tools make fuller copies.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    if engine.url.get_backend_name() != "sqlite":
        target = Path.cwd() / f"batchwright-book.backup-{stamp}.zip"
        export_book(engine, target)
        _thin(target.parent, "batchwright-book.backup-*.zip")
        return target
    file = Path(str(engine.url.database))
    target = file.with_name(f"{file.name}.backup-{stamp}")
    part = target.with_name(target.name + ".part")
    try:
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(part)) as copy:
            source.backup(copy)
            if copy.execute("PRAGMA quick_check").fetchone() != ("ok",):
                raise InputError([Fault("book", str(file), "a book that is whole", "Its copy failed the check.")])
        part.replace(target)
    except (sqlite3.Error, OSError) as error:
        part.unlink(missing_ok=True)
        hint = f"The copy could not be written: {error}. The book itself was not touched."
        raise InputError([Fault("backup", str(target), "a folder with room that can be written", hint)]) from error
    _thin(file.parent, f"{file.name}.backup-*[0-9]")
    return target


def _thin(folder: Path, pattern: str) -> None:
    """Keep the newest copies, by the time in their names."""
    for old in sorted(folder.glob(pattern))[:-KEPT]:
        old.unlink()
