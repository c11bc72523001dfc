"""A form that begins something, sent twice by a phone that lost the answer: it begins once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import TypeVar

from fastapi import Request

MOST_KEPT = 1024
Made = TypeVar("Made")
_lock = Lock()


def once(request: Request, what: str, begin: Callable[[], Made], key: str) -> Made:
    """Return what `begin` makes; what it made before where the same form (`what`, its own `key`) was sent before.

    Without a key it begins anew each time. What changes a thing needs none of this: the book itself knows those keys.
    """
    if not key:
        return begin()
    state = request.app.state
    with _lock:
        if not hasattr(state, "resent"):
            state.resent = OrderedDict()
        known: OrderedDict[tuple[str, str], Made] = state.resent
        if (what, key) not in known:
            known[what, key] = begin()
        while len(known) > MOST_KEPT:
            known.popitem(last=False)
        return known[what, key]
