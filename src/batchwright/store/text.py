"""Text as both databases can hold it: documents as JSON, names without what no database keeps."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from batchwright.base.errors import Fault, InputError


def json_text(document: Any, **how: Any) -> str:
    """Return a document as JSON text that UTF-8 can hold; `how` goes to `json.dumps`.

    Half a surrogate pair, which a browser may send, is written as an escape. Raises InputError for what JSON lacks.
    """
    try:
        text = json.dumps(document, ensure_ascii=False, allow_nan=False, **how)
        return text if is_encodable(text) else json.dumps(document, allow_nan=False, **how)
    except (TypeError, ValueError, RecursionError) as error:
        raise InputError([Fault("document", type(document).__name__, "what JSON can hold", str(error))]) from error


def document_text(document: Mapping[str, Any]) -> str:
    """Return a document as the book keeps it: JSON without blanks, keys in the order given."""
    return json_text(document, separators=(",", ":"))


def is_encodable(text: str) -> bool:
    """Tell whether UTF-8 can hold a text."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def plain(text: str, most: int) -> str:
    """Return a name on one line, without control characters and halves of surrogate pairs, at most `most` long."""
    kept = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(kept.split())[:most].strip()
