"""Whose turn it is to write: first come, first served among the threads of one program."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager


class Turns:
    """A lock that is given in the order it was asked for, so that of many writers none waits past the others."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._waiting: deque[threading.Lock] = deque()

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Wait for one's turn and hold it."""
        mine = threading.Lock()
        with self._guard:
            if self._waiting:
                mine.acquire()
            self._waiting.append(mine)
        mine.acquire()
        try:
            yield
        finally:
            with self._guard:
                self._waiting.popleft()
                if self._waiting:
                    self._waiting[0].release()
