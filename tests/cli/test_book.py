"""`batchwright book`: each word from end to end, its messages in plain words, faults without a traceback."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from batchwright.cli.main import main
from tests.actions.test_copies import fill
from tests.books import POSTGRES, Schemas


def told(capsys: pytest.CaptureFixture[str], *arguments: str, ends: int = 0) -> str:
    assert main(["book", *arguments]) == ends
    shown = capsys.readouterr()
    return shown.out + shown.err


def test_from_one_book_to_another(file_place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fill(file_place)
    text = told(capsys, "check", "--book", file_place)
    assert "1 rebuild, 2 things, 3 revisions, 1 picture, 0 answers" in text
    assert "Whole: nothing wrong was found." in text
    export = str(tmp_path / "book.zip")
    assert told(capsys, "export", export, "--book", file_place) == f"Written: {export}\n"
    other = str(tmp_path / "other.sqlite")
    assert told(capsys, "import", export, "--book", other) == "Taken in: 1 rebuild.\n"
    written = json.loads(told(capsys, "backup", "--book", other, "--json"))["file"]
    place = str(tmp_path / "restored.sqlite")
    assert told(capsys, "restore", written, "--book", place) == f"Written: {place}\n"
    found = json.loads(told(capsys, "check", "--book", place, "--json"))
    assert found["whole"]
    assert found["counts"]["picture"] == 1
    one = str(tmp_path / "one.zip")
    told(capsys, "export", one, "--book", file_place, "--rebuild", "1")
    assert Path(one).read_bytes() == Path(export).read_bytes()


def test_faults_are_said_and_end_with_two(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    missing = str(tmp_path / "missing.sqlite")
    for arguments in (["check"], ["backup"], ["export", str(tmp_path / "a.zip")], ["import", str(tmp_path / "b.zip")],
                      ["restore", str(tmp_path / "b.zip")]):  # fmt: skip
        text = told(capsys, *arguments, "--book", missing, ends=2)
        assert "batchwright: " in text
        assert "Traceback" not in text
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_book_ends_with_one(file_place: str, capsys: pytest.CaptureFixture[str]) -> None:
    fill(file_place)
    with sqlite3.connect(file_place) as other:
        other.execute("UPDATE picture SET data = X'00'")
    other.close()
    assert "picture 1: its bytes are not those that were kept" in told(capsys, "check", "--book", file_place, ends=1)


@pytest.mark.skipif(not POSTGRES, reason="no PostgreSQL: BATCHWRIGHT_TEST_POSTGRES names no database")
def test_on_postgresql_the_backup_says_that_it_is_the_export(
    schemas: Schemas, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    place = schemas.new()
    fill(place)
    text = told(capsys, "backup", "--book", place)
    assert "the backup is the export" in text
    assert "pg_dump" in text
    assert len(list(tmp_path.glob("*.zip"))) == 1
