"""A writer killed at random moments: what it said was kept is there and the book opens (`make torture`: 1,000)."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.books import POSTGRES, Schemas
from tests.contracts.source_tree import TOP


@pytest.fixture(scope="module")
def torture() -> ModuleType:
    spec = importlib.util.spec_from_file_location("torture", TOP / "benchmarks" / "torture.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["torture"] = module
    spec.loader.exec_module(module)
    return module


def test_nothing_said_is_lost_in_a_file(torture: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(torture, "NEW_BOOK_EVERY", 5)
    tally = torture.torture(15, seed=7, folder=tmp_path)
    assert (tally.lost, tally.broken) == ([], [])
    assert tally.books == 3
    assert tally.writes > 0


@pytest.mark.skipif(not POSTGRES, reason="no PostgreSQL: BATCHWRIGHT_TEST_POSTGRES names no database")
def test_nothing_said_is_lost_in_postgresql(torture: ModuleType, schemas: Schemas) -> None:
    tally = torture.torture(8, schemas.new(), seed=8)
    assert (tally.lost, tally.broken) == ([], [])
    assert tally.writes > 0


def test_a_lost_write_would_be_seen(torture: ModuleType, file_place: str) -> None:
    tally = torture.Tally()
    torture._look(file_place, [("rebuild", 1), ("revision", [1, 0.5]), ("answer", "x")], tally, 0)
    assert len(tally.lost) == 3
    with open(file_place, "r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * 8192)
    torture._look(file_place, [], tally, 1)
    assert tally.broken
