"""The database a book lies in: its address, and connections set up so that what is kept stays kept."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, OperationalError

from batchwright.base.errors import Fault, InputError
from batchwright.store.turns import Turns

DEFAULT_FILE = "batchwright-book.sqlite"
PLACE = "BATCHWRIGHT_BOOK"
PASSWORD, PASSWORD_FILE = "BATCHWRIGHT_BOOK_PASSWORD", "BATCHWRIGHT_BOOK_PASSWORD_FILE"
BUSY_S = 15.0  # how long a write waits for others: of twenty programs writing without a pause each gets its turn
ASK_AGAIN_MS = 25
CONNECT_S = 5  # how long a database may take to answer at all
THREADS = 40  # connections kept, as many as the server's thread pool works with at once


def book_url(given: str = "") -> URL:
    """Return the address of a book.

    given: a file, `sqlite:///file`, or `postgresql://user@host/name`; empty = $BATCHWRIGHT_BOOK, else a file in the
    folder at hand. A PostgreSQL password comes from $BATCHWRIGHT_BOOK_PASSWORD or the file named by
    $BATCHWRIGHT_BOOK_PASSWORD_FILE; one in the address is refused, as arguments can be read by others on the machine.
    Raises InputError for what is neither.
    """
    text = (given or os.environ.get(PLACE, "") or DEFAULT_FILE).strip()
    allowed = "a file, sqlite:///file, or postgresql://user@host/name"
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser().absolute()))
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        raise InputError([Fault("book", text.split("@")[-1], allowed)]) from error
    if url.get_backend_name() == "sqlite":
        file = Path(url.database or DEFAULT_FILE).expanduser().absolute()
        return URL.create("sqlite", database=str(file))
    if url.get_backend_name() != "postgresql":
        raise InputError([Fault("book", url.get_backend_name(), allowed)])
    if (url.password or any("password" in key for key in url.query)) and given:
        hint = f"Put it into {PASSWORD}, or into a file named by {PASSWORD_FILE}."
        raise InputError([Fault("book", "an address with a password in it", "an address without one", hint)])
    return url.set(drivername="postgresql+psycopg", password=url.password or _password())


def _password() -> str | None:
    file = os.environ.get(PASSWORD_FILE)
    if file:
        try:
            return Path(file).read_text(encoding="utf-8").strip()
        except OSError as error:
            raise InputError([Fault(PASSWORD_FILE, file, "a file that can be read", str(error.strerror))]) from error
    return os.environ.get(PASSWORD)


def make_engine(url: URL) -> Engine:
    """Return the engine for a book's address; on SQLite with a write-ahead log, foreign keys and full synchronising."""
    if url.get_backend_name() != "sqlite":
        return _postgresql_engine(url)
    waiting, file, was = {"turns": Turns()}, Path(str(url.database)), list[tuple[int, int] | None]()
    engine = create_engine(url, connect_args={"timeout": BUSY_S}, pool_size=THREADS, execution_options=waiting)

    @event.listens_for(engine, "connect")
    def prepare(raw: Any, _record: Any) -> None:
        raw.isolation_level = None  # transactions begin where we say, not where the driver guesses
        for pragma in ("foreign_keys=ON", "synchronous=FULL"):
            raw.execute(f"PRAGMA {pragma}")
        if not was:
            was.append(_which(file))

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        if "write_until" in options:
            if _which(file) not in was:  # what is written now would be in a file nobody finds again
                hint = "It was moved, deleted or replaced; nothing was changed. Put it back, or start the book again."
                raise InputError([Fault("book", str(file), "the file that was opened", hint)])
            _begin_to_write(connection, options["write_until"])
        elif options.get("begins", True):
            connection.exec_driver_sql("BEGIN")

    return engine


def _which(file: Path) -> tuple[int, int] | None:
    """Return which file lies at a place, by its device and number; None where none does."""
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _begin_to_write(connection: Connection, until: float) -> None:
    """Begin a transaction that holds the book, waiting for other programs until a time [s, monotonic].

    The database's own wait asks ever less often, so that of many programs one may never get its turn; a short wait,
    asked for again and again, gives all the same chance.
    """
    raw: Any = connection.connection.driver_connection
    raw.execute(f"PRAGMA busy_timeout={ASK_AGAIN_MS}")
    try:
        while True:
            try:
                connection.exec_driver_sql("BEGIN IMMEDIATE")
                return
            except OperationalError as error:
                if "locked" not in str(error) or time.monotonic() > until:
                    raise
    finally:
        raw.execute(f"PRAGMA busy_timeout={int(BUSY_S * 1000)}")


def _postgresql_engine(url: URL) -> Engine:
    own = f"-c lock_timeout={int(BUSY_S * 1000)} -c synchronous_commit=on"
    options = f"{url.query.get('options', '')} {own}".strip()
    try:
        return create_engine(url, pool_pre_ping=True, pool_size=THREADS,
                             connect_args={"connect_timeout": CONNECT_S, "options": options})  # fmt: skip
    except ModuleNotFoundError as error:
        hint = "Install it with: pip install 'batchwright[postgres]'"
        raise InputError([Fault("book", "a PostgreSQL address", "a file, as its driver is missing", hint)]) from error


@contextmanager
def reading(engine: Engine, whole: bool = False) -> Iterator[Connection]:
    """Give a connection to read with; `whole`: all that is asked through it is of one moment."""
    postgresql, options = engine.dialect.name == "postgresql", dict[str, Any]()
    if whole:
        options = {"isolation_level": "REPEATABLE READ"} if postgresql else {}
    else:  # one question is of one moment anyway: no transaction, which saves PostgreSQL two journeys
        options = {"isolation_level": "AUTOCOMMIT"} if postgresql else {"begins": False}
    with _connected(engine, options) as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give a connection for one short write: all of it is kept, or none.

    Raises InputError with a sentence where the database could not keep it.
    """
    until = time.monotonic() + BUSY_S
    turns: Turns | None = engine.get_execution_options().get("turns")
    with turns.turn() if turns else nullcontext(), _connected(engine, {"write_until": until}) as connection:
        yield connection


@contextmanager
def _connected(engine: Engine, options: dict[str, Any]) -> Iterator[Connection]:
    try:
        with engine.connect().execution_options(**options) as connection, connection.begin():
            yield connection
    except DBAPIError as error:
        raise said_fault(error, engine.url.database or "") from error


SAID = (
    ("disk is full", "a disk with room on it", "The disk is full; nothing was changed. Make room and send it again."),
    ("no space left", "a disk with room on it", "The disk is full; nothing was changed. Make room and send it again."),
    ("disk i/o error", "a disk with room on it that works",
     "The disk is full or fails; nothing was changed. Make room and send it again."),
    ("readonly", "a book that can be written", "The book cannot be written here; nothing was changed."),
    ("read-only", "a book that can be written", "The book cannot be written here; nothing was changed."),
    ("lock timeout", "a book that is free within fifteen seconds", "Another program is writing in it. Send it again."),
    ("locked", "a book that is free within fifteen seconds", "Another program is writing in it. Send it again."),
    ("unable to open", "a file that can be opened", "See that the folder is there and can be written."),
    ("malformed", "a book that is whole", "Its file is damaged. Restore the newest backup: batchwright book restore."),
    ("not a database", "a book", "Give another file; this one was left alone."),
    ("connection", "a database that answers", "Start the database, or see that its address and password are right."),
)


def said_fault(error: DBAPIError, place: str) -> InputError:
    """Return what a database complained of as a fault in words; passwords never stand in it."""
    return said_fault_of(error.orig or error, place)


def said_fault_of(error: BaseException, place: str) -> InputError:
    """Return a database driver's own complaint as a fault in words."""
    said = str(error).lower()
    for word, allowed, hint in SAID:
        if word in said:
            return InputError([Fault("book", place, allowed, hint)])
    return InputError([Fault("book", place, "a book that can be read and written", f"The database says: {error}")])
