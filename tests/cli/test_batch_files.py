"""Files of records: every line answered in order, broken ones too; nothing stops the rest."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from batchwright.base.errors import InputError
from batchwright.cli.batch_files import record_of, records_in, write_answers


def test_lines_come_in_order_and_broken_ones_too(tmp_path: Path) -> None:
    path = tmp_path / "in.jsonl"
    path.write_text('{"id": 1}\n\nno json\n[1, 2]\n{"id": 2}\n')
    assert list(records_in(str(path))) == [
        {"id": 1}, {"id": None, "broken": "no json\n"}, {"id": None, "broken": "[1, 2]\n"}, {"id": 2},
    ]  # fmt: skip


def test_deeply_nested_line_is_broken_and_no_crash() -> None:
    assert record_of("[" * 200_000)["id"] is None


def test_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO('{"id": "a"}\n'))
    assert list(records_in("-")) == [{"id": "a"}]


def test_answers_are_counted(tmp_path: Path) -> None:
    path = tmp_path / "out.jsonl"
    answers = [{"id": 1, "name": "crème"}, {"id": 2, "error": {"field": "statement"}}]
    assert write_answers(iter(answers), str(path)) == (2, 1)
    assert [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] == answers


def test_missing_files_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="--batch"):
        list(records_in(str(tmp_path / "none.jsonl")))
    with pytest.raises(InputError, match="--out"):
        write_answers(iter([]), str(tmp_path / "none" / "out.jsonl"))
