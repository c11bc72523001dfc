"""The desk of answers: what takes long is worked out once, by a worker, and kept in the book under its digest."""

from __future__ import annotations

import hashlib
import json
import logging
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Future, TimeoutError
from functools import cache
from importlib.resources import files
from threading import RLock
from typing import Any

from batchwright import __version__
from batchwright.actions.plain_records import from_plain
from batchwright.actions.workers import Workers, usual_count, work_done
from batchwright.base.errors import Fault, InputError
from batchwright.formula.comparing.records import Comparison
from batchwright.formula.fitting.records import Fitted
from batchwright.formula.kitchen.records import Writing
from batchwright.store.book import Book
from batchwright.writeup.records import Card

OWN_KEYS = ("food", "label", "panel", "panels", "teardown", "match", "know", "ingredients", "measured")
NOT_OF_A_FORMULA = ("pasted", "locks")
AT_ONCE_S = 1.0  # how long a page waits for an answer before it says that it is being worked out
LONGEST_S = 60.0  # how long anyone waits
MOST_AT_HAND = 256
TRIES = 2  # a worker may be killed by the system for want of memory, once
log = logging.getLogger("batchwright.desk")


@cache
def tables_digest() -> str:
    """Return the SHA-256 of every data table, so that an answer from older figures is never taken for today's."""
    found = hashlib.sha256()
    data = files("batchwright") / "data"
    for each in sorted(data.iterdir(), key=lambda entry: entry.name):
        if each.name.endswith((".csv", ".npz", ".json", ".toml")):
            found.update(each.name.encode() + b"\0" + each.read_bytes())
    return found.hexdigest()


def work_digest(work: str, given: Sequence[Any]) -> str:
    """Return the digest an answer is kept under: the work, all that was given to it, the program and its figures."""
    plain = json.dumps([work, given, __version__, tables_digest()], sort_keys=True)
    return hashlib.sha256(plain.encode()).hexdigest()


def own_tables(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of an original's document changes its answer; pictures and the like do not."""
    return {key: document[key] for key in OWN_KEYS if document.get(key)}


def own_formula(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the formula of a document without the text it came from."""
    return {key: value for key, value in document.items() if key not in NOT_OF_A_FORMULA}


class AnswerDesk:
    """Answers for pages, API and commands: from the book where they are kept, else worked out and kept.

    Every question takes `page`, whose it is ("7 /rebuilds/3/original"): a newer one of the same page takes the place of
    one that waits; some take `wait_s`, how long to wait [s]: None is returned where the answer is not there by then; it
    is worked out all the same, and asking again finds it. Raises InputError with every fault of what was given.
    """

    def __init__(self, book: Book, workers: int | None = None) -> None:
        """Open a desk. workers: how many processes; None for what suits the computer, 0 to work in this one."""
        self.book = book
        count = usual_count() if workers is None else workers
        self._workers = Workers(count) if count else None
        self._lock = RLock()  # a question replaced is cancelled, and put away, while the newer one is asked
        self._going: dict[str, Future[Any]] = {}
        self._faulty: OrderedDict[str, tuple[Fault, ...]] = OrderedDict()

    def of(self, document: Mapping[str, Any], mix: str = "", page: str = "") -> dict[str, Any]:
        """Return the answer of an original, however long it takes: see `answer_work.decoded`."""
        found: dict[str, Any] = self._found("answer", [own_tables(document), mix], page, LONGEST_S)
        return found

    def within(self, document: Mapping[str, Any], wait_s: float = AT_ONCE_S, page: str = "",
               mix: str = "") -> dict[str, Any] | None:  # fmt: skip
        """Return the answer of an original if it is there in time."""
        found: dict[str, Any] | None = self._found("answer", [own_tables(document), mix], page, wait_s)
        return found

    def kept(self, document: Mapping[str, Any], mix: str = "") -> dict[str, Any] | None:
        """Return the answer of an original if the book has it; nothing is worked out."""
        return self.book.kept_answer(work_digest("answer", [own_tables(document), mix]))

    def compared(self, band: Mapping[str, Any], documents: Sequence[Mapping[str, Any]], locks: Sequence[str] = (),
                 page: str = "", wait_s: float = AT_ONCE_S, moves: int = 3) -> Comparison | None:  # fmt: skip
        """Return formulas beside an original. band: that of its answer; locks: lines that stay in the moves."""
        given = [band, [own_formula(each) for each in documents], list(locks), moves]
        found: Comparison | None = self._record(Comparison, "compare", given, page, wait_s)
        return found

    def fitted(self, document: Mapping[str, Any], band: Mapping[str, Any] | None, less_sweet_percent: float = 0.0,
               on_hand: str = "", own_only: bool = False, page: str = "") -> Fitted:  # fmt: skip
        """Return a formula fitted toward an original's band, or less sweet; see `answer_work.fit_of`."""
        formula = {**own_formula(document), "locks": list(document.get("locks", ()))}
        given = [formula, band, less_sweet_percent, on_hand, own_only]
        found: Fitted = self._record(Fitted, "fit", given, page, LONGEST_S)
        return found

    def writing(self, document: Mapping[str, Any], convention: str = "", page: str = "") -> Writing:
        """Return a formula in cups and spoons. convention: whose cup, empty for the recipe's own."""
        found: Writing = self._record(Writing, "measures", [own_formula(document), convention], page, LONGEST_S)
        return found

    def card(self, document: Mapping[str, Any], convention: str = "", page: str = "") -> Card:
        """Return a formula's recipe card. convention: whose cup, empty for the recipe's own."""
        found: Card = self._record(Card, "card", [own_formula(document), convention], page, LONGEST_S)
        return found

    def warm(self) -> None:
        """Start the workers and let them load what they need, so that the first question finds them ready."""
        if self._workers is not None:
            for _ in range(self._workers.count):
                self._workers.ask("", "warm", [])

    def close(self) -> None:
        """End the workers."""
        if self._workers is not None:
            self._workers.close()

    def _record(self, kind: type, work: str, given: Sequence[Any], page: str, wait_s: float) -> Any:
        found = self._found(work, given, page, wait_s)
        return None if found is None else from_plain(kind, found)

    def _found(self, work: str, given: Sequence[Any], page: str, wait_s: float) -> Any:
        digest = work_digest(work, given)
        kept = self.book.kept_answer(digest)
        if kept is not None:
            return kept
        if digest in self._faulty:
            raise InputError(self._faulty[digest])
        for left in reversed(range(TRIES)):
            try:
                return self._asked(digest, work, given, page).result(wait_s)
            except (CancelledError, TimeoutError) as error:
                if wait_s < LONGEST_S:
                    return None
                said = Fault(work, "", "an answer within a minute, none newer asked for", "Ask again.")
                raise InputError([said]) from error
            except BrokenExecutor:
                if not left:
                    raise
        return None

    def _asked(self, digest: str, work: str, given: Sequence[Any], page: str) -> Future[Any]:
        """Return the future of an answer, that of an equal question where one is being worked out."""
        with self._lock:
            going = self._going.get(digest)
            if going is not None and not going.cancelled():
                return going
            if self._workers is not None:
                future = self._going[digest] = self._workers.ask(page, work, given)
        if self._workers is None:
            future = Future()
            try:
                future.set_result(work_done(work, given))
            except InputError as error:
                future.set_exception(error)
        future.add_done_callback(lambda done: self._keep(digest, done))
        return future

    def _keep(self, digest: str, done: Future[Any]) -> None:
        """Keep what was worked out, or what was wrong; that it could not be kept is no reason to withhold it."""
        error = None if done.cancelled() else done.exception()
        if isinstance(error, InputError):
            self._faulty[digest] = error.faults
            while len(self._faulty) > MOST_AT_HAND:
                self._faulty.popitem(last=False)
        elif error is None and not done.cancelled():
            try:
                self.book.keep_answer(digest, __version__, done.result())
            except InputError as refused:
                log.warning("an answer could not be kept: %s", refused)
        with self._lock:
            if self._going.get(digest) is done:
                del self._going[digest]
