"""Time limits that hold on a machine slower than the cook's, and busy."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

SLOW = 3.0  # how much slower than a common machine the one that tests may be


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Fail where the body takes more processor time than `seconds` [s] on a common machine, with SLOW to spare.

    Processor time, so that other work on the machine counts little; what it must not hide is growth out of all
    proportion, which overruns any such factor.
    """
    begun = time.process_time()
    yield
    taken = time.process_time() - begun
    assert taken < SLOW * seconds, f"took {taken:.2f} s; allowed: {seconds} s, times {SLOW:g} for a slow machine"
