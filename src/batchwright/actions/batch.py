"""Many labels at once: one answer per line in input order, on all cores, resumable; no bad record stops the rest."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import sys
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from functools import cache, partial
from pathlib import Path
from typing import Any

import batchwright
from batchwright.actions.original import answer_declared
from batchwright.base.errors import Fault, InputError
from batchwright.base.threads import on_one_thread
from batchwright.original.batch_form import answer_case

CASE_KEYS = ("ingredients", "n_ordered")  # what tells a record of the benchmark form from a label


def decode_batch(
    given: str, out: str, workers: int | None = None, cluster: str | None = None, without: str | None = None
) -> int:
    """Answer every line of a file of JSON lines into another; return 0, whatever single lines held.

    given: path of the input, one JSON object a line: a record of the benchmark form, or a label `{"id", "statement",
    "panel", "serving_g"}`. out: path of the answers, one a line in input order; a failure is `{"id", "error": {"field",
    "value", "allowed", "hint"}}`. workers: processes [1 or more], all cores where absent. cluster: address of a Dask
    scheduler that takes the work instead. without: families of the prior's bank to leave out, with commas between, or a
    path to a file with one a line. Unfinished work is kept beside `out` and taken up again where input and program are
    the same. Raises InputError for a path that cannot be read or written, a number of workers below 1.
    """
    if workers is not None and workers < 1:
        raise InputError([Fault("--workers", workers, "1 or more", "leave it out to use all cores")])
    lines = _lines(given)
    families = _families(without)
    journal = Path(f"{out}.unfinished")
    program = _program(families)
    digests = [hashlib.sha256(f"{program}\n{line}".encode()).hexdigest()[:32] for line in lines]
    done = _taken_up(journal)
    todo = [at for at, digest in enumerate(digests) if digest not in done]
    answer = partial(answer_line, without=families)
    waiting = [lines[at] for at in todo]
    answers = _on_cluster(answer, waiting, cluster) if cluster else _on_cores(answer, waiting, workers)
    try:
        with journal.open("a", encoding="utf-8") as handle:
            for at, text in zip(todo, _with_progress(answers, len(todo)), strict=True):
                handle.write(f"{digests[at]} {text}\n")
                handle.flush()
                done[digests[at]] = text
        Path(out).write_text("".join(f"{done[digest]}\n" for digest in digests), encoding="utf-8")
    except OSError as error:
        raise InputError([Fault("--out", out, "a file that can be written", f"{error.strerror}.")]) from error
    journal.unlink(missing_ok=True)
    failures = sum('"error"' in done[digest] and "error" in json.loads(done[digest]) for digest in digests)
    taken = len(lines) - len(todo)
    kept = f", {taken} of them kept from before" if taken else ""
    print(f"{len(lines)} answered{kept}, {failures} with an error", file=sys.stderr)
    return 0


def answer_line(line: str, without: tuple[str, ...] = ()) -> str:
    """Return the answer to one line as JSON text; what cannot be answered comes back as the error it is."""
    record_id = None
    try:
        record = json.loads(line)
        if not isinstance(record, dict):
            raise InputError(
                [Fault("line", line[:80], "a JSON object", 'like {"id": "a", "statement": "flour, sugar"}')]
            )
        record_id = record.get("id")
        found = answer_case(record, without=without) if all(key in record for key in CASE_KEYS) else _label(record)
    except InputError as error:
        found = {"id": record_id, "error": error.faults[0].to_json()}
    except ValueError as error:  # broken JSON, or a label that no step could answer
        shown = Fault("line", line[:80], "one JSON object that can be answered", str(error))
        found = {"id": record_id, "error": shown.to_json()}
    except Exception as error:  # one bad record never stops the rest
        shown = Fault("line", line[:80], "a label that can be answered", f"{type(error).__name__}: {error}")
        found = {"id": record_id, "error": shown.to_json()}
    return json.dumps(found, ensure_ascii=False)


def _label(record: Mapping[str, Any]) -> dict[str, Any]:
    return answer_declared(record)


def _lines(given: str) -> list[str]:
    try:
        text = sys.stdin.read() if given == "-" else Path(given).read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise InputError([Fault("--batch", given, "a file of JSON lines", f"{error.strerror}.")]) from error
    return [line for line in text.split("\n") if line.strip()]


def _families(without: str | None) -> tuple[str, ...]:
    """Return the families named, from a list with commas or a file with one a line."""
    if not without:
        return ()
    path = Path(without)
    with suppress(OSError):
        if path.is_file():
            return tuple(sorted(filter(None, map(str.strip, path.read_text(encoding="utf-8").splitlines()))))
    return tuple(sorted(filter(None, map(str.strip, without.split(",")))))


@cache
def _program(families: tuple[str, ...]) -> str:
    """Return a digest of everything an answer depends on besides its input: code, tables, compiled walk, families."""
    digest = hashlib.sha256(repr((batchwright.__version__, families)).encode())
    for path in sorted(Path(batchwright.__file__).parent.rglob("*")):
        if path.suffix in {".py", ".csv", ".c", ".so"}:
            digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def _taken_up(journal: Path) -> dict[str, str]:
    """Return the answers an earlier run left, by the digest of input and program; a line cut short is dropped."""
    found: dict[str, str] = {}
    if journal.exists():
        for line in journal.read_text(encoding="utf-8", errors="replace").split("\n")[:-1]:
            digest, _, text = line.partition(" ")
            with suppress(ValueError):
                json.loads(text)
                found[digest] = text
    return found


def _on_cores(answer: partial[str], lines: Sequence[str], workers: int | None) -> Iterator[str]:
    """Yield the answers in order from worker processes, each on one thread."""
    if not lines:
        return
    count = min(workers or os.cpu_count() or 1, len(lines))
    on_one_thread()  # the workers inherit it: the same digits however many they are
    with ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield from pool.map(answer, lines, chunksize=max(1, min(8, len(lines) // (4 * count))))


def _on_cluster(answer: partial[str], lines: Sequence[str], address: str) -> Iterator[str]:
    """Yield the answers in order from the workers of a Dask scheduler."""
    try:
        from distributed import Client  # heavy, and only for those who run a cluster
    except ImportError as error:
        hint = "install it with: pip install 'batchwright[cluster]'"
        raise InputError([Fault("--cluster", address, "needs the package distributed", hint)]) from error
    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError([Fault("--cluster", address, "the address of a running scheduler", str(error))]) from error
    with client:
        for future in client.map(answer, lines, pure=False, batch_size=64):
            yield str(future.result())


def _with_progress(answers: Iterable[str], count: int) -> Iterator[str]:
    """Pass the answers on; on a terminal say how many are done and the time left."""
    started, shown = time.monotonic(), 0.0
    for at, answer in enumerate(answers, start=1):
        now = time.monotonic()
        if sys.stderr.isatty() and (now - shown > 0.5 or at == count):
            shown = now
            left = (now - started) / at * (count - at)
            print(f"\r{at} of {count}, about {left:.0f} s left   ", end="\n" if at == count else "", file=sys.stderr)
        yield answer
