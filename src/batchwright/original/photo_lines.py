"""From the words seen in a picture to lines of text: tilt, rows, columns side by side, blanks that were lost."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from batchwright.pantry.shelf import split_words

SIDE_BY_SIDE_LINES = 3  # fewer lines of words on either side are a table's heading, not a column of their own
_WIDE = str.maketrans(
    {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
    | {0x3000: " ", 0x3001: ",", 0x3002: ".", 0x2018: "'", 0x2019: "'", 0x201C: '"', 0x201D: '"'}
)  # the wide signs of East Asian print, which recognisers trained on it give for our own
_AFTER = re.compile(r"([,;:])(?=[^\W\d_]|[(\[])|([)\]])(?=[^\W_])|(%)(?=[^\W\d_])")
_BEFORE = re.compile(r"(?<=[^\W_])(?=[(\[])|(?<=%)(?=[(\[])")
_BEFORE_MARK = re.compile(r"\s+([,;:)\]])")
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
    rows: list[list[_Placed]] = []
    for one in sorted(placed, key=lambda each: each.middle):
        row = rows[-1] if rows else []
        if row and abs(one.middle - median(each.middle for each in row)) < 0.5 * min(one.height, row[-1].height):
            row.append(one)
        else:
            rows.append([one])
    for row in rows:
        row.sort(key=lambda each: each.left)
    return rows


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
    rows = _rows(placed)
    words = sum(any(not _FIGURE.fullmatch(one.seen.text) for one in row) for row in rows)
    return words >= SIDE_BY_SIDE_LINES and 2 * words > len(rows)


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
