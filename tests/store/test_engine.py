"""What a database complains of is said in words, and waiting for one's turn is fair."""

from __future__ import annotations

import threading
import time

import pytest

from batchwright.store.engine import said_fault_of
from batchwright.store.turns import Turns

COMPLAINTS = {
    "database or disk is full": "disk is full; nothing was changed",
    'could not extend file "base/1": No space left on device': "disk is full; nothing was changed",
    "disk I/O error": "full or fails",
    "attempt to write a readonly database": "cannot be written",
    "cannot execute INSERT in a read-only transaction": "cannot be written",
    "database is locked": "Another program is writing",
    "canceling statement due to lock timeout": "Another program is writing",
    "unable to open database file": "See that the folder is there",
    "database disk image is malformed": "Restore the newest backup",
    "file is not a database": "left alone",
    'connection to server at "kitchen" failed: Connection refused': "Start the database",
    "something nobody thought of": "something nobody thought of",
}


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_a_complaint_in_words(complaint: str) -> None:
    (fault,) = said_fault_of(RuntimeError(complaint), "book.sqlite").faults
    assert COMPLAINTS[complaint] in fault.hint
    assert fault.field == "book"
    assert fault.value == "book.sqlite"


def test_turns_come_in_the_order_they_were_asked_for() -> None:
    turns, order = Turns(), list[int]()

    def wait(n: int) -> None:
        with turns.turn():
            order.append(n)

    threads = []
    with turns.turn():
        for n in range(6):
            threads.append(threading.Thread(target=wait, args=(n,)))
            threads[-1].start()
            while len(turns._waiting) < n + 2:
                time.sleep(0.001)
        assert order == []
    for thread in threads:
        thread.join()
    assert order == list(range(6))


def test_a_turn_that_fails_is_over() -> None:
    turns = Turns()
    for _ in range(2):
        with pytest.raises(ValueError, match="burnt"), turns.turn():
            raise ValueError("burnt")
    with turns.turn():
        assert len(turns._waiting) == 1
