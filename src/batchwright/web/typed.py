"""What a form sends: its text fields by name, and the pictures with it."""

from __future__ import annotations

import hmac
from dataclasses import dataclass, field

from fastapi import Request
from starlette.datastructures import UploadFile

from batchwright.web.doors import CSRF_FIELD
from batchwright.web.guard import Refusal

MOST_FIELDS = 1000
FILLED = frozenset({"key", "parent", "back", "in", "show", "look", "keep", "seen"})  # not typed, but sent by our pages
LONGEST_PART = 1_000_000  # bytes of one text field
TOO_OLD = "This form is too old to be taken. What you typed is still in it: go back, copy it, open the page anew."
LARGEST_PICTURE = 24_000_000  # bytes; a phone's camera makes 3 to 12 MB (common practice)


@dataclass(frozen=True, slots=True)
class Typed:
    """The fields of a form and its files: name -> text, name -> (file name, bytes)."""

    fields: dict[str, str] = field(default_factory=dict)
    files: dict[str, tuple[str, bytes]] = field(default_factory=dict)

    def words(self) -> dict[str, str]:
        """Return what a person typed or chose: the fields that hold something, without those our own page filled."""
        return {name: value for name, value in self.fields.items()
                if value.strip() and name not in FILLED and not name.startswith("lock:")}  # fmt: skip

    def number(self, name: str) -> int | None:
        """Return a field that holds the number of a thing of the book; None where it holds none."""
        return whole_number(self.fields.get(name, ""))


def whole_number(text: str) -> int | None:
    """Return a number of up to nine digits, which any database takes; None for all else, "²" and "１" too."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None


async def typed(request: Request) -> Typed:
    """Return what a form sent; use it as a dependency (`Depends(typed)`) of a page that takes a form.

    Raises Refusal where the form does not carry what only our own page could have put into it.
    """
    form = await request.form(max_files=8, max_fields=MOST_FIELDS, max_part_size=LONGEST_PART)
    fields: dict[str, str] = {}
    files: dict[str, tuple[str, bytes]] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:
                files[name] = (value.filename, await value.read(LARGEST_PICTURE + 1))
        else:
            fields[name] = value
    door = request.state.door
    if door is None or not hmac.compare_digest(fields.pop(CSRF_FIELD, "").encode(), door.csrf.encode()):
        raise Refusal(403, TOO_OLD)
    request.state.typed = Typed(fields, files)  # for the page that says why it could not be kept
    return Typed(fields, files)
