"""The one-time token of the first local page."""

from __future__ import annotations

import hmac
from threading import Lock


class Entrance:
    """A token good for one browser; `offer` makes the next one good."""

    def __init__(self) -> None:
        self._token = ""
        self._lock = Lock()

    def offer(self, token: str) -> None:
        """Make a token good, in place of any before it."""
        with self._lock:
            self._token = token

    def take(self, token: str) -> bool:
        """Use the token up; False where it is not the one, or none is good."""
        with self._lock:
            good = bool(self._token) and hmac.compare_digest(token.encode(), self._token.encode())
            if good:
                self._token = ""
            return good
