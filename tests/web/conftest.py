"""Books served for the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.books import file_place, ready_file
from tests.web.served import Served, served

__all__ = ["file_place", "ready_file"]


@pytest.fixture
def kitchen(file_place: str) -> Iterator[Served]:
    """An empty book, served to this machine."""
    made = served(file_place)
    yield made
    made.opened.close()
