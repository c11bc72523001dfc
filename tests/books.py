"""Places for a book in tests, on both databases with the same tests.

SQLite: a file in the test's own folder. PostgreSQL: schemas of its own in the database that BATCHWRIGHT_TEST_POSTGRES
names (postgresql://user@host:port/name, no password in it); they are dropped afterwards.
"""

from __future__ import annotations

import itertools
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, create_engine, make_url, text

from batchwright.store.book import Book
from batchwright.store.opening import open_engine
from batchwright.store.tables import metadata

POSTGRES = os.environ.get("BATCHWRIGHT_TEST_POSTGRES", "")
BOTH = ["sqlite", pytest.param("postgresql", marks=pytest.mark.skipif(
    not POSTGRES, reason="no PostgreSQL: BATCHWRIGHT_TEST_POSTGRES names no database"))]  # fmt: skip
_COUNT = itertools.count()


def _run(statement: str) -> None:
    engine = create_engine(make_url(POSTGRES).set(drivername="postgresql+psycopg"))
    with engine.begin() as connection:
        connection.execute(text(statement))
    engine.dispose()


class Schemas:
    """Empty PostgreSQL schemas, each the address of a new book; all dropped at the end."""

    def __init__(self) -> None:
        self.made: list[str] = []

    def new(self) -> str:
        name = f"book_{os.getpid()}_{next(_COUNT)}"
        _run(f"CREATE SCHEMA {name}")
        self.made.append(name)
        url = make_url(POSTGRES).update_query_dict({"options": f"-csearch_path={name}"})
        return url.render_as_string(hide_password=False)

    def drop(self) -> None:
        for name in self.made:
            _run(f"DROP SCHEMA {name} CASCADE")


@pytest.fixture(scope="session")
def schemas() -> Iterator[Schemas]:
    made = Schemas()
    yield made
    made.drop()


@pytest.fixture(scope="session")
def ready_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new book, made once and copied: making one takes longer than most tests."""
    file = tmp_path_factory.mktemp("ready") / "ready.sqlite"
    open_engine(str(file)).dispose()
    return file


@pytest.fixture(scope="session")
def ready_schema(schemas: Schemas) -> str:
    url = schemas.new()
    open_engine(url).dispose()
    return url


@pytest.fixture(params=BOTH)
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a book may be made, on each database."""
    if request.param == "sqlite":
        return str(tmp_path / "book.sqlite")
    schemas: Schemas = request.getfixturevalue("schemas")
    return schemas.new()


@pytest.fixture(params=BOTH)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an empty book lies, on each database."""
    if request.param == "sqlite":
        file = tmp_path / "book.sqlite"
        shutil.copyfile(request.getfixturevalue("ready_file"), file)
        return str(file)
    url: str = request.getfixturevalue("ready_schema")
    engine = open_engine(url)
    with engine.begin() as connection:
        names = ", ".join(table.name for table in metadata.sorted_tables)
        connection.execute(text(f"TRUNCATE {names} RESTART IDENTITY"))
    engine.dispose()
    return url


@pytest.fixture
def engine(place: str) -> Iterator[Engine]:
    opened = open_engine(place)
    yield opened
    opened.dispose()


@pytest.fixture
def book(engine: Engine) -> Book:
    return Book(engine)


@pytest.fixture
def file_place(tmp_path: Path, ready_file: Path) -> str:
    """Where an empty book lies in a file, for what only files can suffer."""
    file = tmp_path / "book.sqlite"
    shutil.copyfile(ready_file, file)
    return str(file)
