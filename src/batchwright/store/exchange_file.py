"""Read an exported book, trusting nothing in it: sizes, names, checksums, rows and what they point at are looked at.

Names in the file are compared with those expected and never used as paths, so that none can reach outside.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.store.records import KINDS, ONCE, PICTURE_TYPES
from batchwright.store.text import is_encodable

FORMAT, FORMAT_VERSION = "batchwright book", 1
MB = 1_000_000
LARGEST_BOOK = 400 * MB  # bytes of book.json: a thousand full rebuilds are about a quarter of it
LARGEST_PICTURE = 50 * MB
MOST_FILES = 200_000
DENSEST = 100  # times a part may grow when unpacked; documents of a book grow 10 to 30 times, a bomb a thousand
LONGEST_TEXT, MOST_FAULTS = 1000, 20
Check = Callable[[str, Mapping[str, Any]], None]  # of a document, by its kind; raises InputError for one that is none


class Export:
    """An exported file that was looked through: its rows, and its pictures one by one."""

    def __init__(self, packed: zipfile.ZipFile, content: dict[str, Any]) -> None:
        self.content = content
        self._packed = packed

    def picture(self, digest: str) -> bytes:
        """Return a picture's bytes; raises InputError where they are not those of its digest."""
        data = _unpacked(self._packed, f"pictures/{digest}", LARGEST_PICTURE)
        if hashlib.sha256(data).hexdigest() != digest:
            raise _damaged(f"pictures/{digest}")
        return data


@contextmanager
def opened_export(source: Path, check: Check | None = None) -> Iterator[Export]:
    """Give the content of an exported file; raises InputError, before anything is taken in, for all out of order.

    check: what looks at every document; its faults are told with the thing and the revision they stand in.
    """
    try:
        packed = zipfile.ZipFile(source)
    except OSError as error:
        raise InputError([Fault("FILE", str(source), "a file that can be read", str(error.strerror or ""))]) from error
    except (zipfile.BadZipFile, NotImplementedError, ValueError) as error:
        raise _no_export(source) from error
    with packed:
        try:
            content = _looked_through(packed, source)
            if check is not None:
                _check_documents(content, check)
        except (zipfile.BadZipFile, KeyError, ValueError, AttributeError, TypeError, NotImplementedError, EOFError,
                OSError, RuntimeError, RecursionError, zlib.error) as error:  # fmt: skip
            if isinstance(error, InputError):
                raise
            raise _no_export(source) from error
        yield Export(packed, content)


def _no_export(source: Path) -> InputError:
    hint = "Nothing was taken in. Export it again where it came from."
    return InputError([Fault("FILE", str(source), "a book exported by this program, whole", hint)])


def _damaged(name: str) -> InputError:
    hint = "It was damaged on its way; nothing was taken in."
    return InputError([Fault(f"FILE: {name[:100]}", "other content", "what its checksum says", hint)])


def _looked_through(packed: zipfile.ZipFile, source: Path) -> dict[str, Any]:
    """Return the rows of a file in which everything is in order."""
    entries = packed.infolist()
    if len(entries) > MOST_FILES:
        raise InputError([Fault("FILE", f"{len(entries)} files in it", f"at most {MOST_FILES}")])
    manifest = json.loads(_unpacked(packed, "manifest.json", LARGEST_PICTURE))
    if manifest.get("format") != FORMAT:
        raise _no_export(source)
    if manifest.get("version") != FORMAT_VERSION:
        hint = "Nothing was taken in. Take it in with the newer program."
        found = f"format version {manifest.get('version')}"
        raise InputError([Fault("FILE", found, f"format version {FORMAT_VERSION}", hint)])
    sums: dict[str, str] = manifest["sha256"]
    names = [entry.filename for entry in entries]
    strange = sorted({*names} ^ {"manifest.json", *sums})
    strange += [name for name, count in Counter(names).items() if count > 1]
    strange += [name for name in sums if name != "book.json" and name != f"pictures/{sums[name]}"]
    if strange or "book.json" not in sums:
        raise InputError([Fault("FILE", strange[0] if strange else "", "the files its manifest names, each once",
                                "Nothing was taken in.")])  # fmt: skip
    book = _unpacked(packed, "book.json", LARGEST_BOOK)
    if hashlib.sha256(book).hexdigest() != sums["book.json"]:
        raise _damaged("book.json")
    content = json.loads(book)
    if not isinstance(content, dict):
        raise _no_export(source)
    _check(content)
    export = Export(packed, content)
    for name in sums:
        if name != "book.json":
            export.picture(sums[name])
    lacking = [row["digest"] for row in content["pictures"] if f"pictures/{row['digest']}" not in sums]
    if lacking:
        raise InputError([Fault("FILE: pictures", lacking[0][:80], "every picture that book.json names")])
    return content


def _unpacked(packed: zipfile.ZipFile, name: str, most: int) -> bytes:
    """Return one file of the zip, never more than its own head says and `most` [bytes] allows."""
    entry = packed.getinfo(name)
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise InputError([Fault(f"FILE: {name[:100]}", f"packing method {entry.compress_type}", "stored or deflated")])
    if entry.file_size > most or entry.file_size > DENSEST * entry.compress_size + MB:
        allowed = f"at most {most // MB} MB, packed no denser than {DENSEST} to 1"
        raise InputError([Fault(f"FILE: {name[:100]}", f"{entry.file_size / MB:.0f} MB", allowed)])
    with packed.open(entry) as opened:
        return opened.read(entry.file_size + 1)


def _text(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST_TEXT and "\0" not in value and is_encodable(value)


def _number(value: Any) -> bool:
    return type(value) is int and 0 < value < 2**31


def _time(value: Any) -> bool:
    try:
        return _text(value) and len(value) <= 40 and datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False


def _is(*kinds: type) -> Any:
    return lambda value: isinstance(value, kinds)


def _perhaps(asked: Any) -> Any:
    return lambda value: value is None or asked(value)


ROWS: dict[str, dict[str, Any]] = {
    "rebuilds": {"id": _number, "name": _text, "made": _time, "changed": _time, "set_aside": _is(bool)},
    "things": {"id": _number, "rebuild_id": _number, "kind": lambda value: value in KINDS, "name": _text,
               "removed": _is(bool)},
    "revisions": {"id": _number, "thing_id": _number, "parent_id": _perhaps(_number), "document": _is(dict),
                  "who": _text, "made": _time, "frozen": _is(bool), "brings_back": _perhaps(_number),
                  "settled": _is(bool),
                  "sent_key": _perhaps(lambda value: _text(value) and len(value) <= 64)},
    "pictures": {"id": _number, "rebuild_id": _number, "name": _text,
                 "media_type": lambda value: value in PICTURE_TYPES, "width": _number, "height": _number,
                 "digest": lambda value: _text(value) and len(value) <= 64, "made": _time},
}  # fmt: skip


def _check(content: dict[str, Any]) -> None:
    """Raise InputError where a row lacks a field, holds another sort of value, or names what is not there."""
    faults = []
    for table, fields in ROWS.items():
        rows = content.get(table)
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise InputError([Fault(f"FILE: {table}", type(rows).__name__, "a list of rows")])
        for place, row in enumerate(rows, 1):
            faults += [Fault(f"FILE: {table} {place}, {name}", row.get(name), "what an export holds there")
                       for name, right in fields.items() if name not in row or not right(row[name])]  # fmt: skip
    if faults:
        raise InputError(faults[:MOST_FAULTS])
    known = {table: {row["id"] for row in content[table]} for table in ROWS}
    faults = [Fault(f"FILE: {table}", "a number twice", "each number once") for table in ROWS
              if len(known[table]) != len(content[table])]  # fmt: skip
    for table, key, to in (("things", "rebuild_id", "rebuilds"), ("pictures", "rebuild_id", "rebuilds"),
                           ("revisions", "thing_id", "things")):  # fmt: skip
        faults += [Fault(f"FILE: {table}.{key}", row[key], f"one of its {to}") for row in content[table]
                   if row[key] not in known[to]]  # fmt: skip
    if faults:
        raise InputError(faults[:MOST_FAULTS])
    _check_lines(content)


def _check_lines(content: dict[str, Any]) -> None:
    """Raise InputError where revisions do not follow one another, or a thing has none that is newest."""
    thing_of: dict[int, int] = {}
    has_newest, sent, faults = set(), set(), []
    for row in content["revisions"]:
        for key in ("parent_id", "brings_back"):
            if row[key] is not None and thing_of.get(row[key]) != row["thing_id"]:
                faults.append(Fault(f"FILE: revisions.{key}", row[key], "an earlier revision of the same thing"))
        if row["brings_back"] is not None and row["parent_id"] is None:
            faults.append(Fault("FILE: revisions.brings_back", row["brings_back"], "a revision with a parent"))
        if row["sent_key"] is not None and (row["thing_id"], row["sent_key"]) in sent:
            faults.append(Fault("FILE: revisions.sent_key", row["sent_key"], "a key sent once"))
        sent.add((row["thing_id"], row["sent_key"]))
        thing_of[row["id"]] = row["thing_id"]
        if not row["settled"]:
            has_newest.add(row["thing_id"])
    faults += [Fault("FILE: things", row["id"], "a thing with a newest revision") for row in content["things"]
               if row["id"] not in has_newest]  # fmt: skip
    if faults:
        raise InputError(faults[:MOST_FAULTS])


def _check_documents(content: dict[str, Any], check: Check) -> None:
    """Raise InputError where a document is none of its kind, or what each rebuild has once is not there once."""
    things = {row["id"]: row for row in content["things"]}
    names = {row["id"]: row["name"] for row in content["rebuilds"]}
    faults: list[Fault] = []
    for row in content["revisions"]:
        thing = things[row["thing_id"]]
        try:
            check(thing["kind"], row["document"])
        except InputError as error:
            where = f"FILE: {names[thing['rebuild_id']]}, {thing['kind']} “{thing['name']}”, revision {row['id']}"
            hint = "Nothing was taken in. Export it again where it came from."
            faults += [Fault(f"{where}, {fault.field}", fault.value, fault.allowed, hint) for fault in error.faults]
        if len(faults) >= MOST_FAULTS:
            break
    once = Counter((row["rebuild_id"], row["kind"]) for row in content["things"] if not row["removed"])
    hint = "Nothing was taken in."
    faults += [Fault(f"FILE: {names[number]}, {kind}", once[number, kind], "one in each rebuild", hint)
               for number in names for kind in ONCE if once[number, kind] != 1]  # fmt: skip
    if faults:
        raise InputError(faults[:MOST_FAULTS])
