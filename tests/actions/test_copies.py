"""Copies from end to end: what is restored is the book, nothing is written over, nothing is made by mistake."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest

from batchwright.actions.book import begin_rebuild, kept_thing, save_thing
from batchwright.actions.copies import backup, check, export_to, import_from, restore
from batchwright.actions.opened import opened
from batchwright.base.errors import InputError
from tests.store.test_opening import digest, load


def fill(place: str) -> None:
    desk = opened(place)
    rebuild, _ = begin_rebuild(desk.book, "Sugar, wheat flour, palm oil, salt", "Ana")
    kept = kept_thing(desk.book, rebuild.id, "original")
    save_thing(desk.book, kept.thing.id, kept.heads[0].id, {"label": {"text": "Oats"}}, "Ben")
    desk.pictures.add(rebuild.id, "front", b"1", "image/png", (1, 1))
    desk.close()


def test_backup_restore_export_import(place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    fill(place)
    copy = backup(place)
    held = check(place)
    assert held.faults == ()
    assert held.counts == {"rebuild": 1, "thing": 2, "revision": 3, "picture": 1, "answer": 0}
    restored = restore(str(copy), str(tmp_path / "restored.sqlite"))
    assert check(restored).counts == held.counts
    first = export_to("first.zip", place)
    second = export_to("second.zip", restored)
    assert first.read_bytes() == second.read_bytes()
    assert len(import_from("first.zip", restored)) == 1
    assert check(restored).counts["rebuild"] == 2
    assert len(import_from("first.zip", str(tmp_path / "new.sqlite"))) == 1
    assert sorted(each.name for each in tmp_path.glob("*restoring*")) == []


def test_an_export_is_restored_into_either_database(new_place: str, tmp_path: Path) -> None:
    other = str(tmp_path / "filled.sqlite")
    fill(other)
    file = str(export_to(str(tmp_path / "a.zip"), other))
    restore(file, new_place)
    assert check(new_place).counts == check(other).counts
    with pytest.raises(InputError, match="a new or an empty book"):
        restore(file, new_place)
    assert check(new_place).counts == check(other).counts


def test_nothing_is_written_over(file_place: str, tmp_path: Path) -> None:
    fill(file_place)
    copy = backup(file_place)
    before = digest(Path(file_place))
    with pytest.raises(InputError, match="not there yet"):
        restore(str(copy), file_place)
    with pytest.raises(InputError, match="not there yet"):
        export_to(file_place, file_place)
    assert digest(Path(file_place)) == before


def test_what_only_looks_does_not_make_a_book(tmp_path: Path) -> None:
    missing = str(tmp_path / "missing.sqlite")
    for asked in (lambda: check(missing), lambda: backup(missing), lambda: export_to(str(tmp_path / "a.zip"), missing)):
        with pytest.raises(InputError, match="a book that is there"):
            asked()
    (tmp_path / "bad.zip").write_text("no")
    with pytest.raises(InputError):
        import_from(str(tmp_path / "bad.zip"), missing)
    with pytest.raises(InputError):
        restore(str(tmp_path / "bad.zip"), missing)
    assert [each.name for each in tmp_path.iterdir()] == ["bad.zip"]


def test_what_a_moved_book_left_behind_does_not_get_into_the_restored_one(file_place: str, tmp_path: Path) -> None:
    """The book's file was deleted or moved without the `-wal` beside it, then a backup restored in its place."""
    fill(file_place)
    copy = backup(file_place)
    held = check(file_place).counts
    desk = opened(file_place)
    begin_rebuild(desk.book, "Oats", "Ana", "Later than the backup")
    place = tmp_path / "away" / "book.sqlite"
    place.parent.mkdir()
    shutil.copy(f"{file_place}-wal", f"{place}-wal")  # as a program that was killed leaves it
    desk.close()
    restore(str(copy), str(place))
    assert check(str(place)).counts == held
    assert check(str(place)).faults == ()
    assert len(list(place.parent.glob("book.sqlite-wal.left-*"))) == 1, "kept, in case someone wants it"


@pytest.mark.parametrize("version", ["0001", "0002"])
def test_an_older_backup_is_restored_and_stays_as_it_is(version: str, tmp_path: Path) -> None:
    old = tmp_path / "old.backup"
    load(version, old)
    before = digest(old)
    place = restore(str(old), str(tmp_path / "new.sqlite"))
    assert check(place).counts["rebuild"] == 2
    assert digest(old) == before
    assert sorted(each.name for each in tmp_path.iterdir() if not each.name.endswith(("-wal", "-shm"))) == [
        "new.sqlite", "old.backup"]  # fmt: skip


def test_what_is_no_book_is_not_restored(tmp_path: Path, file_place: str) -> None:
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as made:
        made.execute("CREATE TABLE secret (words TEXT)")
    made.close()
    torn = tmp_path / "torn.backup"
    fill(file_place)
    shutil.copy(backup(file_place), torn)
    torn.write_bytes(torn.read_bytes()[:20_000])
    for file in (other, torn):
        with pytest.raises(InputError) as caught:
            restore(str(file), str(tmp_path / "new.sqlite"))
        assert caught.value.faults[0].field == "FILE"
        assert not (tmp_path / "new.sqlite").exists()
    with pytest.raises(InputError, match="that is there"):
        restore(str(tmp_path / "none"), str(tmp_path / "new.sqlite"))
    with pytest.raises(InputError, match="folder that is there"):  # of where it would go, not of what is restored
        restore(str(backup(file_place)), str(tmp_path / "no" / "new.sqlite"))
    assert list(tmp_path.glob("*restoring*")) == []


def test_a_backup_of_a_file_does_not_go_into_postgresql(file_place: str) -> None:
    with pytest.raises(InputError, match="export that, and import it"):
        restore(str(backup(file_place)), "postgresql://nobody@127.0.0.1:1/none")


def test_check_names_what_is_wrong(file_place: str) -> None:
    fill(file_place)
    with sqlite3.connect(file_place) as other:
        other.execute("UPDATE picture SET data = X'00'")
        other.execute("UPDATE revision SET document = '{' WHERE id = 1")
        other.execute("INSERT INTO thing VALUES (77, 1, 'formula', 'Empty', 0)")
        other.execute("INSERT INTO settled VALUES (99)")
    other.close()
    found = check(file_place)
    assert not found.to_json()["whole"]
    for word in ("picture 1", "revision 1", "thing 77", "settled"):
        assert any(word in fault for fault in found.faults), found.faults
