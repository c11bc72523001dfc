"""Arithmetic on one thread: the last digits of a sum then depend on nothing but its terms."""

from __future__ import annotations

import os

ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def on_one_thread() -> None:
    """Ask numpy's linear algebra for one thread, in this process and those it starts; call before numpy is imported."""
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
