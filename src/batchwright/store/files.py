"""Files that are written whole or not at all: copies of a book, exports."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from batchwright.base.errors import Fault, InputError


def copy_file(source: Path, target: Path) -> None:
    """Copy a SQLite book, in use or not, into one whole and checked file; all of it is there, or none.

    Raises InputError where the source is not whole or the copy cannot be written; the source is only read.
    """
    part = target.with_name(target.name + ".part")
    try:
        with closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as book, \
                closing(sqlite3.connect(part)) as copy:  # fmt: skip
            copy.execute("PRAGMA synchronous=FULL")
            book.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, that a stick which cannot be written opens as well
            if copy.execute("PRAGMA quick_check").fetchone() != ("ok",):
                raise InputError([Fault("book", str(source), "a book that is whole", "Its copy failed the check.")])
        settle_file(part, target)
    except (sqlite3.Error, OSError) as error:
        hint = f"The copy could not be written: {error}. The book itself was not touched."
        raise InputError([Fault("backup", str(target), "a folder with room that can be written", hint)]) from error
    finally:
        part.unlink(missing_ok=True)


def settle_file(part: Path, target: Path) -> None:
    """Give a finished file its name, once the disk has it."""
    with part.open("rb+") as written:
        os.fsync(written.fileno())
    part.replace(target)
