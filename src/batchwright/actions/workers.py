"""A few processes that do the long work, so that no page waits behind another's."""

from __future__ import annotations

import importlib
import itertools
import multiprocessing
import os
import signal
import threading
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from functools import partial
from typing import Any

WORKPLACE = "batchwright.actions.answer_work"  # imported by the processes alone: the server starts without it
POLITER = 2  # added to the workers' nice level, so that a page is sent before a decode goes on


def work_done(work: str, given: Sequence[Any]) -> Any:
    """Return what one of `answer_work.WORKS` makes of what was given; in whichever process it is called."""
    return importlib.import_module(WORKPLACE).WORKS[work](*given)


def _begin_worker() -> None:
    """Set a worker up: Ctrl-C is for the server, which ends its workers; and none outlives a server that was killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(POLITER)
    server = multiprocessing.parent_process()
    if server is not None:
        threading.Thread(target=_end_with, args=(server,), daemon=True).start()


def _end_with(server: Any) -> None:
    server.join()
    os._exit(0)


def usual_count() -> int:
    """Return how many workers suit this computer: two, on a large one up to four (each takes about 150 MB)."""
    return max(2, min(4, (os.cpu_count() or 1) - 1))


class Workers:
    """Processes that are started when there is work. Of one page's work only the newest waits."""

    def __init__(self, count: int) -> None:
        self.count = count
        self._lock = threading.Lock()
        self._waiting: OrderedDict[str, tuple[Future[Any], str, Sequence[Any]]] = OrderedDict()
        self._running = 0
        self._pool: ProcessPoolExecutor | None = None
        self._closed = False
        self._number = itertools.count()

    def ask(self, page: str, work: str, given: Sequence[Any]) -> Future[Any]:
        """Return the future of a work. page: whose it is; what the same page asked before and still waits is cancelled.

        An empty page's work is never cancelled.
        """
        future: Future[Any] = Future()
        with self._lock:
            key = f"{page} {work}" if page else f"#{next(self._number)}"
            older = self._waiting.pop(key, None)
            if not self._closed:
                self._waiting[key] = (future, work, given)
        if older is not None:
            older[0].cancel()
        if self._closed:
            future.cancel()
        self._start_some()
        return future

    def _start_some(self) -> None:
        """Hand on what waits as long as a worker is free; nothing is told to those who wait while the lock is held."""
        while True:
            with self._lock:
                if not self._waiting or self._running >= self.count or self._closed:
                    return
                _, (future, work, given) = self._waiting.popitem(last=False)
                if self._pool is None:
                    how = multiprocessing.get_context("spawn")  # a server's threads make `fork` unsafe
                    self._pool = ProcessPoolExecutor(self.count, how, _begin_worker)
                pool = self._pool
                self._running += 1
            if not future.set_running_or_notify_cancel():
                self._free(pool)
                continue
            try:
                done = pool.submit(work_done, work, given)
            except RuntimeError as error:  # the pool broke between two works, or is closing
                self._free(pool, broken=True)
                future.set_exception(error)
                continue
            done.add_done_callback(partial(self._finish, future, pool))

    def _finish(self, future: Future[Any], pool: ProcessPoolExecutor, done: Future[Any]) -> None:
        error = BrokenExecutor("the server is closing") if done.cancelled() else done.exception()
        self._free(pool, broken=isinstance(error, BrokenExecutor))
        if error is not None:
            future.set_exception(error)
        else:
            future.set_result(done.result())
        self._start_some()

    def _free(self, pool: ProcessPoolExecutor, broken: bool = False) -> None:
        with self._lock:
            self._running -= 1
            if broken and self._pool is pool:
                self._pool = None  # a worker was killed, for instance for want of memory: the next work starts anew

    def close(self) -> None:
        """End the workers; what waits is cancelled."""
        with self._lock:
            self._closed = True
            waiting, self._waiting = list(self._waiting.values()), OrderedDict()
            pool, self._pool = self._pool, None
        for future, _, _ in waiting:
            future.cancel()
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)
