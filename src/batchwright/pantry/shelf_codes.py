"""Bare additive numbers: "500", "E 322", "INS 471", "450(i)", "472e"."""

from __future__ import annotations

import re
from functools import cache

from batchwright.base.tables import rows
from batchwright.pantry.shelf_index import Entry, look
from batchwright.pantry.shelf_words import words_of

_CODE = re.compile(r"(e|ins|sin)? ?-? ?(\d{3,4}) ?-?([a-fx]?)(?: ?\(? ?([ivx1]{1,4}) ?\)?)?")
_ROMAN = {"1": "i", "11": "ii", "111": "iii", "l": "i"}


@cache
def _codes() -> dict[str, str]:
    return {row["code"]: row["name"] for row in rows("shelf_codes")}


def additive(text: str) -> tuple[Entry, str] | None:
    """Return the additive behind a bare number and the number as read, or None.

    A suffix the table does not know is left off ("471a" reads as 471) only when it says a sub-form.
    """
    if len(text) > 24:
        return None
    plain = text.strip(" .,;:*_-()[]").lower().replace("(", " ").replace(")", "").strip()
    if plain[:1] == "e" and len(plain) > 3 and plain[1].isdigit():
        plain = "e" + plain[1:4].replace("l", "1").replace("o", "0") + plain[4:]
    hit = _CODE.fullmatch(plain)
    if hit is None:
        return None
    _, digits, letter, part = hit.groups()
    part = _ROMAN.get(part or "", part or "")
    for code in (digits + letter + part, digits + letter, digits + part, digits):
        name = _codes().get(code)
        if name is not None:
            entry = look(words_of(name))
            if entry is not None:
                return entry, code
    return None
