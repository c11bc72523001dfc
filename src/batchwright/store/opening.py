"""Open a book: make it where there is none, bring an older one to this version, refuse what cannot be kept safe."""

from __future__ import annotations

import os
import sqlite3
import time
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, inspect, text
from sqlalchemy.exc import DBAPIError

from batchwright.base.errors import Fault, InputError
from batchwright.store.backup import back_up
from batchwright.store.engine import BUSY_S, DEFAULT_FILE, book_url, make_engine, said_fault, said_fault_of

VERSION = "0003"
OLDER = ("0001", "0002")
HEADER = b"SQLite format 3\0"  # the first 16 bytes of every SQLite file (SQLite file format, section 1.3)
NETWORK_DRIVES = {
    "9p", "afpfs", "afs", "ceph", "cifs", "davfs", "fuse.davfs2", "fuse.glusterfs", "fuse.gvfsd-fuse", "fuse.rclone",
    "fuse.s3fs", "fuse.sshfs", "gfs2", "glusterfs", "lustre", "ncpfs", "nfs", "nfs4", "ocfs2", "smb3", "smbfs",
    "webdav",
}  # fmt: skip
MIGRATING = 5_226_001  # any number, the same for all: PostgreSQL's lock on migrating a book
_ELSEWHERE = "Say which one with --book; nothing was made there."


def open_engine(given: str = "", make_new: bool = True) -> Engine:
    """Return the engine of an open book of this version; a new one is made where there is none and `make_new`.

    given: see `store.engine.book_url`. An older book is brought to this version after a backup. Raises InputError with
    a sentence for a newer book, a file that is no book, a folder that cannot be written, a network drive, a full disk.
    """
    url = book_url(given)
    if url.get_backend_name() == "sqlite":
        fit_file(Path(str(url.database)), make_new)
    engine = make_engine(url)
    try:
        version = _version(engine)
        if not version and not make_new:
            raise InputError([Fault("book", shown_place(engine), "a book that is there", _ELSEWHERE)])
        if version and version != VERSION and version not in OLDER:
            hint = "Nothing was changed in it. Use the newer program, or another book."
            raise InputError([Fault("book", f"a book of version {version}", f"one up to version {VERSION}", hint)])
        if engine.dialect.name == "sqlite":
            _write_ahead(engine)
        if version in OLDER:
            back_up(engine)
        if version != VERSION:
            _migrate(engine)
    except DBAPIError as error:
        engine.dispose()
        raise said_fault(error, shown_place(engine)) from error
    except InputError:
        engine.dispose()
        raise
    return engine


def shown_place(engine: Engine) -> str:
    """Return where a book lies, in words, without any password."""
    url = engine.url
    if url.get_backend_name() == "sqlite":
        return str(url.database)
    secret = [key for key in url.query if "password" in key]
    return url.set(drivername="postgresql").difference_update_query(secret).render_as_string(hide_password=True)


def fit_file(file: Path, make_new: bool) -> None:
    """Refuse a file where no book can be kept safe, and one that is not there unless `make_new`."""
    file = file.resolve()  # a link: beside what it leads to the database writes
    folder = file.parent
    if not folder.is_dir():
        raise InputError([Fault("book", str(file), "a file in a folder that is there", f"Make the folder {folder}.")])
    drive = drive_kind(folder)
    if drive in NETWORK_DRIVES:
        hint = (f"Its folder is on a network drive ({drive}), where two computers would spoil it. Keep it on a disk of "
                "this computer, or use PostgreSQL.")  # fmt: skip
        raise InputError([Fault("book", str(file), "a file on a disk of this computer", hint)])
    if file.is_dir():
        raise InputError([Fault("book", str(file), "a file, not a folder", f"For instance {file / DEFAULT_FILE}.")])
    if not file.exists() and not make_new:
        raise InputError([Fault("book", str(file), "a book that is there", _ELSEWHERE)])
    if file.exists() and file.stat().st_size and not has_header(file):
        hint = "Give another file; this one was left alone."
        raise InputError([Fault("book", str(file), "a book, or a file that is not there yet", hint)])
    if not os.access(folder, os.W_OK) or (file.exists() and not os.access(file, os.W_OK)):
        hint = "Nothing could be kept in it. Copy the book to a folder of your own and open it there."
        raise InputError([Fault("book", str(file), "a file and a folder that can be written", hint)])


def has_header(file: Path) -> bool:
    """Tell whether a file begins as a SQLite file does; raises InputError where it cannot be read."""
    try:
        with file.open("rb") as opened:
            return opened.read(len(HEADER)) == HEADER
    except OSError as error:
        raise InputError([Fault("book", str(file), "a file that can be read", str(error.strerror))]) from error


def drive_kind(folder: Path) -> str:
    """Return the kind of file system a folder lies on (Linux: from the table of mounts); empty where nobody says.

    Also empty for what the computer itself starts from ("/"), whatever that is.
    """
    place, kind = "", ""
    for line in mounts_text().splitlines():
        fields = line.split()
        at = fields[1].replace("\\040", " ")
        if at != "/" and len(at) >= len(place) and folder.resolve().is_relative_to(at):
            place, kind = at, fields[2]
    return kind


def mounts_text() -> str:
    """Return Linux's table of mounts; empty on other systems."""
    try:
        return Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _version(engine: Engine) -> str:
    """Return the version of a book, empty where it is new; raises InputError for another program's database."""
    with engine.connect() as connection:
        tables = set(inspect(connection).get_table_names())
        if {"alembic_version", "rebuild"} <= tables:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            return str(found) if found else ""
        if tables:
            hint = "Give another file, or another database; this one was left alone."
            raise InputError([Fault("book", shown_place(engine), "a book, or an empty database", hint)])
    return ""


def _write_ahead(engine: Engine) -> None:
    """Let a book be read while it is written; kept in the file, so asked for once it is known to be ours or new."""
    end = time.monotonic() + BUSY_S
    with engine.connect() as connection:
        raw: Any = connection.connection.driver_connection
        while raw.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            try:
                raw.execute("PRAGMA journal_mode=WAL").fetchone()
            except sqlite3.OperationalError as error:  # two that begin one book: the database does not wait by itself
                if "locked" not in str(error) or time.monotonic() > end:
                    raise said_fault_of(error, shown_place(engine)) from error
                time.sleep(0.02)


def _migrate(engine: Engine) -> None:
    """Bring a book to this version: all steps in one transaction, or none; of two at once, one waits for the other."""
    from alembic import command  # heavy: only a new or an older book needs it
    from alembic.config import Config  # as above

    config = Config()
    folder = Path(__file__).parent / "migrations"
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    with engine.connect().execution_options(write_until=time.monotonic() + BUSY_S) as connection:
        raw: Any = connection.connection.driver_connection
        if engine.dialect.name == "sqlite":
            raw.execute("PRAGMA foreign_keys=OFF")  # a table is rebuilt by dropping the old one: no row may follow it
        try:
            with connection.begin():
                if engine.dialect.name == "postgresql":
                    connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": MIGRATING})
                config.attributes["connection"] = connection
                command.upgrade(config, VERSION)
                if engine.dialect.name == "sqlite" and connection.execute(text("PRAGMA foreign_key_check")).first():
                    hint = "Nothing was changed. See what is wrong with: batchwright book check."
                    raise InputError([Fault("book", shown_place(engine), "a book whose rows all hang together", hint)])
        finally:
            if engine.dialect.name == "sqlite":
                raw.execute("PRAGMA foreign_keys=ON")
