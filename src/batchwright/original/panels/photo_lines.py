"""From the words seen in a picture to lines of text: tilt, rows, columns side by side, blanks that were lost."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import median

from batchwright.base.tables import rows
from batchwright.original.panels.lines import line_names
from batchwright.original.panels.photo_slips import list_mended, rows_named, units_mended
from batchwright.original.panels.text import HEADING, INGREDIENTS, split_label_text
from batchwright.pantry.shelf import dictionary, split_words
from batchwright.pantry.shelf_spelling import distance_within

SIDE_BY_SIDE_LINES = 3  # fewer lines of words on either side are a table's heading, not a column of their own
PANEL_ROWS = 3  # fewer rows of a nutrient and its figure are no panel
UNSURE = 0.90  # of what the recogniser says of a word or figure that no dictionary can vouch for
UNSURE_OF_KNOWN = 0.50  # of a word the dictionary knows; both from docs/decisions/0008-ocr-engine.md
MOST_BEFORE_NAME = 3  # words before a nutrient's name: "of which", "Includes 2g Added"
PANEL_WORDS = ("calories", "carbohydrate", "cholesterol", "dietary", "energy", "potassium", "protein", "saturated",
               "saturates", "sodium", "sugars", "calcium")  # fmt: skip
SHORTEST_MENDED = 5  # letters; a shorter word is one slip away from too many others
PACKET_WORDS = frozenset((
    "amount", "calories", "container", "contains", "cool", "daily", "declaration", "dry", "facts", "includes",
    "information", "kcal", "less", "nutrition", "nutritional", "piece", "place", "portion", "serving", "servings",
    "size", "than", "typical", "values", "which",
))  # beside the names of nutrients and the shelf's own words  # fmt: skip
LONGEST_PLAIN = 3  # letters up to which a word may be anything ("of", "E 3")
_WIDE = str.maketrans(
    {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
    | {0x3000: " ", 0x3001: ",", 0x3002: ".", 0x2018: "'", 0x2019: "'", 0x201C: '"', 0x201D: '"'}
)  # the wide signs of East Asian print, which recognisers trained on it give for our own
_AFTER = re.compile(r"([,;:])(?=[^\W\d_]|[(\[])|([)\]])(?=[^\W_])|(%)(?=[^\W\d_])")
_BEFORE = re.compile(r"(?<=[^\W_])(?=[(\[])|(?<=%)(?=[(\[])")
_BEFORE_MARK = re.compile(r"\s+([,;:)\]])")
_LETTERS = re.compile(r"[^\W\d_]+")
_CUT = re.compile(r"(?<=[^\W\d_])-\n(?=[^\W\d_])")
_ENDS_IN_FIGURE = re.compile(r"[\dOolI]\s?(?:k?[Jj]|kcal|m?g|mcg|µg|ml|%|9|q)?\W*$")
_LISTS = re.compile(r",\s*[^\W\d_]")
_FIGURE = re.compile(r"[\d.,<>%/()\s]*(?:k?J|kcal|cal|m?g|mcg|µg|ml)?[\d.,<>%/()\s]*", re.I)


@dataclass(frozen=True, slots=True)
class Seen:
    """One stretch of a line as recognised: its words, its four corners [px, from the left top one clockwise], how sure
    the recogniser is of it [0 to 1]."""

    text: str
    corners: tuple[tuple[float, float], ...]
    sure_fraction: float


@dataclass(frozen=True, slots=True)
class _Placed:
    """A stretch in the picture turned upright: its ends and its middle height [px]."""

    seen: Seen
    left: float
    right: float
    middle: float
    height: float


def tilt_of(seen: Sequence[Seen]) -> float:
    """Return how far the lines fall to the right [radians]; long lines count, as short ones tell little."""
    angles = []
    for each in seen:
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = each.corners
        across, down = (x1 + x2 - x0 - x3) / 2, (y1 + y2 - y0 - y3) / 2
        height = math.hypot(x3 - x0, y3 - y0)
        if across > 4 * height:
            angles.append((math.atan2(down, across), across))
    angles.sort()
    half = sum(across for _, across in angles) / 2
    for angle, across in angles:
        half -= across
        if half <= 0:
            return angle
    return 0.0


def blocks_of(seen: Sequence[Seen]) -> list[list[list[Seen]]]:
    """Return the blocks of a picture in reading order, each its rows from the top, each row from the left."""
    turn = tilt_of(seen)
    cosine, sine = math.cos(-turn), math.sin(-turn)
    placed = []
    for each in seen:
        across = [x * cosine - y * sine for x, y in each.corners]
        down = [x * sine + y * cosine for x, y in each.corners]
        height = (down[2] + down[3] - down[0] - down[1]) / 2
        placed.append(_Placed(each, min(across), max(across), sum(down) / 4, max(1.0, height)))
    return [[[one.seen for one in row] for row in _rows(block)] for block in _apart(placed)]


def _rows(placed: Sequence[_Placed]) -> list[list[_Placed]]:
    """Return stretches row by row: those whose middles are within half a letter's height of one another."""
    found: list[list[_Placed]] = []
    for one in sorted(placed, key=lambda each: each.middle):
        row = found[-1] if found else []
        if row and abs(one.middle - median(each.middle for each in row)) < 0.5 * min(one.height, row[-1].height):
            row.append(one)
        else:
            found.append([one])
    for row in found:
        row.sort(key=lambda each: each.left)
    return found


def _apart(placed: Sequence[_Placed]) -> list[list[_Placed]]:
    """Return blocks that stand side by side, the left one first.

    They are told from a table's columns by words: a table has them on its left alone, beside them stand figures.
    """
    if len(placed) < 2 * SIDE_BY_SIDE_LINES:
        return [list(placed)]
    letter = median(one.height for one in placed)
    right = -math.inf
    ordered = sorted(placed, key=lambda one: one.left)
    for at, one in enumerate(ordered):
        if at and one.left - right > letter and _wordy(ordered[:at]) and _wordy(ordered[at:]):
            return [*_apart(ordered[:at]), *_apart(ordered[at:])]
        right = max(right, one.right)
    return [list(placed)]


def _wordy(placed: Sequence[_Placed]) -> bool:
    """Whether most rows of what stands here hold words beside figures."""
    lines = _rows(placed)
    words = sum(any(not _FIGURE.fullmatch(one.seen.text) for one in line) for line in lines)
    return words >= SIDE_BY_SIDE_LINES and 2 * words > len(lines)


def line_of(row: Sequence[str]) -> str:
    """Return a row's stretches as one line; a wide gap parts those of a table."""
    return "   ".join(mended for each in row if (mended := mended_line(each)))


def mended_line(text: str) -> str:
    """Return recognised text with our own signs in place of wide ones, and lost blanks put back.

    Blanks come back after and before marks, and between known words that run together ("wheatflour").
    """
    plain = " ".join(text.translate(_WIDE).split())
    plain = _BEFORE_MARK.sub(r"\1", plain)
    plain = _AFTER.sub(lambda found: f"{found[0]} ", plain)
    return split_words(_BEFORE.sub(" ", plain))


def parted(blocks: Sequence[Sequence[str]]) -> tuple[str, str]:
    """Return (ingredient list, panel's text) of a packet's lines, block by block; nothing is lost.

    The panel is told by its rows: lines that begin with its heading or a nutrient's name and end in a figure. What
    stands before the list's own heading (a name, a claim) goes with the panel's text, which is read past it.
    """
    lines = rows_named([line for block in blocks for line in block if line])
    places = [at for at, line in enumerate(lines) if _panel_row(line)]
    if len(places) < PANEL_ROWS:
        listed, panel = split_label_text("\n".join(lines))
        return list_mended(running(listed), packet_words()), panel.strip()
    panel_lines = lines[places[0] : places[-1] + 1]
    listed = "\n".join([*lines[: places[0]], *lines[places[-1] + 1 :]])
    head = INGREDIENTS.search(listed)
    before, listed = (listed[: head.start()], listed[head.start() :]) if head else ("", listed)
    return list_mended(running(listed), packet_words()), "\n".join([*filter(None, [before.strip()]), *panel_lines])


def _panel_row(line: str) -> bool:
    """Whether a line is a panel's: its heading, or a nutrient near its beginning and a figure at its end, no list."""
    if HEADING.match(line):
        return True
    name = next((each for each in line_names(line) if each[0]), None)
    if name is None or _LISTS.search(line):
        return False
    return len(line[: name[1]].split()) <= MOST_BEFORE_NAME and bool(_ENDS_IN_FIGURE.search(line))


def panel_mended(text: str) -> str:
    """Return a panel's text with slips put right that can be nothing else: "1573 k/ 376 kcal", "Sodum 50mg"."""
    return units_mended(_LETTERS.sub(lambda found: _panel_word(found[0]), text))


def _panel_word(word: str) -> str:
    if len(word) < SHORTEST_MENDED or word.lower() in packet_words():
        return word
    alike = [name for name in PANEL_WORDS if distance_within(word.lower(), name, 1)]
    if len(alike) != 1:
        return word
    return alike[0].upper() if word.isupper() else alike[0].capitalize() if word[0].isupper() else alike[0]


@cache
def packet_words() -> frozenset[str]:
    """Return the words a packet may carry: the shelf's, the panel's, and those of its headings."""
    names = " ".join(row["spelling"].lower() for row in rows("panel_names"))
    return dictionary() | PACKET_WORDS | frozenset(_LETTERS.findall(names))


def running(text: str) -> str:
    """Return lines as one running text; a word cut at a line's end is joined where the dictionary knows it whole."""
    known = dictionary()

    def joined(found: re.Match[str]) -> str:
        first = re.search(r"[^\W\d_]+$", text[: found.start()])
        second = _LETTERS.match(text, found.end())
        whole = f"{first[0]}{second[0]}".lower() if first and second else ""
        return "" if whole in known else "-"

    return " ".join(_CUT.sub(joined, text).split())


def is_doubtful(word: Seen) -> bool:
    """Whether a word is to be looked at again: unknown to the dictionary, or the recogniser unsure of it."""
    letters = [each for each in _LETTERS.findall(mended_line(word.text)) if len(each) > LONGEST_PLAIN]
    if not letters or any(sign.isdigit() for sign in word.text):
        return word.sure_fraction < UNSURE
    if all(each.lower() in packet_words() for each in letters):
        return word.sure_fraction < UNSURE_OF_KNOWN
    return True
