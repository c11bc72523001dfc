"""One file for a whole book or one rebuild: a zip of JSON and pictures, checksummed, to send, keep, or take in.

`manifest.json` names the format, its version and the SHA-256 of every other file; `book.json` holds rebuilds, things,
revisions and what is known of pictures; `pictures/<sha-256>` their bytes. Numbers are given anew from 1 in order, so
that the same content is the same file, byte for byte. Devices, invitations and worked-out answers are not in it.
The format is described in docs/reference/book-file.md; `store.exchange_file` reads it.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, bindparam, insert, inspect, select, update

from batchwright.base.errors import Fault, InputError
from batchwright.store import tables as t
from batchwright.store.engine import reading, writing
from batchwright.store.exchange_file import FORMAT, FORMAT_VERSION, Check, Export, opened_export
from batchwright.store.files import drop_file, settle_file
from batchwright.store.pictures import GONE
from batchwright.store.text import document_text, json_text

EARLY = (1980, 1, 1, 0, 0, 0)  # the zip format's first day: the same content gives the same file
UNIX = 3  # the zip format's word for who made it (APPNOTE 4.4.2), the same wherever the program runs


def export_book(engine: Engine, target: Path, rebuild_id: int | None = None) -> Path:
    """Write a book, or one rebuild of it, into one file and return it; a file in the way is not overwritten.

    It is the book of one moment, also while others write; an older book is written as this version would hold it.
    Raises InputError where the file is there already or cannot be written, or where a picture is not what was kept.
    """
    if target.exists():
        raise InputError([Fault("FILE", str(target), "a file that is not there yet", "Choose another name.")])
    part = target.with_name(target.name + ".part")
    try:
        with reading(engine, whole=True) as connection:
            content, pictures = _content(connection, rebuild_id)
            with zipfile.ZipFile(part, "w") as out:
                _write(out, connection, content, pictures)
        settle_file(part, target)
    except OSError as error:
        hint = f"It could not be written: {error.strerror}. The book itself was not touched."
        raise InputError([Fault("FILE", str(target), "a file that can be written", hint)]) from error
    finally:
        drop_file(part)
    return target


def _write(out: zipfile.ZipFile, connection: Connection, content: dict[str, Any], pictures: dict[str, int]) -> None:
    book = _lines_of(content).encode()
    sums = {"book.json": hashlib.sha256(book).hexdigest(), **{f"pictures/{digest}": digest for digest in pictures}}
    manifest = {"format": FORMAT, "version": FORMAT_VERSION, "sha256": sums}
    _put_file(out, "manifest.json", json_text(manifest, sort_keys=True, indent=1).encode())
    _put_file(out, "book.json", book)
    for digest, number in pictures.items():  # one at a time: a book of pictures need not fit into memory
        data = bytes(connection.execute(select(t.picture.c.data).where(t.picture.c.id == number)).scalar_one())
        if hashlib.sha256(data).hexdigest() != digest:
            hint = "Nothing was written. Restore a backup in which it is whole, or export other rebuilds one by one."
            raise InputError([Fault("picture", number, "a picture whose bytes are those that were kept", hint)])
        _put_file(out, f"pictures/{digest}", data, zipfile.ZIP_STORED)


def _lines_of(content: dict[str, Any]) -> str:
    """Return `book.json`: one row to a line."""
    tables = []
    for table, rows in sorted(content.items()):
        lines = ",\n".join(json_text(row, sort_keys=True) for row in rows)
        tables.append(f'"{table}": [\n{lines}\n]' if rows else f'"{table}": []')
    return "{" + ",\n".join(tables) + "}\n"


def _put_file(out: zipfile.ZipFile, name: str, data: bytes, how: int = zipfile.ZIP_DEFLATED) -> None:
    entry = zipfile.ZipInfo(name, EARLY)
    entry.create_system, entry.external_attr = UNIX, 0o644 << 16
    out.writestr(entry, data, how)


def _content(connection: Connection, rebuild_id: int | None) -> tuple[dict[str, Any], dict[str, int]]:
    """Return what goes into `book.json`, numbers given anew, and for each picture's digest a row that holds it."""
    mine = [] if rebuild_id is None else [t.rebuild.c.id == rebuild_id]
    rebuilds = _rows(connection, t.rebuild, mine)
    if rebuild_id is not None and not rebuilds:
        raise InputError([Fault("rebuild", rebuild_id, "a rebuild that is in this book")])
    things = _rows(connection, t.thing, [] if rebuild_id is None else [t.thing.c.rebuild_id == rebuild_id])
    of = select(t.thing.c.id).where(t.thing.c.rebuild_id == rebuild_id)
    revisions = _rows(connection, t.revision, [] if rebuild_id is None else [t.revision.c.thing_id.in_(of)])
    there = t.picture.c.digest != GONE
    pictures = _rows(connection, t.picture, [there] if rebuild_id is None else [t.picture.c.rebuild_id == rebuild_id,
                                                                               there])  # fmt: skip
    gone = _settled(connection, revisions)
    numbers = {name: {row["id"]: place for place, row in enumerate(rows, 1)}
               for name, rows in (("rebuild", rebuilds), ("thing", things), ("revision", revisions))}  # fmt: skip
    shown = {picture["id"]: place for place, picture in enumerate(pictures, 1)}
    held = {row["digest"]: row["id"] for row in sorted(pictures, key=lambda row: str(row["digest"]))}
    for row in revisions:
        row["settled"] = row["id"] in gone
        row["document"] = _renumbered(json.loads(row["document"]), shown)
    for rows, keys in ((rebuilds, {"id": "rebuild"}), (things, {"id": "thing", "rebuild_id": "rebuild"}),
                       (revisions, {"id": "revision", "parent_id": "revision", "brings_back": "revision",
                                    "thing_id": "thing"}),
                       (pictures, {"rebuild_id": "rebuild"})):  # fmt: skip
        for row in rows:
            row |= {key: None if row[key] is None else numbers[name][row[key]] for key, name in keys.items()}
    for row in pictures:
        row["id"] = shown[row["id"]]
    return {"rebuilds": rebuilds, "things": things, "revisions": revisions, "pictures": pictures}, held


def _rows(connection: Connection, table: Table, where: list[Any]) -> list[dict[str, Any]]:
    """Return rows in order, without pictures' bytes; a column that an older book lacks is None in each."""
    there = {column["name"] for column in inspect(connection).get_columns(table.name)}
    columns = [column for column in table.columns if column.name in there and column is not t.picture.c.data]
    lacking = {column.name: None for column in table.columns if column.name not in there}
    asked = select(*columns).where(*where).order_by(table.c.id)
    return [{**row._mapping, **lacking} for row in connection.execute(asked)]


def _settled(connection: Connection, revisions: list[dict[str, Any]]) -> set[int]:
    """Return the revisions another one took the place of; in an older book those that another was made from."""
    if inspect(connection).has_table("settled"):
        return set(connection.execute(select(t.settled.c.revision_id)).scalars())
    return {row["parent_id"] for row in revisions if row["parent_id"] is not None}


def _renumbered(document: Any, shown: dict[int, int]) -> Any:
    """Return a document whose `pictures` name the new numbers."""
    if isinstance(document, dict) and isinstance(document.get("pictures"), list):
        kept = [shown[number] for number in document["pictures"] if type(number) is int and number in shown]
        return {**document, "pictures": kept}
    return document


def import_book(engine: Engine, source: Path, check: Check | None = None) -> tuple[int, ...]:
    """Take every rebuild of an exported file into a book, as new ones beside what is there; return their numbers.

    All of it or nothing. check: see `opened_export`. Raises InputError for a file that is no export, damaged, of a
    newer format or absurdly large.
    """
    with opened_export(source, check) as export:
        return take_in(engine, export)


def take_in(engine: Engine, export: Export) -> tuple[int, ...]:
    """Take an export that was looked through into a book; return the numbers of its rebuilds."""
    content = export.content
    with writing(engine) as connection:
        rebuilds = _put(connection, t.rebuild, content["rebuilds"], {})
        things = _put(connection, t.thing, content["things"], {"rebuild_id": rebuilds})
        shown: dict[int, int] = {}
        for row in content["pictures"]:
            row["data"] = export.picture(row["digest"])
            shown |= _put(connection, t.picture, [row], {"rebuild_id": rebuilds})
            del row["data"]
        settled = [row["id"] for row in content["revisions"] if row["settled"]]
        alone = [{**row, "document": document_text(_renumbered(row["document"], shown)), "parent_id": None,
                  "brings_back": None} for row in content["revisions"]]  # fmt: skip
        revisions = _put(connection, t.revision, alone, {"thing_id": things})
        _link(connection, content["revisions"], revisions)
        if settled:
            connection.execute(insert(t.settled), [{"revision_id": revisions[number]} for number in settled])
    return tuple(rebuilds.values())


def _put(
    connection: Connection, table: Table, rows: list[dict[str, Any]], maps: dict[str, dict[int, int]]
) -> dict[int, int]:
    """Insert rows with numbers of this book, which go up as those of the rows do; return old number -> new number."""
    if not rows:
        return {}
    columns = {column.name for column in table.columns} - {"id"}
    values = [{**{key: value for key, value in row.items() if key in columns},
               **{key: numbers[row[key]] for key, numbers in maps.items()}} for row in rows]  # fmt: skip
    made = connection.execute(insert(table).returning(table.c.id, sort_by_parameter_order=True), values).scalars()
    return dict(zip((row["id"] for row in rows), made, strict=True))


def _link(connection: Connection, rows: list[dict[str, Any]], revisions: dict[int, int]) -> None:
    """Say of revisions just put in what each was made from and what it brings back."""
    links = [{"row": revisions[row["id"]], "parent": revisions.get(row["parent_id"]),
              "back": revisions.get(row["brings_back"])} for row in rows if row["parent_id"] is not None]  # fmt: skip
    if links:
        to: dict[str, Any] = {"parent_id": bindparam("parent"), "brings_back": bindparam("back")}
        connection.execute(update(t.revision).where(t.revision.c.id == bindparam("row")).values(to), links)
