"""The plain text cut into stretches of words, separators, brackets and colons."""

from __future__ import annotations

import re
from dataclasses import dataclass

# Stops that do not end an item: after these words, or after a lone letter ("S. thermophilus").
_SHORT = frozenset(
    [
        "no",
        "nos",
        "nr",
        "min",
        "max",
        "approx",
        "ca",
        "vit",
        "st",
        "dr",
        "mr",
        "mrs",
        "incl",
        "spp",
        "sp",
        "var",
        "subsp",
        "ssp",
        "inc",
        "co",
        "ltd",
        "wt",
        "vol",
        "conc",
        "pt",
        "temp",
        "fl",
        "oz",
        "lb",
    ]
)
_STRUCTURE = re.compile(r"[()\[\]{}\x1e]|[,;:.|•·●▪◦■\n–—]|\s-\s?(?=\S)|->|，|；|：|（|）|、|。")
_WORD_BEFORE = re.compile(r"([^\W\d_]+)$")
CUT = "\x1e"
"""Stands in the working text where a trailer, a legend or a heading was cut out: nothing reaches across it."""

LONGEST_STRETCH = 600
"""A longer stretch without any separator is cut at a blank: no name is that long."""

_OPEN, _CLOSE = "([{（", ")]}）"
_SEPARATORS = {
    "，": ",",
    "；": ";",
    "、": ",",
    "。": ".",
    "|": "|",
    "•": "•",
    "·": "•",
    "●": "•",
    "▪": "•",
    "◦": "•",
    "■": "•",
}


@dataclass(slots=True)
class Token:
    """A stretch of the plain text: `kind` is text, open, close, colon or sep; `sign` the sign itself for the others."""

    kind: str
    start: int
    end: int
    sign: str = ""


def _stop_separates(text: str, place: int) -> bool:
    after = text[place + 1 : place + 2]
    before = text[place - 1] if place else ""
    if after.isdigit() and (before.isdigit() or not before.strip() or before in "#<>"):
        return False
    if not after or after in ")]},;.":
        return True
    word = _WORD_BEFORE.search(text, max(0, place - 24), place)
    if word is None:
        return before != "." or after.isspace()
    short = word[1].lower()
    if short in _SHORT:
        return False
    if len(short) == 1 and (place - 2 < 0 or not text[place - 2].isdigit()):
        ahead = text[place - 10 : place - 2].lower().rstrip()
        return (ahead.endswith(("vitamin", "vit", "provitamin")) and after.isspace()) or after == "\n"
    return True


def _comma_separates(text: str, place: int) -> bool:
    if not (place and text[place - 1].isdigit() and text[place + 1 : place + 2].isdigit()):
        return True
    digits = place + 1
    while digits < len(text) and digits < place + 5 and text[digits].isdigit():
        digits += 1
    count = digits - place - 1
    rest = text[digits : digits + 8].lstrip().lower()
    if count <= 2 and rest.startswith(("%", "percent", "per cent", "g ", "g)", "mg", "ml", "kg")):
        return False
    if count == 3 and rest.startswith(("i.u", "iu", "usp", "mg", "mcg", "units", "billion", "cfu", "%", "g ")):
        return False
    # a position in a chemical name ("propane-1,2-diol")
    return not (count == 1 and text[digits : digits + 1] == "-" and place > 1 and text[place - 2] in "- ")


def tokens(text: str) -> list[Token]:
    """Return the stretches of `text` in order; text stretches carry no blank at either end and are never empty.

    A stop, comma or dash inside a number, a short word or a name stays in the text. Dashes and line ends separate only
    where the text has hardly any commas.
    """
    commas = text.count(",") + text.count(";")
    lines = text.count("\n")
    line_separates = lines >= 2 and commas * 2 < lines
    dashes = len(re.findall(r"(?:^|\n|\s)[-–—]\s?(?=\w)", text)) if "-" in text or "–" in text or "—" in text else 0
    dash_separates = dashes >= 2 and commas * 2 <= dashes
    found: list[Token] = []

    def add_text(start: int, end: int) -> None:
        piece = text[start:end]
        start += len(piece) - len(piece.lstrip())
        end -= len(piece) - len(piece.rstrip())
        while end - start > LONGEST_STRETCH:
            blank = text.rfind(" ", start + LONGEST_STRETCH // 2, start + LONGEST_STRETCH)
            cut = blank if blank > start else start + LONGEST_STRETCH
            found.append(Token("text", start, cut))
            start = cut + (blank > start)
        if end > start:
            found.append(Token("text", start, end))

    done = 0
    for match in _STRUCTURE.finditer(text):
        sign, place = match[0], match.start()
        kind = "sep"
        if sign in _OPEN:
            kind = "open"
        elif sign in _CLOSE:
            kind = "close"
        elif sign in ":：":
            kind, sign = "colon", ":"
            if place and text[place - 1].isdigit() and text[place + 1 : place + 2].isdigit():
                continue
        elif sign == CUT:
            pass
        elif sign == ".":
            if not _stop_separates(text, place):
                continue
        elif sign == ",":
            if not _comma_separates(text, place):
                continue
        elif sign == "\n":
            if not line_separates:
                continue
        elif sign in "–—" or sign.strip() in ("-", "->"):
            if not dash_separates:
                continue
            sign = "-"
        else:
            sign = _SEPARATORS.get(sign, sign)
        add_text(done, place)
        found.append(Token(kind, place, match.end(), sign))
        done = match.end()
    add_text(done, len(text))
    return found
