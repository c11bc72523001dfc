"""Work through a file of records, one JSON object a line: the same number of lines out, in the same order."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from batchwright.base.errors import Fault, InputError


def records_in(path: str) -> Iterator[dict[str, Any]]:
    """Return the records of a file of JSON lines (`-`: standard input); blank lines are passed over.

    A line that is no JSON object comes out as `{"id": None, "broken": text}`, so that it still gets its answer.
    Raises InputError where there is no such file.
    """
    try:
        with nullcontext(sys.stdin) if path == "-" else Path(path).open(encoding="utf-8", errors="replace") as handle:
            for line in handle:
                if line.strip():
                    yield record_of(line)
    except OSError as error:
        raise InputError([Fault("--batch", path, "a file of JSON lines", f"{error.strerror}.")]) from error


def record_of(line: str) -> dict[str, Any]:
    """Return the record on one line, or what stands there instead."""
    try:
        record = json.loads(line)
    except (ValueError, RecursionError):
        record = None
    return record if isinstance(record, dict) else {"id": None, "broken": line[:200]}


def write_answers(answers: Iterable[dict[str, Any]], path: str) -> tuple[int, int]:
    """Write one answer a line (`-`: to standard output); return how many there were and how many are errors.

    Raises InputError where the file cannot be written.
    """
    count = errors = 0
    try:
        with nullcontext(sys.stdout) if path == "-" else Path(path).open("w", encoding="utf-8") as handle:
            for answer in answers:
                handle.write(json.dumps(answer, ensure_ascii=False, allow_nan=False) + "\n")
                count += 1
                errors += "error" in answer
    except BrokenPipeError:
        raise
    except OSError as error:
        raise InputError([Fault("--out", path, "a file that can be written", f"{error.strerror}.")]) from error
    return count, errors
