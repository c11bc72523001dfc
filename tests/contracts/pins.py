"""The tables pinned by row count and column sums: changing a figure is a deliberate diff.

`python -m tests.contracts.pins` (or `make pins`) takes the tables as they stand for right; read the diff of pins.json.
"""

from __future__ import annotations

import csv
import json
from functools import cache
from hashlib import sha256
from math import fsum
from pathlib import Path
from typing import Any

from tests.contracts.source_tree import PACKAGE

DATA = PACKAGE / "data"
PINS = Path(__file__).with_name("pins.json")


def tables() -> list[Path]:
    """Return every table the package ships."""
    return sorted(DATA.rglob("*.csv"))


@cache
def table(path: Path) -> tuple[list[str], list[list[str]]]:
    """Return the header and the rows of a table, cells as text."""
    with path.open(encoding="utf-8", newline="") as handle:
        header, *body = list(csv.reader(handle)) or [[]]
    return header, body


def figure(cell: str) -> float | None:
    """Return the number in a cell, None where it holds none."""
    try:
        return float(cell)
    except ValueError:
        return None


def pin(path: Path) -> dict[str, Any]:
    """Return what pins a table: its rows, the sum of each column of numbers, a digest of each column of words."""
    header, body = table(path)
    columns: dict[str, Any] = {}
    for place, name in enumerate(header):
        cells = [row[place] if place < len(row) else "" for row in body]
        figures = [figure(cell) for cell in cells if cell.strip()]
        if figures and all(value is not None for value in figures):
            columns[name] = float(f"{fsum(value for value in figures if value is not None):.9g}")
        else:
            columns[name] = sha256("\n".join(cells).encode()).hexdigest()[:8]
    return {"rows": len(body), "columns": columns}


def main() -> None:
    """Write pins.json from the tables as they stand."""
    pins = {path.relative_to(DATA).as_posix(): pin(path) for path in tables()}
    PINS.write_text(json.dumps(pins, indent=1) + "\n", encoding="utf-8")
    print(f"{len(pins)} tables, {sum(each['rows'] for each in pins.values())} rows pinned in {PINS.name}")


if __name__ == "__main__":
    main()
