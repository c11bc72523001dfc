"""Reading the project's tables: every figure as its source prints it, every row with its source."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files
from io import StringIO


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of `data/<name>.csv` as text, headers as keys.

    Read once per process. An empty cell means "not given" and stays an empty text; it never becomes 0.
    Raises FileNotFoundError for a table that is not there.
    """
    path = files("batchwright") / "data" / f"{name}.csv"
    return tuple(csv.DictReader(StringIO(path.read_text(encoding="utf-8"), newline="")))


def number(cell: str) -> float | None:
    """Return the number in a cell, or None where the source gives none."""
    return float(cell) if cell.strip() else None
