"""Export and import: the same book again, byte for byte; damaged or hostile files change nothing."""

from __future__ import annotations

import errno
import hashlib
import json
import stat
import zipfile
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from batchwright.base.errors import InputError
from batchwright.store import exchange, exchange_file
from batchwright.store.book import Book
from batchwright.store.checking import check_book, counted
from batchwright.store.devices import Devices
from batchwright.store.exchange import export_book, import_book
from batchwright.store.opening import open_engine
from batchwright.store.pictures import Pictures
from tests.store.test_book import DOCUMENTS, begun


def filled(engine: Engine) -> int:
    """Fill a book with one of everything, one rebuild in the way before it; return the rebuild's number."""
    book, pictures = Book(engine), Pictures(engine)
    begun(book, "In the way")
    rebuild_id, thing_id = begun(book, "Oat slab; “quince”")
    root = book.heads(thing_id)[0].id
    first = pictures.add(rebuild_id, "front", b"\x89PNG 1", "image/png", (3, 4))
    second = pictures.add(rebuild_id, "back", b"\xff\xd8 2", "image/jpeg", (5, 6))
    pictures.add(rebuild_id, "front again", b"\x89PNG 1", "image/png", (3, 4))
    book.new_thing(rebuild_id, "original", "Original", {"pictures": [second.id, first.id], "½": "\ud800"}, "Ana")
    used = book.save(thing_id, root, {"n": 1}, "Ana", key="sent").revision
    book.freeze(used.id)
    book.undo(thing_id, "Ana")
    book.save(thing_id, used.id, {"n": 2}, "Ben")
    book.remove_thing(book.new_thing(rebuild_id, "formula", "Off", {}, "Ben").revision.thing_id)
    book.keep_answer("a" * 64, "1", {})
    Devices(engine).add("tin", "keeper", None, "b" * 64)
    book.set_rebuild_aside(rebuild_id, True)
    return rebuild_id


def test_out_in_and_out_again_is_the_same_file(engine: Engine, tmp_path: Path, file_place: str) -> None:
    filled(engine)
    first = export_book(engine, tmp_path / "first.zip")
    assert export_book(engine, tmp_path / "again.zip").read_bytes() == first.read_bytes()
    for name, target in (("same", engine), ("file", open_engine(str(tmp_path / "other.sqlite")))):
        before = len(Book(target).rebuilds()) + len(Book(target).rebuilds(True))
        taken = import_book(target, first)
        assert len(taken) == 2
        assert check_book(target)[1] == ()
        if before == 0:
            second = export_book(target, tmp_path / f"{name}.zip")
            assert second.read_bytes() == first.read_bytes()
        else:  # beside what was there: each rebuild by itself is the same
            one = export_book(engine, tmp_path / "one.zip", taken[1] - 2)
            two = export_book(engine, tmp_path / "two.zip", taken[1])
            assert one.read_bytes() == two.read_bytes()
        book = Book(target)
        begun(book, "Goes on")  # numbers go on after those taken in
        target.dispose()


def test_one_rebuild_is_all_of_it_and_nothing_else(engine: Engine, tmp_path: Path) -> None:
    rebuild_id = filled(engine)
    file = export_book(engine, tmp_path / "one.zip", rebuild_id)
    other = open_engine(str(tmp_path / "other.sqlite"))
    (taken,) = import_book(other, file)
    old, new = Book(engine), Book(other)
    assert (new.rebuild(taken).name, new.rebuild(taken).set_aside) == ("Oat slab; “quince”", True)
    for before, after in zip(old.things(rebuild_id), new.things(taken), strict=True):
        assert (after.kind, after.name) == (before.kind, before.name)
        if before.kind != "original":
            assert [(each.document, each.who, each.when, each.frozen) for each in new.history(after.id)] == [
                (each.document, each.who, each.when, each.frozen) for each in old.history(before.id)]  # fmt: skip
            assert len(new.heads(after.id)) == len(old.heads(before.id))
    (original,) = new.things(taken, "original")
    shown = [Pictures(other).one(number)[1] for number in new.heads(original.id)[0].document["pictures"]]
    assert shown == [b"\xff\xd8 2", b"\x89PNG 1"]
    assert counted(other) == {"rebuild": 1, "thing": 3, "revision": 6, "picture": 3, "answer": 0}
    formula = new.things(taken, "formula")[0]
    assert new.undo(formula.id, "Ana") if len(new.heads(formula.id)) == 1 else True
    again = new.save(formula.id, new.history(formula.id)[-1].id, {"n": 1}, "Ana", key="sent")
    assert again.revision.frozen, "what a phone sent before is known after the move too"
    other.dispose()


@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(documents=st.lists(DOCUMENTS, min_size=1, max_size=3), names=st.text(min_size=1, max_size=9))
def test_any_documents_make_the_way(
    engine: Engine, tmp_path: Path, documents: list[dict[str, Any]], names: str
) -> None:
    book = Book(engine)
    rebuild_id, thing_id = begun(book, f"x{names}")
    for document in documents:
        book.save(thing_id, None, document, names)
    for each in tmp_path.glob("*.zip"):
        each.unlink()
    first = export_book(engine, tmp_path / "a.zip", rebuild_id)
    (taken,) = import_book(engine, first)
    kept = [each.document for each in book.history(book.things(taken)[0].id)]
    numbers = [each.document for each in book.history(thing_id)]
    assert [{**each, "pictures": 0} for each in kept] == [{**each, "pictures": 0} for each in numbers]
    assert export_book(engine, tmp_path / "b.zip", taken).read_bytes() == first.read_bytes()


def test_an_export_is_the_book_of_one_moment(engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Someone saves while the export reads: what it holds hangs together all the same."""
    rebuild_id = filled(engine)
    book = Book(engine)
    read = exchange._rows

    def slow(connection: Any, table: Any, where: Any) -> Any:
        rows = read(connection, table, where)
        if table.name == "thing":
            book.new_thing(rebuild_id, "formula", "Meanwhile", {"pictures": []}, "Ben")
        return rows

    monkeypatch.setattr(exchange, "_rows", slow)
    file = export_book(engine, tmp_path / "a.zip")
    with exchange_file.opened_export(file) as export:
        assert "Meanwhile" not in [thing["name"] for thing in export.content["things"]]
    assert "Meanwhile" in [thing.name for thing in book.things(rebuild_id)]


def test_a_file_in_the_way_and_a_place_that_cannot_be_written(engine: Engine, tmp_path: Path) -> None:
    there = tmp_path / "there.zip"
    there.write_text("mine")
    with pytest.raises(InputError, match="not there yet"):
        export_book(engine, there)
    assert there.read_text() == "mine"
    with pytest.raises(InputError, match="can be written"):
        export_book(engine, tmp_path / "no" / "folder.zip")
    with pytest.raises(InputError, match="rebuild"):
        export_book(engine, tmp_path / "a.zip", 77)
    assert sorted(each.name for each in tmp_path.glob("*.part")) == []


def test_a_drive_that_takes_nothing_is_said(engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_given: object, **_options: object) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(zipfile, "ZipFile", refuse)
    monkeypatch.setattr(Path, "unlink", refuse)
    with pytest.raises(InputError, match=r"Read-only.*not touched"):
        export_book(engine, tmp_path / "a.zip")


# Hostile and damaged files

Parts = dict[str, bytes]


@pytest.fixture(scope="module")
def good(ready_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("good")
    (folder / "book.sqlite").write_bytes(ready_file.read_bytes())
    engine = open_engine(str(folder / "book.sqlite"))
    filled(engine)
    file = export_book(engine, folder / "good.zip")
    engine.dispose()
    return file


def parts_of(file: Path) -> Parts:
    with zipfile.ZipFile(file) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def packed(parts: Parts, file: Path, signed: bool = True) -> Path:
    """Write parts as an export; `signed`: checksums made to fit."""
    manifest = json.loads(parts.get("manifest.json", b"[]")) if signed else None
    if isinstance(manifest, dict):
        manifest["sha256"] = {name: hashlib.sha256(data).hexdigest() for name, data in parts.items()
                              if name != "manifest.json"}  # fmt: skip
        parts = {**parts, "manifest.json": json.dumps(manifest).encode()}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as out:
        for name, data in parts.items():
            out.writestr(name, data)
    return file


def changed(change: Callable[[dict[str, Any]], None]) -> Callable[[Parts], None]:
    """Return a change of book.json as a change of the parts."""

    def on(parts: Parts) -> None:
        content = json.loads(parts["book.json"])
        change(content)
        parts["book.json"] = json.dumps(content).encode()

    return on


def put(table: str, place: int, **values: Any) -> Callable[[Parts], None]:
    return changed(lambda content: content[table][place].update(values))


def version(number: Any) -> Callable[[Parts], None]:
    def on(parts: Parts) -> None:
        parts["manifest.json"] = json.dumps({**json.loads(parts["manifest.json"]), "version": number}).encode()

    return on


HOSTILE: dict[str, tuple[Callable[[Parts], Any], str]] = {
    "no manifest": (lambda parts: parts.pop("manifest.json"), "whole"),
    "no book": (lambda parts: parts.pop("book.json"), "manifest"),
    "a picture fewer": (lambda parts: parts.pop(next(n for n in parts if n.startswith("pic"))), "every picture"),
    "another format": (lambda parts: parts.update({"manifest.json": b'{"format":"x"}'}), "exported by this program"),
    "a list for a manifest": (lambda parts: parts.update({"manifest.json": b"[]"}), "exported by this program"),
    "newer format": (version(2), "newer program"),
    "a way out": (lambda parts: parts.update({"../../etc/x": b"1"}), "its manifest names"),
    "an absolute name": (lambda parts: parts.update({"/etc/x": b"1"}), "its manifest names"),
    "a picture under another name": (lambda parts: parts.update({"pictures/../x": b"1"}), "its manifest names"),
    "not JSON": (lambda parts: parts.update({"book.json": b"{"}), "whole"),
    "a list for a book": (lambda parts: parts.update({"book.json": b"[1]"}), "whole"),
    "nested a hundred thousand deep": (lambda parts: parts.update({"book.json": b"[" * 100_000}), "whole"),
    "a table missing": (changed(lambda c: c.pop("things")), "a list of rows"),
    "rows that are none": (changed(lambda c: c.update(things=[1])), "a list of rows"),
    "a field missing": (changed(lambda c: c["revisions"][0].pop("who")), "revisions 1, who"),
    "a number twice": (put("things", 1, id=1), "each number once"),
    "a number too large": (put("pictures", 0, width=2**40), "pictures 1, width"),
    "true for a number": (put("things", 1, id=True), "things 2, id"),
    "a thing of no rebuild": (put("things", 0, rebuild_id=9), "one of its rebuilds"),
    "a revision of no thing": (put("revisions", 0, thing_id=99), "one of its things"),
    "a parent that comes later": (put("revisions", 1, parent_id=5), "an earlier revision"),
    "a parent of another thing": (put("revisions", 2, parent_id=1), "an earlier revision"),
    "brings back what is not there": (put("revisions", 0, brings_back=1), "an earlier revision"),
    "nothing newest": (put("revisions", 0, settled=True), "a newest revision"),
    "another kind": (put("things", 0, kind="script"), "things 1, kind"),
    "a page for a picture": (put("pictures", 0, media_type="text/html"), "media_type"),
    "a time that is none": (put("rebuilds", 0, made="yesterday"), "rebuilds 1, made"),
    "a nul": (put("rebuilds", 0, name="a\0b"), "rebuilds 1, name"),
    "a list for a document": (put("revisions", 0, document=[]), "revisions 1, document"),
    "what is no number in JSON": (put("revisions", 0, document={"a": float("nan")}), "JSON"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile(name: str, good: Path, tmp_path: Path, file_place: str) -> None:
    change, said = HOSTILE[name]
    parts = parts_of(good)
    change(parts)
    refused(packed(parts, tmp_path / "bad.zip"), file_place, said)


def refused(file: Path, place: str, said: str) -> None:
    """The file is refused with these words, and the book is as it was."""
    engine = open_engine(place)
    with pytest.raises(InputError) as caught:
        import_book(engine, file)
    assert said in str(caught.value)
    assert set(counted(engine).values()) == {0}
    assert check_book(engine)[1] == ()
    engine.dispose()


def test_pictures_that_are_no_numbers_are_no_harm(good: Path, tmp_path: Path, file_place: str) -> None:
    parts = parts_of(good)
    put("revisions", 0, document={"pictures": [[1], {}, True, 1.0, None, "1", 10**30]})(parts)
    engine = open_engine(file_place)
    assert len(import_book(engine, packed(parts, tmp_path / "a.zip"))) == 2
    engine.dispose()


def test_checksums(good: Path, tmp_path: Path, file_place: str) -> None:
    for name in parts_of(good):
        parts = parts_of(good)
        parts[name] = parts[name].replace(b"1", b"2") if name.endswith(".json") else parts[name] + b"."
        said = "checksum" if name != "manifest.json" else "FILE"
        refused(packed(parts, tmp_path / "bad.zip", signed=False), file_place, said)


def test_any_byte_spoilt_is_seen_or_harmless(good: Path, tmp_path: Path, file_place: str) -> None:
    data = good.read_bytes()
    engine = open_engine(file_place)
    for at in range(0, len(data), max(1, len(data) // 120)):
        bad = tmp_path / "bad.zip"
        bad.write_bytes(data[:at] + bytes([data[at] ^ 0x55]) + data[at + 1 :])
        try:
            with exchange_file.opened_export(bad) as export:
                assert export.content == json.loads(parts_of(good)["book.json"])
        except InputError:
            pass
    assert set(counted(engine).values()) == {0}
    engine.dispose()


@pytest.mark.parametrize("end", [0, 10, 0.5, 0.99])
def test_cut_short(end: float, good: Path, tmp_path: Path, file_place: str) -> None:
    data = good.read_bytes()
    (tmp_path / "bad.zip").write_bytes(data[: int(end * len(data)) if end < 1 else int(end)])
    refused(tmp_path / "bad.zip", file_place, "whole")


def test_bombs(good: Path, tmp_path: Path, file_place: str) -> None:
    parts = parts_of(good)
    zeros = b"\0" * 9_000_000
    named = f"pictures/{hashlib.sha256(zeros).hexdigest()}"
    refused(packed({**parts, named: zeros}, tmp_path / "a.zip"), file_place, "no denser than")
    refused(packed({**parts, "book.json": b" " * 9_000_000}, tmp_path / "b.zip"), file_place, "no denser than")
    refused(packed({**parts, "manifest.json": b" " * 9_000_000}, tmp_path / "c.zip", False), file_place, "no denser")


def test_a_head_that_lies_about_its_size(good: Path, tmp_path: Path, file_place: str) -> None:
    data = good.read_bytes()
    size = len(parts_of(good)["book.json"]).to_bytes(4, "little")
    at = data.rindex(size)
    (tmp_path / "bad.zip").write_bytes(data[:at] + (5).to_bytes(4, "little") + data[at + 4 :])
    refused(tmp_path / "bad.zip", file_place, "whole")


def test_too_many_files(good: Path, tmp_path: Path, file_place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exchange_file, "MOST_FILES", 3)
    refused(good, file_place, "at most 3")


def test_links_and_doubles_in_the_zip(good: Path, tmp_path: Path, file_place: str) -> None:
    link = zipfile.ZipInfo("pictures/link")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    for entry in (link, zipfile.ZipInfo("book.json")):
        bad = tmp_path / "bad.zip"
        bad.write_bytes(good.read_bytes())
        warned = nullcontext() if entry is link else pytest.warns(UserWarning, match="Duplicate")
        with warned, zipfile.ZipFile(bad, "a") as out:
            out.writestr(entry, "/etc/passwd")
        refused(bad, file_place, "each once")


def test_no_file_a_folder_and_a_text(tmp_path: Path, file_place: str) -> None:
    refused(tmp_path / "none.zip", file_place, "can be read")
    refused(tmp_path, file_place, "can be read")
    (tmp_path / "text.zip").write_text("a recipe")
    refused(tmp_path / "text.zip", file_place, "whole")
