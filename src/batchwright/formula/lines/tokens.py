"""An ingredient line in tokens: one spelling for fractions, dashes and spaces; brackets as one token each."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

_VULGAR = {letter: unicodedata.normalize("NFKC", letter).replace("\N{FRACTION SLASH}", "/")
           for letter in "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞↉"}  # fmt: skip
_PLAIN = str.maketrans({
    **{letter: f" {plain} " for letter, plain in _VULGAR.items()}, "\N{FRACTION SLASH}": "/", "\N{DIVISION SLASH}": "/",
    **dict.fromkeys("‐‑‒–—―−﹣－", "-"), **dict.fromkeys("’‘ʼ´`", "'"), **dict.fromkeys("“”″", '"'), "×": "x", "✕": "x",
    **dict.fromkeys("\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009", " "),
    **dict.fromkeys("\u200a\u202f\u3000\t\r\n\v\f", " "),
    **dict.fromkeys("\u00ad\u200b\u200c\u200d\u2060\ufeff"), "【": "(", "】": ")", "（": "(", "）": ")", "\x00": " ",
})  # fmt: skip
_ENTITIES = {"&frac12;": " 1/2 ", "&frac14;": " 1/4 ", "&frac34;": " 3/4 ", "&frac13;": " 1/3 ", "&frac23;": " 2/3 ",
             "&frac18;": " 1/8 ", "&frac38;": " 3/8 ", "&frac58;": " 5/8 ", "&frac78;": " 7/8 ", "&frasl;": "/",
             "&amp;": "&", "&nbsp;": " ", "&deg;": "°", "&ndash;": "-", "&mdash;": "-", "&#39;": "'", "&#039;": "'",
             "&quot;": '"', "&rsquo;": "'", "&lsquo;": "'", "&times;": "x", "&apos;": "'", "&eacute;": "é",
             "&egrave;": "è", "&#x27;": "'", "&#8217;": "'", "&lt;": "<", "&gt;": ">", "&ccedil;": "ç"}  # fmt: skip
_ENTITY = re.compile(r"&#?\w{1,8};")
_TOKEN = re.compile(r"(\d+)/(\d+)|\d+(?:[.,]\d+)?|\.\d+|[^\W\d_]+(?:['\-][^\W\d_]+)*|\S")
_BULLET = re.compile(r"[\s•◦▪▢□☐☑✓✔●○‣⁃·*>#_|]*(?:\[[ xX]?\]\s*)?(?:-\s+)?[\s•◦▪▢□☐☑✓✔●○‣·*]*")

_PICTURES = frozenset({"So", "Sk", "Mn", "Cf", "Cn", "Cs"})
"""Unicode's kinds of pictures, and of what colours and joins them, in front of a line."""
_NUMBERED = re.compile(r"\d{1,2}[.)]\s+(?=\d)")


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line: `kind` is "n" number, "w" word, "p" mark, "b" a bracket; `value` of a number."""

    kind: str
    text: str
    start: int
    end: int
    value: float | None = None
    lower: str = ""
    fraction: bool = False


def plain(text: str) -> str:
    """Return a line with one spelling of fractions, dashes, quotes and spaces, without bullets in front."""
    if "&" in text:
        text = _ENTITY.sub(lambda found: _ENTITIES.get(found[0].lower(), found[0]), text)
    text = " ".join(text.translate(_PLAIN).split())
    bullet = _BULLET.match(text)
    text = text[bullet.end() :] if bullet else text
    while text and unicodedata.category(text[0]) in _PICTURES:
        text = text[1:].lstrip()
    numbered = _NUMBERED.match(text)
    return text[numbered.end() :] if numbered else text


def _number(found: re.Match[str]) -> tuple[float | None, bool]:
    text = found[0]
    if found[1] is not None:
        below = int(found[2][:9])
        return (int(found[1][:9]) / below if below else None), True
    whole, comma, part = text.partition(",")
    if comma and len(part) == 3 and whole != "0":
        return float(whole[:12] + part), False
    return float(text.replace(",", ".")[:15]), False


def tokens_of(text: str) -> list[Token]:
    """Return the tokens of a plain line in order; a bracket, closed or not, is one token."""
    found: list[Token] = []
    position, size = 0, len(text)
    while position < size:
        letter = text[position]
        if letter in "([{":
            end = _closing(text, position)
            found.append(Token("b", text[position + 1 : end].rstrip(")]}").strip(), position, min(end + 1, size)))
            position = end + 1
            continue
        match = _TOKEN.match(text, position)
        if match is None:
            position += 1
            continue
        position = match.end()
        word = match[0]
        if word[0].isdecimal() or (word[0] == "." and len(word) > 1):
            value, fraction = _number(match) if word.isascii() else (None, False)
            found.append(Token("n", word, match.start(), match.end(), value, word, fraction))
        else:
            found.append(Token("w" if word[0].isalpha() else "p", word, match.start(), match.end(), None, word.lower()))
    return found


def _closing(text: str, start: int) -> int:
    depth = 0
    for position in range(start, len(text)):
        if text[position] in "([{":
            depth += 1
        elif text[position] in ")]}":
            depth -= 1
            if depth == 0:
                return position
    return len(text)


def text_of(text: str, tokens: list[Token]) -> str:
    """Return what the tokens spell, with single spaces where the line had any."""
    parts: list[str] = []
    last = -1
    for token in tokens:
        if parts and token.start > last:
            parts.append(" ")
        parts.append(text[token.start : token.end])
        last = token.end
    return "".join(parts).strip(" ,;:-.+&")
