"""A form that begins something, sent twice by a phone that lost the answer: it begins once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import TypeVar

MOST_KEPT = 1024
Made = TypeVar("Made")
_made: OrderedDict[tuple[str, str], object] = OrderedDict()
_lock = Lock()


def once(what: str, key: str, begin: Callable[[], Made]) -> Made:
    """Return what `begin` makes; what it made before where the same form (`what`, its own `key`) was sent before.

    Without a key it begins anew each time. What changes a thing needs none of this: the book itself knows those keys.
    """
    if not key:
        return begin()
    with _lock:
        if (what, key) in _made:
            return _made[what, key]  # type: ignore[return-value]
        made = begin()
        _made[what, key] = made
        while len(_made) > MOST_KEPT:
            _made.popitem(last=False)
        return made
