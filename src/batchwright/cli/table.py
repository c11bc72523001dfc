"""Tables for the terminal, with one way to draw an estimate everywhere.

A thin line is what is sure, a bar what is likely, a dot the likeliest; all rows of a column share one axis, so that
bars compare by eye. Digits are those that the range deserves and no more.
"""

from __future__ import annotations

import shutil
import sys
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from batchwright.base.estimate import Estimate
from batchwright.base.shown import (
    nice_axis_max,
    shown_number,
    shown_range,
    shown_sure_range,
)

NARROWEST_BAR = 12  # columns; below this a bar says nothing and is left out
WIDEST_BAR = 44
GAP = "  "


@dataclass(frozen=True, slots=True)
class Marks:
    """The characters an estimate is drawn with."""

    sure: str
    sure_left: str
    sure_right: str
    likely: str
    likeliest: str
    dash: str
    cut: str


DRAWN = Marks("─", "├", "┤", "━", "●", "–", "…")
PLAIN = Marks("-", "|", "|", "=", "o", "-", ".")


def marks() -> Marks:
    """Return the drawn marks where standard output can show them, else the plain ones."""
    try:
        "".join((DRAWN.sure, DRAWN.likely, DRAWN.likeliest, DRAWN.cut)).encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return PLAIN
    return DRAWN


def terminal_width() -> int:
    """Return how many columns the terminal has, 100 where nobody says; never under 40."""
    return max(40, shutil.get_terminal_size((100, 24)).columns)


def estimate_bar(estimate: Estimate, axis_max: float, width: int, with_marks: Marks = DRAWN) -> str:
    """Return an estimate drawn on an axis from 0 to `axis_max` [> 0], `width` [columns, >= 1] wide.

    What lies outside the axis is drawn at its end.
    """

    def column(value: float) -> int:
        return min(width - 1, max(0, int(value / axis_max * width)))

    cells = [" "] * width
    if estimate.sure_low is not None and estimate.sure_high is not None:
        left, right = column(estimate.sure_low), column(estimate.sure_high)
        cells[left : right + 1] = with_marks.sure * (right - left + 1)
        cells[left], cells[right] = with_marks.sure_left, with_marks.sure_right
    left, right = column(estimate.low), column(estimate.high)
    cells[left : right + 1] = with_marks.likely * (right - left + 1)
    cells[column(estimate.likely)] = with_marks.likeliest
    return "".join(cells)


def axis_rule(axis_max: float, width: int) -> str:
    """Return the ends and middle of an axis from 0 to `axis_max` [any unit] as a heading, `width` [columns, >= 1]."""
    if width < NARROWEST_BAR:
        return " " * width
    left, middle, right = "0", f"{axis_max / 2:g}", f"{axis_max:g}"
    cells = [" "] * width
    for text, start in ((left, 0), (middle, (width - len(middle)) // 2), (right, width - len(right))):
        cells[start : start + len(text)] = text
    return "".join(cells)


def shown_width(text: str) -> int:
    """Return how many columns a text takes: wide letters take two, marks above letters none."""
    return sum(
        0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        for letter in text
    )


def fitted(text: str, width: int, with_marks: Marks = DRAWN) -> str:
    """Return a text padded, or cut with a mark, to exactly `width` columns."""
    text = "".join(letter if letter.isprintable() else " " for letter in text)
    if shown_width(text) > width:
        while text and shown_width(text) > width - 1:
            text = text[:-1]
        text += with_marks.cut
    return text + " " * (width - shown_width(text))


def text_table(headings: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Return a table of texts, each column as wide as its widest cell; columns named in `right` end flush.

    Raises ValueError where a row has not as many cells as there are headings.
    """
    if any(len(row) != len(headings) for row in rows):
        raise ValueError(f"rows: allowed: {len(headings)} cells each")
    widths = [max(shown_width(line[place]) for line in (headings, *rows)) for place in range(len(headings))]
    lines = []
    for line in (headings, *rows):
        cells = [
            " " * (widths[place] - shown_width(cell)) + cell if place in right else fitted(cell, widths[place])
            for place, cell in enumerate(line)
        ]
        lines.append(GAP.join(cells).rstrip())
    return "\n".join(lines)


def estimate_table(
    rows: Sequence[tuple[str, Estimate | None]],
    axis_max: float | None = None,
    width: int | None = None,
    heading: str = "",
    unit: str = "%",
    notes: Sequence[str] = (),
) -> str:
    """Return named estimates as a table: likeliest, likely range, sure range, and the picture on one shared axis.

    rows: name (leading blanks indent it) and estimate, None for a heading among them. axis_max: end of the axis [unit
    of the estimates], by default the least round figure that holds them all. width: columns in all, by default the
    terminal's. notes: one text per row, printed under it, indented and wrapped ("" = none).
    Raises ValueError where `notes` are given but not one per row.
    """
    if notes and len(notes) != len(rows):
        raise ValueError(f"notes: got {len(notes)}; allowed: {len(rows)}, one per row")
    drawn = marks()
    width = terminal_width() if width is None else width
    axis_max = nice_axis_max(_largest([estimate for _, estimate in rows if estimate])) if axis_max is None else axis_max
    cells = [(name, *_figures(estimate, drawn)) for name, estimate in rows]
    headings = (heading, f"likeliest {unit}".strip(), "likely", "sure")
    figure_widths = [max(shown_width(line[place]) for line in (headings, *cells)) for place in (1, 2, 3)]
    taken = sum(figure_widths) + len(GAP) * 3
    longest = max([shown_width(heading), *(shown_width(name) for name, estimate in rows if estimate)])
    name_width, bar_width = _widths(longest, width - taken)
    lines = [_line(headings, axis_rule(axis_max, max(bar_width, 1)), name_width, figure_widths, bar_width, drawn)]
    for place, (_, estimate) in enumerate(rows):
        if estimate is None:
            lines.append(rows[place][0])
        else:
            bar = estimate_bar(estimate, axis_max, max(bar_width, 1), drawn)
            lines.append(_line(cells[place], bar, name_width, figure_widths, bar_width, drawn))
        lines += _wrapped(notes[place], width) if notes else []
    return "\n".join(lines)


def legend() -> str:
    """Return one line that says what line, bar and dot mean."""
    drawn = marks()
    return (
        f"{drawn.sure_left}{drawn.sure * 2}{drawn.sure_right} sure    {drawn.likely * 3} likely (90 %)    "
        f"{drawn.likeliest} likeliest"
    )


def _largest(estimates: Sequence[Estimate]) -> float:
    ends = [max(estimate.high, estimate.sure_high or 0.0) for estimate in estimates]
    return max(ends, default=1.0)


def _widths(longest: int, room: int) -> tuple[int, int]:
    """Share the columns that the figures leave between names and bar; too few for both: no bar."""
    name_width = min(longest, room - NARROWEST_BAR - len(GAP), max(24, room // 2))
    if name_width >= min(longest, 14):
        return name_width, min(WIDEST_BAR, room - name_width - len(GAP))
    return max(4, min(longest, room)), 0


def _figures(estimate: Estimate | None, drawn: Marks) -> tuple[str, str, str]:
    if estimate is None:
        return "", "", ""
    likely = shown_range(estimate.low, estimate.high, drawn.dash)
    sure = ""
    if estimate.sure_low is not None and estimate.sure_high is not None:
        sure = shown_sure_range(estimate.sure_low, estimate.sure_high, drawn.dash)
    return shown_number(estimate.likely, estimate.high - estimate.low), likely, sure


def _line(
    cells: tuple[str, ...], bar: str, name_width: int, figure_widths: Sequence[int], bar_width: int, drawn: Marks
) -> str:
    figures = [cell.rjust(figure_width) for cell, figure_width in zip(cells[1:], figure_widths, strict=True)]
    parts = [fitted(cells[0], name_width, drawn), *figures]
    if bar_width >= NARROWEST_BAR:
        parts.append(bar)
    return GAP.join(parts).rstrip()


def _wrapped(note: str, width: int) -> list[str]:
    import textwrap  # brings re; only a table with notes needs it

    return textwrap.wrap(note, max(20, width), initial_indent="    ", subsequent_indent="    ") if note else []
