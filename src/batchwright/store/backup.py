"""Copies of a book beside it, made while it is in use; the last ten are kept."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine

from batchwright.store.exchange import export_book
from batchwright.store.files import copy_file

KEPT = 10


def back_up(engine: Engine) -> Path:
    """Write a copy of a book beside it and return its file; the eleventh oldest copy goes.

    SQLite: a copy of the whole book, devices and all, by the database's own online backup. PostgreSQL: the export, in
    the folder at hand; devices and invitations are not in it, and the database's own tools make fuller copies.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    if engine.dialect.name != "sqlite":
        name = re.sub(r"\W+", "-", f"{engine.url.host or 'here'}-{engine.url.database or ''}")
        target = Path.cwd() / f"batchwright-book.{name}.backup-{stamp}.zip"
        export_book(engine, target)
        _thin(target.parent, f"batchwright-book.{name}.backup-", ".zip")
        return target
    file = Path(str(engine.url.database))
    target = file.with_name(f"{file.name}.backup-{stamp}")
    copy_file(file, target)
    _thin(file.parent, f"{file.name}.backup-")
    return target


def _thin(folder: Path, before: str, after: str = "") -> None:
    """Keep the newest copies, by the time in their names."""
    name = re.compile(re.escape(before) + r"\d{8}T\d{12}" + re.escape(after))
    for old in sorted(each for each in folder.iterdir() if name.fullmatch(each.name))[:-KEPT]:
        old.unlink(missing_ok=True)
