"""One file for a whole book or one rebuild: a zip of JSON and pictures, checksummed, to send, keep, or take in.

`manifest.json` names the format, its version and the SHA-256 of every other file; `book.json` holds rebuilds, things,
revisions and what is known of pictures; `pictures/<sha-256>` their bytes. Numbers are given anew from 1 in order, so
that the same content is the same file, byte for byte. Devices, invitations and worked-out answers are not in it.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, insert, select

from batchwright.base.errors import Fault, InputError
from batchwright.store import tables as t
from batchwright.store.engine import reading, writing

FORMAT, FORMAT_VERSION = "batchwright book", 1
LARGEST_FILE = 400_000_000  # bytes unpacked, all together
MOST_FILES = 20_000
EARLY = (1980, 1, 1, 0, 0, 0)  # the zip format's first day: the same content gives the same file


def export_book(engine: Engine, target: Path, rebuild_id: int | None = None) -> Path:
    """Write a book, or one rebuild of it, into one file and return it; a file in the way is not overwritten.

    Raises InputError where the file is there already or cannot be written.
    """
    if target.exists():
        raise InputError([Fault("FILE", str(target), "a file that is not there yet", "Choose another name.")])
    with reading(engine) as connection:
        content, pictures = _content(connection, rebuild_id)
    files = {"book.json": json.dumps(content, ensure_ascii=False, sort_keys=True, indent=1).encode()}
    files |= {f"pictures/{digest}": data for digest, data in sorted(pictures.items())}
    manifest = {"format": FORMAT, "version": FORMAT_VERSION,
                "sha256": {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}}  # fmt: skip
    part = target.with_name(target.name + ".part")
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as out:
            for name, data in (("manifest.json", json.dumps(manifest, sort_keys=True, indent=1).encode()),
                               *files.items()):  # fmt: skip
                out.writestr(zipfile.ZipInfo(name, EARLY), data, zipfile.ZIP_DEFLATED)
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        hint = f"It could not be written: {error.strerror}. The book itself was not touched."
        raise InputError([Fault("FILE", str(target), "a file that can be written", hint)]) from error
    return target


def _content(connection: Connection, rebuild_id: int | None) -> tuple[dict[str, Any], dict[str, bytes]]:
    """Return what goes into `book.json`, numbers given anew, and the pictures by digest."""
    only = [] if rebuild_id is None else [t.rebuild.c.id == rebuild_id]
    rebuilds = _rows(connection, t.rebuild, only)
    if rebuild_id is not None and not rebuilds:
        raise InputError([Fault("rebuild", rebuild_id, "a rebuild that is in this book")])
    mine = {row["id"] for row in rebuilds}
    things = [row for row in _rows(connection, t.thing) if row["rebuild_id"] in mine]
    of = {row["id"] for row in things}
    revisions = [row for row in _rows(connection, t.revision) if row["thing_id"] in of]
    gone = {row["revision_id"] for row in _rows(connection, t.settled)}
    pictures = [row for row in _rows(connection, t.picture) if row["rebuild_id"] in mine]
    numbers = {name: {row["id"]: place for place, row in enumerate(rows, 1)}
               for name, rows in (("rebuild", rebuilds), ("thing", things), ("revision", revisions))}  # fmt: skip
    data = {row["digest"]: bytes(row.pop("data")) for row in pictures}
    shown = {picture["id"]: place for place, picture in enumerate(pictures, 1)}
    for row in revisions:
        row["settled"] = row["id"] in gone
        row["document"] = _renumbered(json.loads(row["document"]), shown)
    _renumber(rebuilds, "id", numbers["rebuild"])
    _renumber(things, "id", numbers["thing"])
    _renumber(things, "rebuild_id", numbers["rebuild"])
    for key in ("id", "parent_id", "brings_back"):
        _renumber(revisions, key, numbers["revision"])
    _renumber(revisions, "thing_id", numbers["thing"])
    _renumber(pictures, "id", shown)
    _renumber(pictures, "rebuild_id", numbers["rebuild"])
    return {"rebuilds": rebuilds, "things": things, "revisions": revisions, "pictures": pictures}, data


def _rows(connection: Connection, table: Table, where: Iterable[Any] = ()) -> list[dict[str, Any]]:
    asked = select(table).where(*where).order_by(*table.primary_key.columns)
    return [dict(row._mapping) for row in connection.execute(asked)]


def _renumber(rows: list[dict[str, Any]], key: str, numbers: dict[int, int]) -> None:
    for row in rows:
        row[key] = numbers.get(row[key]) if row[key] is not None else None


def _renumbered(document: Any, shown: dict[int, int]) -> Any:
    """Return a document whose `pictures` name the new numbers."""
    if isinstance(document, dict) and isinstance(document.get("pictures"), list):
        kept = [shown[number] for number in document["pictures"] if number in shown]
        return {**document, "pictures": kept}
    return document


def import_book(engine: Engine, source: Path) -> tuple[int, ...]:
    """Take every rebuild of an exported file into a book, as new ones beside what is there; return their numbers.

    All of it or nothing. Raises InputError for a file that is no export, damaged, of a newer format or absurdly large.
    """
    content, pictures = read_export(source)
    with writing(engine) as connection:
        rebuilds = _put(connection, t.rebuild, content["rebuilds"], {})
        things = _put(connection, t.thing, content["things"], {"rebuild_id": rebuilds})
        for row in content["pictures"]:
            row["data"] = pictures[row["digest"]]
        shown = _put(connection, t.picture, content["pictures"], {"rebuild_id": rebuilds})
        for row in content["revisions"]:
            document = _renumbered(row["document"], shown)
            row["document"] = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
        settled = [row["id"] for row in content["revisions"] if row.pop("settled")]
        revisions: dict[int, int] = {}
        for row in content["revisions"]:  # in order: a parent stands before what was made from it
            maps = {"thing_id": things, "parent_id": revisions, "brings_back": revisions}
            revisions |= _put(connection, t.revision, [row], maps)
        for number in settled:
            connection.execute(insert(t.settled).values(revision_id=revisions[number]))
    return tuple(rebuilds.values())


def _put(connection: Connection, table: Table, rows: list[dict[str, Any]], maps: dict[str, dict[int, int]]) -> Any:
    """Insert rows with numbers of this book; return old number -> new number."""
    made: dict[int, int] = {}
    columns = {column.name for column in table.columns} - {"id"}
    for row in rows:
        values = {key: value for key, value in row.items() if key in columns}
        for key, numbers in maps.items():
            if values.get(key) is not None:
                values[key] = numbers[values[key]]
        made[row["id"]] = int(connection.execute(insert(table).values(values)).inserted_primary_key[0])  # type: ignore[index]
    return made


def read_export(source: Path) -> tuple[dict[str, Any], dict[str, bytes]]:
    """Return the content of an exported file and its pictures by digest; raises InputError for anything out of order.

    Names in the file are compared with those expected and never used as paths, so that none can reach outside.
    """
    try:
        with zipfile.ZipFile(source) as packed:
            entries = packed.infolist()
            if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > LARGEST_FILE:
                raise InputError([Fault("FILE", str(source), f"at most {LARGEST_FILE // 1_000_000} MB unpacked")])
            manifest = json.loads(_unpacked(packed, "manifest.json", 50_000_000))
            if manifest.get("format") != FORMAT:
                raise InputError([Fault("FILE", str(source), "a book exported by this program")])
            if manifest.get("version") != FORMAT_VERSION:
                hint = "Take it in with the newer program."
                raise InputError([Fault("FILE", f"version {manifest.get('version')}", f"{FORMAT_VERSION}", hint)])
            files = {name: _unpacked(packed, name, LARGEST_FILE) for name in manifest["sha256"]}
            content = json.loads(files["book.json"])
    except InputError:
        raise
    except OSError as error:
        raise InputError([Fault("FILE", str(source), "a file that can be read", str(error.strerror or ""))]) from error
    except (zipfile.BadZipFile, KeyError, ValueError, AttributeError, TypeError, NotImplementedError,
            RuntimeError, RecursionError) as error:  # fmt: skip
        hint = "Nothing was taken in. Export it again where it came from."
        raise InputError([Fault("FILE", str(source), "a book exported by this program, whole", hint)]) from error
    for name, data in files.items():
        if hashlib.sha256(data).hexdigest() != manifest["sha256"][name]:
            hint = "It was damaged on its way; nothing was taken in."
            raise InputError([Fault(f"FILE: {name}", "other content", "what its checksum says", hint)])
    _check(content)
    pictures = {name.removeprefix("pictures/"): data for name, data in files.items() if name.startswith("pictures/")}
    for digest, data in pictures.items():
        if hashlib.sha256(data).hexdigest() != digest:
            raise InputError([Fault("FILE: pictures", digest[:80], "a picture under the digest of its bytes")])
    lacking = [row["digest"] for row in content["pictures"] if row["digest"] not in pictures]
    if lacking:
        raise InputError([Fault("FILE: pictures", str(lacking[0])[:80], "every picture that book.json names")])
    return content, pictures


def _unpacked(packed: zipfile.ZipFile, name: str, most: int) -> bytes:
    """Return one file of the zip, never more than its own head says and `most` [bytes] allows."""
    with packed.open(name) as opened:
        data = opened.read(most + 1)
    if len(data) > most:
        raise InputError([Fault(f"FILE: {name[:80]}", "more", f"at most {most // 1_000_000} MB")])
    return data


ROWS: dict[str, dict[str, tuple[type, ...]]] = {
    "rebuilds": {"id": (int,), "name": (str,), "made": (str,), "changed": (str,), "set_aside": (bool,)},
    "things": {"id": (int,), "rebuild_id": (int,), "kind": (str,), "name": (str,), "removed": (bool,)},
    "revisions": {"id": (int,), "thing_id": (int,), "parent_id": (int, type(None)), "document": (dict,), "who": (str,),
                  "made": (str,), "frozen": (bool,), "brings_back": (int, type(None)), "settled": (bool,),
                  "sent_key": (str, type(None))},
    "pictures": {"id": (int,), "rebuild_id": (int,), "name": (str,), "media_type": (str,), "width": (int,),
                 "height": (int,), "digest": (str,), "made": (str,)},
}  # fmt: skip


def _check(content: Any) -> None:
    """Raise InputError where a row lacks a field, holds another sort of value, or names what is not there."""
    faults = []
    for table, fields in ROWS.items():
        rows = content.get(table) if isinstance(content, dict) else None
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise InputError([Fault(f"FILE: {table}", type(rows).__name__, "a list of rows")])
        for row in rows:
            wrong = [name for name, kinds in fields.items() if not isinstance(row.get(name, ...), kinds)]
            faults += [Fault(f"FILE: {table}.{name}", row.get(name), "what an export holds there") for name in wrong]
    if faults:
        raise InputError(faults[:20])
    known = {table: {row["id"] for row in content[table]} for table in ROWS}
    links = (("things", "rebuild_id", "rebuilds"), ("pictures", "rebuild_id", "rebuilds"),
             ("revisions", "thing_id", "things"))  # fmt: skip
    for table, key, to in links:
        if any(row[key] not in known[to] for row in content[table]):
            raise InputError([Fault(f"FILE: {table}.{key}", "a number", f"one of its {to}")])
    seen: set[int] = set()
    for row in content["revisions"]:
        for key in ("parent_id", "brings_back"):
            if row[key] is not None and row[key] not in seen:
                raise InputError([Fault(f"FILE: revisions.{key}", row[key], "a revision that stands before it")])
        seen.add(row["id"])
