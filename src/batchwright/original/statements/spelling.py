"""Letters read wrong and blanks or commas lost: what a name that the shelf does not know was meant to be."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from batchwright.original.statements.words import e_number, words
from batchwright.pantry.shelf import knows
from batchwright.pantry.shelf_index import dictionary
from batchwright.pantry.shelf_spelling import split_words

_DIGITS = str.maketrans("015836", "olsbbg")
_DIGITS_I = str.maketrans("015836", "oisbbg")
_TO_DIGITS = str.maketrans("olisb", "01158")
_MIXED = re.compile(r"(?=[^\W\d_]*\d)(?=\d*[^\W\d_])\w{3,24}$")
_E_LIKE = re.compile(r"e[\doli sb]{3}[a-g]?i{0,3}$")
_BLANK = re.compile(r"\s+")


@lru_cache(maxsize=20_000)
def known(name: str) -> bool:
    """Return whether the shelf knows the name (answers kept: names come again and again)."""
    return knows(name)


def _word_known(word: str) -> bool:
    return word in dictionary() or (len(word) > 3 and known(word))


def _readings(word: str) -> Iterator[str]:
    """Yield what a misread word may have been, likeliest first."""
    if _MIXED.match(word):
        yield word.translate(_DIGITS)
        yield word.translate(_DIGITS_I)
        return
    if len(word) < 5 or not word.isalpha():
        return
    if "rn" in word:
        yield word.replace("rn", "m", 1)
    for place, letter in enumerate(word[:14]):
        if letter in "il":
            yield word[:place] + ("l" if letter == "i" else "i") + word[place + 1 :]


@lru_cache(maxsize=20_000)
def mended(name: str) -> tuple[str, str] | None:
    """Return (name as meant, kind of repair) of an unknown name with letters read wrong or blanks lost, else None.

    Only a reading whose words are all in the shelf's dictionary is taken.
    """
    if not name or len(name) > 60 or known(name):
        return None
    if _E_LIKE.match(name):
        digits = "e" + name[1:4].translate(_TO_DIGITS) + name[4:]
        if digits != name and e_number(digits) is not None and e_number(digits) != (digits, digits):
            return digits, "letters read wrong"
    parts = name.split(" ")
    changed = False
    for place, word in enumerate(parts):
        if word in dictionary() or e_number(word) is not None:
            continue
        for reading in _readings(word):
            if _word_known(reading):
                parts[place], changed = reading, True
                break
    if changed:
        return " ".join(parts), "letters read wrong"
    apart = split_words(name)
    if apart != name and len(parts) <= 5:
        new = [word for word in apart.split(" ") if word not in parts]
        shortest = min((len(word) for word in new), default=0)
        if shortest >= 4 or (shortest >= 3 and known(apart)):
            return apart, "blank missing"
    return None


@lru_cache(maxsize=20_000)
def missing_comma(name: str) -> int | None:
    """Return how many words of an unknown name of four to eight words make a first known name, the rest a second."""
    parts = name.split(" ")
    if not 4 <= len(parts) <= 8 or known(name) or any(mark in name for mark in (" and ", " of ", " with ", " from ")):
        return None
    follow, lead = words("continues"), words("modifier")
    for count in range(len(parts) - 2, 1, -1):
        left, right = parts[:count], parts[count:]
        if (
            right[0] in follow
            or right[0] in ("a", "pepper", "contains", "in")
            or left[-1] in lead
            or left[-1] in ("fd&c", "grade", "contains", "extract")
        ):
            continue
        if known(" ".join(left)) and known(" ".join(right)):
            return count
    return None


def words_end(text: str, start: int, end: int, count: int) -> int:
    """Return where, in text[start:end], the first `count` words end."""
    place = start
    for match in list(_BLANK.finditer(text, start, end))[:count]:
        place = match.start()
    return place
