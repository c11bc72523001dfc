"""Slips of a picture's reading that the packet's own grammar puts right: a unit, a row's name, a letter of a word.

No figure is made up: a sign is only taken for the unit that its cell must have, and every word and figure changed here
is one the cook is shown for a second look.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from batchwright.original.panels.lines import line_names
from batchwright.pantry.shelf_spelling import distance_within, mended_word

ROWS = (
    "Energy", "Fat", "of which saturates", "Carbohydrate", "of which sugars", "Fibre", "Protein", "Salt", "Calories",
    "Total Fat", "Saturated Fat", "Trans Fat", "Cholesterol", "Sodium", "Total Carbohydrate", "Dietary Fiber",
    "Total Sugars",
)  # the rows of a European and an American panel, as most packets print them  # fmt: skip
SHARE_KNOWN = 0.7  # of a list's words; below it the list is in another language, or not read at all
LONG_NAME = 9  # letters from which a row's name may be two slips away
SHORTEST_MENDED = 5  # letters of a list's word
FEWEST_UNITS = 4  # cells that show "g" before a cell without it is taken to have one
KJ_PER_KCAL = 4.184
_LETTERS = re.compile(r"[^\W\d_]+")
_FIGURE = r"\d+(?:[.,]\d+)?"
_KJ = re.compile(rf"(?<=\d)\s*k\.?[A-Za-z0-9|)]?\s*/\s*(?={_FIGURE}\s*kca[l1I])")
_NO_KJ = re.compile(r"(?<![\w.,])(\d{2,5})\s*/\s*(\d{1,4})\s*(?=kca[l1I])")
_NOUGHT = re.compile(r"(?<!\S)[OoDQ]\s?(m?g)\b")
_MILLI = re.compile(r"(?<=\d)(\s?)(?:ng|rng|mg9|m9|mq)(?!\w)")
_GRAMS = re.compile(rf"(?<![\w.,]){_FIGURE}(\s?)m?g\b")
_APART = re.compile(rf"(?<![\w.,])({_FIGURE})\s[98qB6](?!\s+m?g\b)(?=\s{{2,}}|\s+\d|\s*$)")
_TOGETHER = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)([98q])(?!\s+m?g\b)(?=\s{2,}|\s+\d|\s*$)")
_TOO_FINE = re.compile(r"(?<![\w.,])(\d+[.,]\d)[06](?!\s+m?g\b)(?=\s{2,}|\s+\d|\s*$)")
_ENDS_IN_FIGURE = re.compile(r"\d\s?(?:m?g|%|9|8|q)?\W*$")
_STOP = re.compile(r"([^\W\d_]{4,})\.(?= [a-z])")
_UNCLOSED = re.compile(r"(\((?:[^()]*[ (])?)([^\W\d_]{3,}?)([LIlJD1\]}])(?=[,.;]|\s|$)")


def rows_named(lines: Collection[str]) -> list[str]:
    """Return lines with the names of a panel's rows put right ("Fal 10 g"), where one name alone is that near.

    A name that another line has already is not given again; lines that hold a nutrient's name stay as they are.
    """
    taken = {_head(line).lower() for line in lines}
    return [_row_named(line, taken) for line in lines]


def _head(line: str) -> str:
    return re.split(r"\s{2,}|\s*[<\d]", line.strip(), maxsplit=1)[0].strip()


def _row_named(line: str, taken: set[str]) -> str:
    head = _head(line)
    letters = sum(map(str.isalpha, head))
    if letters < 2 or "," in head or not _ENDS_IN_FIGURE.search(line):
        return line
    if head.lower() in map(str.lower, ROWS) or next((name for name in line_names(line) if name[0]), None):
        return line
    most = 2 if letters >= LONG_NAME else 1
    near = [name for name in ROWS if name.lower() not in taken and distance_within(head.lower(), name.lower(), most)]
    if len(near) != 1:
        return line
    taken.add(near[0].lower())
    return line.replace(head, near[0].upper() if head.isupper() and letters > 2 else near[0], 1)


def units_mended(text: str) -> str:
    """Return a panel's text with its units put right: "1573 k3/376 kcal", "46.7 9" and "1.99" beside "1.5 g".

    A figure without a unit is given one only where the panel's other cells show theirs and its last sign looks like g.
    """
    text = _KJ.sub(" kJ / ", text)
    text = _NO_KJ.sub(_joules, text)
    text = _MILLI.sub(r"\1mg", _NOUGHT.sub(r"0\1", text))
    shown = _GRAMS.findall(text)
    if len(shown) < FEWEST_UNITS:
        return text
    blank = " " if 2 * sum(map(bool, shown)) >= len(shown) else ""
    finest = max((len(found.split(".")[1]) for found in re.findall(r"\d\.\d+(?=\s?g\b)", text)), default=0)
    return "\n".join(_row_with_units(line, blank, finest > 0) for line in text.split("\n"))


def _joules(found: re.Match[str]) -> str:
    joule, kcal = int(found[1]), int(found[2])
    same = abs(joule - KJ_PER_KCAL * kcal) <= 0.04 * joule + KJ_PER_KCAL
    return f"{joule} kJ / {kcal} " if same else found[0]


def _row_with_units(line: str, blank: str, pointed: bool) -> str:
    name = next((each for each in line_names(line) if each[0]), None)
    if name is None or not name[0] or not name[0].endswith("_g"):
        return line
    head, cells = line[: name[1]], line[name[1] :]
    cells = _APART.sub(rf"\1{blank}g", cells)
    cells = _TOGETHER.sub(lambda found: f"{found[1]}{blank}g" if _has_a_unit(found[1], pointed) else found[0], cells)
    if pointed and name[0] != "salt_g":
        cells = _TOO_FINE.sub(rf"\1{blank}g", cells)
    return head + cells


def lacks_unit(word: str, before: str, after: str) -> bool:
    """Whether a word of the picture is a figure of which a sign was taken for its unit, or to which a unit was put.

    before, after: a panel's text as read, and as mended.
    """
    if not re.search(r"\d", word):
        return False
    token = rf"(?<!\S){re.escape(word.strip())}(?!\S)"
    return bool(re.search(token, before)) and len(re.findall(token, after)) < len(re.findall(token, before))


def _has_a_unit(figure: str, pointed: bool) -> bool:
    """Whether what stands before a sign like g may be the whole figure: with a point, where the others have one."""
    return bool(re.search(r"[.,]\d", figure)) if pointed else True


def list_mended(text: str, known: Collection[str]) -> str:
    """Return an ingredient list with slips put right that can be one thing only: "kernets", "sugar. palm oil, salt".

    known: words a packet may carry. A list of which fewer than SHARE_KNOWN are known is left as it is.
    """
    words = [word.lower() for word in _LETTERS.findall(text) if len(word) > 2]
    if not words or sum(word in known for word in words) < SHARE_KNOWN * len(words):
        return text
    text = _UNCLOSED.sub(lambda found: _closed(found, known), text)
    text = _LETTERS.sub(lambda found: _word_mended(found[0], known), text)
    return _STOP.sub(lambda found: f"{found[1]}," if found[1].lower() in known else found[0], text)


def _closed(found: re.Match[str], known: Collection[str]) -> str:
    """Return a bracket's last word with the bracket that was taken for a letter, where only so it is a word."""
    word, sign = found[2], found[3]
    whole = f"{word}{sign}".lower()
    right = word.lower() in known and (not sign.isalpha() or whole not in known)
    return f"{found[1]}{word})" if right else found[0]


def _word_mended(word: str, known: Collection[str]) -> str:
    lower = word.lower()
    if len(word) < SHORTEST_MENDED or lower in known or not word.isascii():
        return word
    mended = mended_word(lower)
    if mended is None or not mended.isalpha():
        return word
    return mended.upper() if word.isupper() else mended.capitalize() if word[0].isupper() else mended
