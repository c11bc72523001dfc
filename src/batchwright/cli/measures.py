"""`batchwright measures`: a formula in grams written back in cups, spoons, sticks and eggs."""

from __future__ import annotations

import argparse
import textwrap

from batchwright.actions.measures import measures_text
from batchwright.cli.table import terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json
from batchwright.formula.kitchen.records import UNITS, UNKNOWN, Writing, WrittenLine


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `measures` takes."""
    parser.add_argument("file", metavar="FORMULA", help="a recipe or formula; - reads standard input")
    parser.add_argument("--convention", metavar="NAME", default="",
                        help='whose cup: "spooned", "dip and sweep", "128 g" (as the recipe was weighed)')  # fmt: skip
    parser.add_argument("--rescale", metavar="PERCENT", type=float, default=10.0,
                        help="how far the whole batch may grow or shrink for simpler measures (10)")  # fmt: skip
    parser.add_argument("--units", choices=UNITS, default="us", help="cups and spoons, or grams (us)")
    parser.add_argument("--any-eggs", action="store_true", help="eggs may be of another size than the recipe's")
    parser.add_argument("--json", action="store_true", help="print the writing as JSON")


def run(args: argparse.Namespace) -> int:
    """Write one formula in kitchen measures; return 0."""
    writing = measures_text(given_text(args.file), args.convention, args.rescale, args.units, args.any_eggs)
    print_json(writing.to_json()) if args.json else print(writing_text(writing))
    return 0


def writing_text(writing: Writing) -> str:
    """Return a writing as a cook reads it: the sentence, the table, what must be weighed and why, the notes."""
    width = terminal_width()
    blocks = [textwrap.fill(sentence(writing), width), table(writing)]
    marked = [line for line in writing.lines if line.why]
    if marked:
        lines = [f"{named(line, writing)}: {line.why}." for line in marked]
        lines = [textwrap.fill(each, width, initial_indent="  ", subsequent_indent="    ") for each in lines]
        blocks.append("\n".join(("Marked lines", *lines)))
    blocks += [textwrap.fill(note, width) for note in writing.notes]
    return "\n\n".join(blocks)


def sentence(writing: Writing) -> str:
    """Return the answer in one or two plain sentences."""
    whose = f" with {writing.convention_text}" if writing.convention_text else ""
    size = f" for {100 * writing.factor:.3g} % of the batch" if writing.notes else ""
    moves = [(abs(line.shift_percent), named(line, writing)) for line in writing.lines
             if line.text and line.shift_percent]  # fmt: skip
    said = f"Written{size}{whose}."
    most, item = max(moves, default=(0.0, ""))
    if most >= 0.05:
        said += f" The percentage that moves most is that of {item}, by {most:.1f} % of itself."
    weigh = [named(line, writing) for line in writing.lines if line.weigh_it]
    unknown = [named(line, writing) for line in writing.lines if UNKNOWN in line.why]
    if unknown:
        said += f" Without an amount: {', '.join(unknown)}."
    return f"{said} Weigh: {', '.join(weigh)}." if weigh else f"{said} Nothing need be weighed."


def named(line: WrittenLine, writing: Writing) -> str:
    """Return a line's item, with its part where another part has the same."""
    twice = sum(other.item == line.item for other in writing.lines) > 1
    return f"{line.item} ({line.part})" if twice and line.part else line.item


def table(writing: Writing) -> str:
    """Return the table: line, grams, writing, percentage before and after, how far it moved, the mark."""
    of = "flour" if writing.percent_of == "flour" else "all"
    headings = ("", "grams", "writing", f"% of {of}", "after", "moved", "")
    parts = list(dict.fromkeys(line.part for line in writing.lines))
    rows: list[tuple[str, ...]] = []
    for part in parts:
        if len(parts) > 1:
            rows.append((part or "Recipe", *[""] * 6))
        rows += [row(line, "  " if len(parts) > 1 else "") for line in writing.lines if line.part == part]
    return text_table(headings, rows, right=(1, 3, 4, 5))


def row(line: WrittenLine, indent: str) -> tuple[str, ...]:
    """Return a line's cells; `indent` is put before its name."""
    shift = line.shift_percent
    return (
        indent + " ".join(word for word in (line.filling, line.item) if word),
        grams(line.grams if line.text else line.wanted_g),
        line.text or in_place(line),
        digits(line.percent_before),
        digits(line.percent_after),
        "" if shift is None else f"{shift:+.1f} %" if abs(shift) >= 0.05 else "0",
        "weigh" if line.weigh_it else "",
    )


def in_place(line: WrittenLine) -> str:
    """Return what stands where a line has no writing."""
    if line.grams is not None:
        return "on the scale"
    return "not known" if UNKNOWN in line.why else "as you like"


def grams(mass_g: float | None) -> str:
    """Return a mass [g] as a kitchen scale shows it: whole grams from 10 g on, tenths below, hundredths below 1 g."""
    if mass_g is None:
        return ""
    return f"{mass_g:.0f}" if mass_g >= 10 else f"{mass_g:.1f}" if mass_g >= 1 else f"{mass_g:.2f}"


def digits(percent: float | None) -> str:
    """Return a `percent` [%] with three digits."""
    if percent is None:
        return ""
    return f"{percent:.0f}" if percent >= 100 else f"{percent:.1f}" if percent >= 10 else f"{percent:.2f}"
