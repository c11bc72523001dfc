"""Open a book: make it where there is none, bring an older one to this version, refuse what cannot be kept safe."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from sqlalchemy import Engine, inspect, text
from sqlalchemy.exc import DatabaseError

from batchwright.base.errors import Fault, InputError
from batchwright.store.backup import back_up
from batchwright.store.engine import book_url, make_engine, said_fault

VERSION = "0002"
OLDER = ("0001",)
HEADER = b"SQLite format 3\0"  # the first 16 bytes of every SQLite file (SQLite file format, section 1.3)
NETWORK_DRIVES = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "fuse.sshfs", "afpfs", "webdav", "ncpfs"}


def open_engine(given: str = "") -> Engine:
    """Return the engine of an open book of this version; a new one is made where there is none.

    given: see `store.engine.book_url`. An older book is brought to this version after a backup. Raises InputError with
    a sentence for a newer book, a file that is no book, a folder that cannot be written, a network drive, a full disk.
    """
    url = book_url(given)
    if url.get_backend_name() == "sqlite":
        _fit_file(Path(str(url.database)))
    engine = make_engine(url)
    try:
        version = _version(engine)
        if version == VERSION:
            return engine
        if version and version not in OLDER:
            hint = "Nothing was changed in it. Use the newer program, or another book."
            raise InputError([Fault("book", f"a book of version {version}", f"one up to version {VERSION}", hint)])
        if version:
            back_up(engine)
        _migrate(engine)
    except DatabaseError as error:
        engine.dispose()
        raise said_fault(error, shown_place(engine)) from error
    except InputError:
        engine.dispose()
        raise
    return engine


def shown_place(engine: Engine) -> str:
    """Return where a book lies, in words, without any password."""
    url = engine.url
    return str(url.database) if url.get_backend_name() == "sqlite" else url.render_as_string(hide_password=True)


def _fit_file(file: Path) -> None:
    """Refuse a file where no book can be kept safe."""
    folder = file.parent
    if not folder.is_dir():
        raise InputError([Fault("book", str(file), "a file in a folder that is there", f"Make the folder {folder}.")])
    drive = drive_kind(folder)
    if drive in NETWORK_DRIVES:
        hint = "Keep the book on this computer's own disk, or use PostgreSQL: two computers would spoil such a file."
        raise InputError([Fault("book", f"{file} (on a network drive, {drive})", "a file on a disk of this computer",
                                hint)])  # fmt: skip
    if file.exists() and file.stat().st_size:
        with file.open("rb") as opened:
            if opened.read(len(HEADER)) != HEADER:
                hint = "Give another file; this one was left alone."
                raise InputError([Fault("book", str(file), "a book, or a file that is not there yet", hint)])
    if not os.access(folder, os.W_OK) or (file.exists() and not os.access(file, os.W_OK)):
        hint = "Nothing could be kept in it. Copy the book to a folder of your own and open it there."
        raise InputError([Fault("book", str(file), "a file and a folder that can be written", hint)])


def drive_kind(folder: Path) -> str:
    """Return the kind of file system a folder lies on (Linux: from the table of mounts); empty where nobody says."""
    if not sys.platform.startswith("linux"):
        return ""
    try:
        mounts = Path("/proc/self/mounts").read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    place, kind = "", ""
    for line in mounts:
        fields = line.split()
        at = fields[1].replace("\\040", " ")
        if len(at) >= len(place) and folder.resolve().is_relative_to(at):
            place, kind = at, fields[2]
    return kind


def _version(engine: Engine) -> str:
    """Return the version of a book, empty where it is new; raises InputError for another program's database."""
    with engine.connect() as connection:
        tables = set(inspect(connection).get_table_names())
        if "alembic_version" in tables and "rebuild" in tables:
            found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            return str(found) if found else ""
        if tables - {"alembic_version"}:
            hint = "Give another file, or another database; this one was left alone."
            raise InputError([Fault("book", shown_place(engine), "a book, or an empty database", hint)])
    return ""


def _migrate(engine: Engine) -> None:
    """Bring a book to this version: all steps in one transaction, or none."""
    # alembic is only needed for a new or an older book
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with engine.connect().execution_options(begin_with="BEGIN IMMEDIATE") as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, VERSION)
