"""Files that are written whole or not at all: copies of a book, exports."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from batchwright.base.errors import Fault, InputError


def copy_file(source: Path, target: Path) -> None:
    """Copy a SQLite book, in use or not, into one whole and checked file; all of it is there, or none.

    Raises InputError where the source is not whole or the copy cannot be written; the source is only read.
    """
    part = target.with_name(target.name + ".part")
    try:
        with closing(sqlite3.connect(_reading(source), uri=True)) as book, closing(sqlite3.connect(part)) as copy:
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
        drop_file(part)


def _reading(source: Path) -> str:
    """Return the address to read a book's file by; one in a place that cannot be written is as it will stay."""
    writes = any(source.with_name(source.name + end).exists() for end in ("-wal", "-journal"))
    still = not writes and not os.access(source.parent, os.W_OK)
    return f"{source.absolute().as_uri()}?mode=ro{'&immutable=1' if still else ''}"


def drop_file(part: Path) -> None:
    """Put an unfinished file away; where it could not even be begun there is none, and why is said elsewhere."""
    with suppress(OSError):
        part.unlink()


def settle_file(part: Path, target: Path) -> None:
    """Give a finished file its name, once the disk has it."""
    with part.open("rb+") as written:
        os.fsync(written.fileno())
    part.replace(target)
