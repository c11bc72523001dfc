"""`batchwright weigh`: any recipe to grams, every line with its range, percent of flour and what was assumed."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator, Sequence

from batchwright.actions.formula import Weighing, weigh_lines, weigh_text
from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.shown import shown_number, shown_range
from batchwright.cli.table import terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json, speaks_unicode
from batchwright.formula.records import Line

MARKED_BY = "by convention"
MARK = "*"
WIDEST_ITEM = 44
ENDS_ESCAPED = {0x85: "\\u0085", 0x2028: "\\u2028", 0x2029: "\\u2029"}
"""Marks that some readers take for the end of a line, as JSON writes them in letters."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `weigh` takes."""
    parser.add_argument("file", metavar="FILE", nargs="?",
                        help="a recipe: pasted text, a saved page, JSON or TOML; - reads standard input")  # fmt: skip
    parser.add_argument("--lines", metavar="FILE", help="unrelated ingredient lines, one each; - reads standard input")
    parser.add_argument("--convention", metavar="WORDS", default="",
                        help='how cups are filled and whose they are: "dip and sweep", spooned, sifted, scooped, '
                             '"128 g", "metric cup", UK, AU; two with a comma')  # fmt: skip
    parser.add_argument("--count", metavar="WHAT", action="append", default=[],
                        help="counts as flour too, such as cocoa or starch; may be given again")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print JSON; with --lines one object a line")


def run(args: argparse.Namespace) -> int:
    """Weigh a recipe or a list of lines; return 0."""
    if args.lines and args.file:
        raise InputError([Fault("FILE", args.file, "a recipe or --lines, not both")])
    if args.lines:
        lines = weigh_lines(given_text(args.lines), args.convention)
        if args.json:
            write_json_lines(lines)
        else:
            print(lines_text(lines))
        return 0
    if not args.file:
        raise InputError([Fault("FILE", None, "a file, - or --lines", "Try: batchwright weigh recipe.txt")])
    weighing = weigh_text(given_text(args.file), args.convention, tuple(args.count))
    if args.json:
        print_json(weighing.to_json())
    else:
        print(weighing_text(weighing))
    return 0


def write_json_lines(lines: tuple[Line, ...]) -> None:
    """Write each line as one JSON object on a line of its own."""
    plain = not speaks_unicode()
    for line in lines:
        text = json.dumps(line.to_json(), ensure_ascii=plain, allow_nan=False)
        sys.stdout.write(text.translate(ENDS_ESCAPED) + "\n")


def every_line(lines: tuple[Line, ...], depth: int = 0) -> Iterator[tuple[Line, int]]:
    """Give lines and the further ingredients within them, with their depth, in the order of `flat_lines`."""
    for line in lines:
        yield line, depth
        yield from every_line(line.also, depth + 1)


def weighing_text(weighing: Weighing) -> str:
    """Return a recipe in grams as a cook reads it: the answer in a sentence, a table a part, notes, what is unread."""
    formula, width = weighing.formula, terminal_width()
    blocks = [formula.name] if formula.name else []
    blocks.append(textwrap.fill(opening(weighing), width))
    floury = weighing.flour.likely > 0
    place = 0
    for part in formula.parts:
        rows, notes = [], []
        for line, depth in every_line(part.lines):
            percent = weighing.percents.get(place)
            place += 1
            share = None if percent is None else percent.bakers_percent if floury else percent.total_percent
            rows.append((*grams_cells(line, depth), shown(share)))
            notes.append(line.assumptions)
        heading = part.name or "ingredient"
        blocks.append(table_with_notes((heading, "g", "likely", "of flour %" if floury else "of all %"), rows, notes))
    if formula.notes:
        blocks.append("\n".join(textwrap.fill(note, width) for note in formula.notes))
    if formula.unread:
        blocks.append("\n".join(("Not read, kept as it stands:", *(f"  {line}" for line in formula.unread))))
    return "\n\n".join(blocks)


def opening(weighing: Weighing) -> str:
    """Return the answer in a sentence: total, flour, whose cup, how many lines carry a mark."""
    lines = [line for part in weighing.formula.parts for line, _ in every_line(part.lines)]
    marked = sum(1 for line in lines if is_marked(line))
    without = sum(1 for line in lines if line.grams is None and line.item)
    words = f"{spoken(weighing.total)} in all"
    if weighing.flour.likely > 0:
        words += f", {spoken(weighing.flour)} of it flour"
    words += f"; cups: {weighing.formula.convention or 'US cup'}."
    if marked:
        words += f" {MARK} {marked} line{'s' if marked > 1 else ''} moved by more than 3 % by how the cup is filled."
    if without:
        words += f" {without} line{'s' if without > 1 else ''} without grams."
    return words


def spoken(estimate: Estimate) -> str:
    """Return grams in words: likeliest and range."""
    if estimate.high - estimate.low < 0.5:
        return f"{estimate.likely:.0f} g"
    return f"{estimate.likely:.0f} g (likely {shown_range(estimate.low, estimate.high, '-')})"


def shown(estimate: Estimate | None) -> str:
    """Return the likeliest figure with the digits its range deserves; empty for none."""
    if estimate is None:
        return ""
    width = estimate.high - estimate.low
    return f"{estimate.likely:.4g}" if width < 1e-9 else shown_number(estimate.likely, width)


def is_marked(line: Line) -> bool:
    """Whether the choice of convention moves a line by more than 3 %."""
    return MARKED_BY in line.marks


def grams_cells(line: Line, depth: int = 0) -> tuple[str, str, str]:
    """Return text, grams with the mark, and likely range of a line."""
    text = "  " * depth + (line.text if not depth else line.item or line.text)
    text = text if len(text) <= WIDEST_ITEM else text[: WIDEST_ITEM - 3] + "..."
    if line.grams is None:
        return text, "-", ""
    mark = MARK if is_marked(line) else " "
    exact = line.grams.high - line.grams.low < 1e-9
    return text, shown(line.grams) + mark, "" if exact else shown_range(line.grams.low, line.grams.high, "-")


def lines_text(lines: tuple[Line, ...]) -> str:
    """Return lines that have nothing to do with one another in grams, with what was assumed."""
    rows, notes = [], []
    for line, depth in every_line(lines):
        rows.append((*grams_cells(line, depth), line.ingredient or "not on the shelf"))
        notes.append(line.assumptions)
    return table_with_notes(("line", "g", "likely", "on the shelf"), rows, notes)


def table_with_notes(
    headings: tuple[str, ...], rows: Sequence[tuple[str, ...]], notes: Sequence[tuple[str, ...]]
) -> str:
    """Return a table with the words said of each row wrapped under it."""
    table = text_table(headings, rows, right=(1, 2, 3) if headings[3].endswith("%") else (1, 2)).split("\n")
    width = terminal_width()
    lines = [table[0]]
    for row, said in zip(table[1:], notes, strict=True):
        lines.append(row)
        if said:
            lines += textwrap.wrap("; ".join(said), width, initial_indent="    ", subsequent_indent="    ")
    return "\n".join(lines)
