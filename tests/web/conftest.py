"""Books served for the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.books import file_place, place, ready_file, ready_schema, schemas
from tests.web.served import Served, served

__all__ = ["file_place", "place", "ready_file", "ready_schema", "schemas"]


@pytest.fixture
def kitchen(place: str) -> Iterator[Served]:
    """An empty book on each database, served to this machine."""
    made = served(place)
    yield made
    made.opened.close()


@pytest.fixture
def file_kitchen(file_place: str) -> Iterator[Served]:
    """An empty book in a file, served to this machine: for what takes long, or no database has a part in."""
    made = served(file_place)
    yield made
    made.opened.close()
