"""Invented statements, one per habit of printed ingredient lists, each with the tree a careful reader would draw."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from batchwright.original.statements.records import Statement
from batchwright.original.statements.statement import read_statement

CASES = json.loads((Path(__file__).parent / "statement_habits.json").read_text(encoding="utf-8"))
BARE = (
    "children",
    "percent",
    "percent_min",
    "max_percent",
    "one_of",
    "role",
    "source",
    "process",
    "synonym",
    "declares",
)


def differences(want: Any, got: Any, path: str = "") -> list[str]:
    """Return where the tree read differs from the one expected; a bare name may carry nothing else."""
    if isinstance(want, str) and isinstance(got, dict):
        extra = {key: got[key] for key in BARE if key in got}
        return [] if got["name"] == want and not extra else [f"{path}: want bare {want!r}, got {got['name']!r} {extra}"]
    if isinstance(want, dict) and isinstance(got, dict):
        found = []
        for key, value in want.items():
            found += differences(value, got[key], f"{path}.{key}") if key in got else [f"{path}.{key}: missing"]
        if "name" in want:
            found += [
                f"{path}.{key}: unexpected {got[key]!r}"
                for key in ("children", "max_percent", "one_of")
                if key in got and key not in want
            ]
        return found
    if isinstance(want, list) and isinstance(got, list):
        if len(want) != len(got):
            names = [entry.get("name", entry) if isinstance(entry, dict) else entry for entry in got]
            return [f"{path}: want {len(want)} entries, got {names}"]
        return [
            line
            for place, pair in enumerate(zip(want, got, strict=True))
            for line in differences(*pair, f"{path}[{place}]")
        ]
    return [] if want == got else [f"{path}: want {want!r}, got {got!r}"]


@pytest.mark.parametrize("case", CASES, ids=[case["habit"] for case in CASES])
def test_habit(case: dict[str, Any]) -> None:
    expected = dict(case["expected"])
    repairs = expected.pop("repair_kinds", [])
    read = read_statement(case["text"])
    assert differences(expected, read.to_json()) == []
    assert read.uncovered() == []
    assert [repair.kind for repair in read.repairs if repair.kind != "markup"] == repairs
    assert Statement.from_json(json.loads(json.dumps(read.to_json()))) == read


def test_there_are_at_least_sixty_habits() -> None:
    assert len(CASES) >= 60
