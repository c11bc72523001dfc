"""Every table: a header once each, every row as wide, every row with its source; every figure pinned."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest

from tests.contracts.pins import DATA, PINS, pin, table, tables

PROVENANCE = ["source", "locator", "basis"]
BASES = {"measured", "published_fit", "calculated", "regulation", "common_practice", "from_memory"}
SOURCES = DATA / "sources.csv"
SOURCE_COLUMNS = ["key", "title", "publisher", "year", "licence", "note"]
SOURCED = [path for path in tables() if path != SOURCES]


def name_of(path: Path) -> str:
    return path.relative_to(DATA).as_posix()


def source_keys() -> list[str]:
    header, rows = table(SOURCES)
    return [row[header.index("key")] for row in rows]


def test_sources() -> None:
    header, rows = table(SOURCES)
    assert header == SOURCE_COLUMNS
    assert [key for key, count in Counter(source_keys()).items() if count > 1] == []
    for row in rows:
        assert re.fullmatch(r"[a-z0-9_]+", row[0]), row
        assert row[1].strip(), f"{row[0]}: a source has a title"


@pytest.mark.parametrize("path", tables(), ids=name_of)
def test_shape(path: Path) -> None:
    header, rows = table(path)
    assert len(set(header)) == len(header), "each column once"
    for name in header:
        assert re.fullmatch(r"[a-z][a-z0-9_]*", name), f"{name!r}: small letters, digits and _, units included"
    assert rows, "a table has rows"
    assert [number for number, row in enumerate(rows, 2) if len(row) != len(header)] == [], "rows of another width"
    assert b"\r" not in path.read_bytes(), "lines end with a line feed alone"


@pytest.mark.parametrize("path", SOURCED, ids=name_of)
def test_every_row_has_its_source(path: Path) -> None:
    header, rows = table(path)
    assert header[-3:] == PROVENANCE
    keys = set(source_keys())
    for number, row in enumerate(rows, 2):
        source, locator, basis = row[-3:]
        assert source in keys, f"line {number}: {source!r} is no key of sources.csv"
        assert basis in BASES, f"line {number}: basis {basis!r}"
        assert locator.strip(), f"line {number}: where in the source?"


@pytest.mark.parametrize("path", tables(), ids=name_of)
def test_pinned(path: Path) -> None:
    pins = json.loads(PINS.read_text(encoding="utf-8"))
    assert pins.get(name_of(path)) == pin(path), f"{name_of(path)} has changed: `make pins`, then read the diff"


def test_no_pin_without_its_table() -> None:
    pins = json.loads(PINS.read_text(encoding="utf-8"))
    assert set(pins) == {name_of(path) for path in tables()}


def test_a_changed_figure_is_seen(tmp_path: Path) -> None:
    original = tmp_path / "shelf.csv"
    original.write_text("name,fat_g,source,locator,basis\nbutter,81.1,x,y,measured\n")
    changed = tmp_path / "changed.csv"
    changed.write_text(original.read_text().replace("81.1", "81.2"))
    assert pin(original) != pin(changed)
