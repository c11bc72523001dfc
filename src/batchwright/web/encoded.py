"""What is sent, as bytes: also where somebody typed half a surrogate pair, which UTF-8 cannot hold."""

from __future__ import annotations

import json
from typing import Any

from fastapi.responses import HTMLResponse, JSONResponse


class JSONAnswer(JSONResponse):
    """JSON in which such a half is written as an escape, as the book keeps it."""

    def render(self, content: Any) -> bytes:
        """Return the bytes."""
        try:
            return super().render(content)
        except UnicodeEncodeError:
            return json.dumps(content, allow_nan=False, separators=(",", ":")).encode()


class PageAnswer(HTMLResponse):
    """A page in which a question mark stands for such a half."""

    def render(self, content: Any) -> bytes:
        """Return the bytes."""
        return str(content).encode("utf-8", "replace")
