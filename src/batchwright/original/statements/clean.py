"""The text as given made plain to read, with the way back: every mended stretch reported, every offset kept."""

from __future__ import annotations

import html
import re
from bisect import bisect_right

from batchwright.original.statements.records import Repair

_MOJIBAKE = re.compile(r"[ÂÃâ][\x80-\xbf€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ¡-¿]{1,2}")
_ENTITY = re.compile(r"&(?:#\d{1,7}|#[xX][0-9a-fA-F]{1,6}|[a-zA-Z][a-zA-Z0-9]{1,8});")
_QUOT = re.compile(r"&(?:quot|amp|nbsp|lt|gt)\b(?!;)")
_TAG = re.compile(r"</?(?:b|strong|u|em|i|span|p|br|li|ul|div|sup|sub)\b[^<>]{0,80}>", re.IGNORECASE)
_BOLD = re.compile(r"<(b|strong|u|em|i)\b[^<>]{0,80}>([^<>]{1,80})</\1\s?>", re.IGNORECASE)
_BOLD_TAG = re.compile(r"</?(?:b|strong|u|em|i)\b", re.IGNORECASE)
_STARS = re.compile(r"(?<![\w*])\*\*(?=\w)([^*\n]{1,80}?)(?<=[\w)])\*\*(?![*])")
_UNDERSCORES = re.compile(r"_([^_\n]{1,60}?)_")
_UNDERSCORE = re.compile(r"_+")
_PERCENT = re.compile(r"(?<=\d)\s?(?:°/[oO0]|[oO0]/[oO0]|％|º/[oO])(?![A-Za-z0-9])")
_HYPHEN = re.compile(r"(?<=[a-z])-\r?\n\s{0,4}(?=[a-z])")
_JOINED = re.compile(r"(?:\u00ad|\u200b|\u200c|\u200d|\ufeff)+")
_BLANKS = re.compile(r"[ \t\r\f\v\xa0\u2000-\u200a\u202f\u3000]*\n\s*|[ \t\r\f\v\xa0\u2000-\u200a\u202f\u3000]+|\s")


class Plain:
    """The plain text and, for each place in it, the place in the text given."""

    def __init__(self, given: str, text: str, places: list[int], origins: list[int], ends: list[int]) -> None:
        self.emphasis: list[tuple[int, int]] = []
        self.given = given
        self.text = text
        self._places = places
        self._origins = origins
        self._ends = ends
        self._whole = text == given

    def start(self, place: int) -> int:
        """Return where, in the given text, the character at `place` of the plain text begins."""
        if self._whole:
            return place
        block = bisect_right(self._places, place) - 1
        return min(self._origins[block] + place - self._places[block], self._ends[block])

    def end(self, place: int) -> int:
        """Return where, in the given text, a stretch ends that ends before `place` of the plain text."""
        if self._whole or place <= 0:
            return max(place, 0)
        block = bisect_right(self._places, place - 1) - 1
        last_of_block = block + 1 < len(self._places) and self._places[block + 1] == place
        if last_of_block or (block + 1 == len(self._places) and place == len(self.text)):
            return self._ends[block]
        return min(self._origins[block] + place - self._places[block], self._ends[block])


def _unjumbled(jumble: str) -> str | None:
    try:
        raw = b"".join(bytes([ord(c)]) if ord(c) < 256 else c.encode("cp1252") for c in jumble)
        return raw.decode("utf-8")
    except (UnicodeDecodeError, UnicodeEncodeError):
        return None


def _emphasis(given: str, changes: list[tuple[int, int, str]]) -> list[tuple[int, int]]:
    """Return the stretches marked as bold or underlined, and take the marks out."""
    marked: list[tuple[int, int]] = []
    if "**" in given:
        for match in _STARS.finditer(given):
            marked.append(match.span(1))
            changes += [(match.start(), match.start(1), ""), (match.end(1), match.end(), "")]
    if "_" in given:
        for match in _UNDERSCORES.finditer(given):
            marked.append(match.span(1))
        for match in _UNDERSCORE.finditer(given):
            before, after = given[max(0, match.start() - 1) : match.start()], given[match.end() : match.end() + 3]
            glued = before.isalnum() and len(after) == 3 and after.isalpha()
            changes.append((match.start(), match.end(), " " if glued else ""))
    if "<" in given:
        marked += [match.span(2) for match in _BOLD.finditer(given)]
    return sorted(marked)


def _changes(given: str, repairs: list[Repair], changes: list[tuple[int, int, str]]) -> list[tuple[int, int, str]]:

    def note(kind: str, start: int, end: int, after: str) -> None:
        changes.append((start, end, after))
        repairs.append(Repair(kind, given[start:end], after, start, end))

    if "&" in given:
        for match in (*_ENTITY.finditer(given), *_QUOT.finditer(given)):
            meaning = html.unescape(match[0] if match[0].endswith(";") else match[0] + ";")
            if (meaning not in (match[0], match[0] + ";") and meaning.isprintable()) or meaning == "\xa0":
                note("entity", match.start(), match.end(), meaning)
    if "Â" in given or "Ã" in given or "â" in given:
        for match in _MOJIBAKE.finditer(given):
            for length in (len(match[0]), 2):
                meaning_or_none = _unjumbled(match[0][:length])
                if (meaning_or_none is not None and meaning_or_none.isprintable()) or meaning_or_none == "\xa0":
                    note("mojibake", match.start(), match.start() + length, meaning_or_none or "")
                    break
    if "<" in given:
        for match in _TAG.finditer(given):
            bold = _BOLD_TAG.match(match[0])
            note("markup", match.start(), match.end(), "" if bold else "\n")
    for match in _PERCENT.finditer(given):
        note("percent sign", match.start(), match.end(), "%")
    if "-\n" in given or "-\r\n" in given:
        for match in _HYPHEN.finditer(given):
            note("hyphen at line end", match.start(), match.end(), "")
    for match in _JOINED.finditer(given):
        changes.append((match.start(), match.end(), ""))
    for match in _BLANKS.finditer(given):
        if match[0] not in (" ", "\n"):
            changes.append((match.start(), match.end(), "\n" if "\n" in match[0] else " "))
    changes.sort()
    return changes


def plain(given: str, repairs: list[Repair]) -> Plain:
    """Return the text with entities, jumbled characters, tags, split percent signs and runs of blanks made plain.

    Every change but blanks is added to `repairs`. Works through the text once.
    """
    pieces: list[str] = []
    places: list[int] = []
    origins: list[int] = []
    ends: list[int] = []
    length = 0

    def add(piece: str, origin: int, end: int) -> None:
        nonlocal length
        if piece and piece[0].isspace() and (not pieces or pieces[-1][-1].isspace()):
            piece, origin = piece[1:], min(origin + 1, end)
        if piece:
            pieces.append(piece)
            places.append(length)
            origins.append(origin)
            ends.append(end)
            length += len(piece)

    done = 0
    changes: list[tuple[int, int, str]] = []
    emphasis = _emphasis(given, changes)
    for start, end, after in _changes(given, repairs, changes):
        if start < done:
            continue
        add(given[done:start], done, start)
        add(after, start, end)
        done = end
    add(given[done:], done, len(given))
    if not places:
        places, origins, ends = [0], [0], [len(given)]
    out = Plain(given, "".join(pieces), places, origins, ends)
    out.emphasis = emphasis
    return out
