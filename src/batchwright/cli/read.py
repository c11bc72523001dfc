"""`batchwright read`: label text in, the ingredients as a tree, the panel and every repair out."""

from __future__ import annotations

import argparse
import sys
import time
from typing import Any

from batchwright.actions.read import LabelReading, read_label, read_statements
from batchwright.base.errors import Fault, InputError
from batchwright.cli.batch_files import records_in, write_answers
from batchwright.cli.table import text_table
from batchwright.cli.terminal import given_text, print_json
from batchwright.original.panels.records import Panel
from batchwright.original.statements.records import Item

MATCHED = {
    "name": "",
    "synonym": "",
    "stripped": "words that change nothing left out",
    "head": "by its head noun",
    "spelling": "spelling mended",
    "class": "only its kind is known",
    "unknown": "not known",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `read` takes."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="label text; - reads standard input")
    parser.add_argument("--json", action="store_true", help="print the reading as JSON")
    parser.add_argument("--batch", metavar="IN.jsonl", help='many statements: {"id": ..., "statement": "..."} a line')
    parser.add_argument("--out", metavar="OUT.jsonl", default="-", help="where --batch writes its answers")


def run(args: argparse.Namespace) -> int:
    """Read one label, or a file of statements; return 0."""
    if args.batch:
        return run_batch(args.batch, args.out)
    if not args.file:
        raise InputError([Fault("FILE", None, "a file, - or --batch", "Try: batchwright read label.txt")])
    reading = read_label(given_text(args.file))
    if args.json:
        print_json(reading.to_json())
    else:
        print(reading_text(reading))
    return 0


def run_batch(source: str, out: str) -> int:
    """Read a file of statements line by line; say how many there were on standard error."""
    begin = time.perf_counter()
    count, errors = write_answers(read_statements(records_in(source)), out)
    seconds = time.perf_counter() - begin
    print(f"{count} statements read in {seconds:.1f} s, {errors} with an error", file=sys.stderr)
    return 0


def reading_text(reading: LabelReading) -> str:
    """Return a reading as a cook reads it: tree with matches, trailers, panel, repairs."""
    matches = {id(leaf.item): found for leaf, found in reading.leaves}
    rows = [row for item in reading.statement.ingredients for row in item_rows(item, matches, 0)]
    headings = ("ingredient", "label says", "on the shelf", "")
    blocks = [text_table(headings, rows) if rows else "No ingredient list found."]
    for word, listed in (("Contains", reading.statement.contains), ("May contain", reading.statement.may_contain)):
        if listed:
            blocks.append(f"{word}: {', '.join(listed)}. Read the pack; this list clears nothing.")
    blocks += [f"{note.mark} {note.text}" for note in reading.statement.notes]
    blocks += [panel_text(panel) for panel in reading.panels]
    repairs = reading.statement.repairs
    if repairs:
        lines = [f"  {repair.kind}: {repair.before!r} read as {repair.after!r}" for repair in repairs]
        blocks.append("\n".join((f"Mended while reading ({len(repairs)}):", *lines)))
    return "\n\n".join(blocks)


def item_rows(item: Item, matches: dict[int, Any], depth: int) -> list[tuple[str, str, str, str]]:
    """Return the table rows of an item and all below it, indented by depth."""
    found = matches.get(id(item))
    shelf, how = "", ""
    if found is not None:
        shelf = found.ingredient or (f"any {found.ingredient_class}" if found.ingredient_class else "?")
        how = found.note or MATCHED[found.how]
    rows = [("  " * depth + item.name, said(item), shelf, how)]
    for child in item.children:
        rows += item_rows(child, matches, depth + 1)
    return rows


def said(item: Item) -> str:
    """Return in few words what the label says of an item beside its name."""
    words = []
    if item.percent is not None:
        words.append(f"{item.percent:g} %" + (" of its part" if item.percent_basis == "component" else ""))
    if item.percent_min is not None:
        words.append(f"at least {item.percent_min:g} %")
    if item.max_percent is not None:
        words.append(("under" if item.strict_max else "at most") + f" {item.max_percent:g} %")
    if item.one_of:
        words.append("one or more of")
    words += [word for word in (item.role, item.e_number, item.process, item.source) if word]
    return ", ".join(words)


def panel_text(panel: Panel) -> str:
    """Return a panel as a table: what is printed, and the true amounts that may stand behind it."""
    rows = [
        (figure.line, f"{figure.low:.4g} to {figure.high:.4g}", "" if figure.lawful else "on no lawful step")
        for figure in panel.figures
    ]
    scheme = f", {panel.scheme} rounding" if panel.scheme else ""
    serving = f" of {panel.serving_g:g} g" if panel.serving_g else ""
    lines = [text_table((f"panel {panel.basis}{serving}{scheme}", "true amount", ""), rows)]
    lines += [f"  {fault}" for fault in panel.faults] + [f"  {note}" for note in panel.notes]
    return "\n".join(lines)
