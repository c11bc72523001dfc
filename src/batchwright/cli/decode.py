"""`batchwright decode`: a label and whatever was weighed in, what the food is made of out."""

from __future__ import annotations

import argparse

from batchwright.actions.original import decode_file
from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.cli.table import estimate_table, legend, shown_number, shown_range, text_table
from batchwright.cli.terminal import given_text, print_json
from batchwright.original.records import Answer, Share

LONGEST_PIN = 3  # label lines named per ingredient in the table; --json names all


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `decode` takes."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="label file (TOML) or label text; - = standard input")
    parser.add_argument("--parts", action="store_true", help="one table for each part of the food")
    parser.add_argument("--mix", metavar="AMOUNT", default="", help="scale the formula: 300g-flour or 40-pieces")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    parser.add_argument("--batch", metavar="IN.jsonl", help="many labels, one JSON object a line")
    parser.add_argument("--out", metavar="OUT.jsonl", help="where --batch writes its answers")
    parser.add_argument("--workers", metavar="N", type=int, default=None, help="processes for --batch (all cores)")
    parser.add_argument("--cluster", metavar="ADDRESS", default=None, help="a Dask scheduler to take the --batch work")
    parser.add_argument("--without", metavar="FAMILIES", default=None, help="families left out of the bank of formulas")


def run(args: argparse.Namespace) -> int:
    """Decode one label, or a file of them; return 0."""
    if args.batch:
        return run_batch(args)
    if not args.file:
        raise InputError([Fault("FILE", None, "a file, - or --batch", "Try: batchwright decode food.toml")])
    answer = decode_file(given_text(args.file), args.mix)
    if args.json:
        print_json(answer.to_json())
    else:
        print(answer_text(answer, args.parts))
    return 0


def run_batch(args: argparse.Namespace) -> int:
    """Hand a file of labels to the batch; every line gets its answer."""
    from batchwright.actions.batch import decode_batch  # worker processes: only where asked for

    if not args.out:
        raise InputError([Fault("--out", None, "a file for the answers", "Try: --batch IN.jsonl --out OUT.jsonl")])
    return int(decode_batch(args.batch, args.out, workers=args.workers, cluster=args.cluster, without=args.without))


def answer_text(answer: Answer, by_part: bool = False) -> str:
    """Return the answer as a cook reads it: verdict, table with bars, ratios, formula, what to measure next."""
    blocks: list[str] = [answer.name] if answer.name else []
    if not answer.consistent:
        blocks.append(_conflict_text(answer))
    blocks.append(_tables(answer, by_part))
    beside: list[tuple[str, Estimate | None]] = [("bake loss", answer.bake_loss_percent)]
    if answer.dough_water_percent.high > 0:
        beside.append(("dough water (usual)", answer.dough_water_percent))
    beside += [(f"part: {part.name}", part.estimate) for part in answer.parts]
    blocks.append(estimate_table(beside, heading="of the listed mass / the piece"))
    if answer.ratios:
        rows = [(ratio.name, _ratio_text(ratio.estimate)) for ratio in answer.ratios]
        blocks.append(text_table(("ratio", "likeliest (likely range)"), rows))
    blocks.append(_formula_text(answer))
    if answer.narrow_next:
        steps = [(one.measure, f"{one.width_now:.1f}", f"{one.width_expected:.1f}") for one in answer.narrow_next]
        blocks.append(text_table(("what would narrow it most", "width now", "to expect"), steps, right=(1, 2)))
    if answer.repairs:
        mended = [f"  {repair['kind']}: {repair['before']!r} read as {repair['after']!r}" for repair in answer.repairs]
        blocks.append("mended while reading\n" + "\n".join(mended[:12]))
    if answer.notes:
        blocks.append("notes\n" + "\n".join(f"  {note}" for note in answer.notes))
    return "\n\n".join(blocks)


def _conflict_text(answer: Answer) -> str:
    """Return the contradiction in words."""
    said = ["NOTHING FITS EVERY LINE OF THIS LABEL. What follows is the nearest answer."]
    for conflict in answer.conflicts:
        said += [f"  contradict each other: {'; '.join(conflict.lines)}", f"  re-check: {conflict.check}"]
    return "\n".join(said)


def _tables(answer: Answer, by_part: bool) -> str:
    """Return the shares as added: one table, or one for each part."""
    parts = list(dict.fromkeys(share.part for share in answer.ingredients))
    if not by_part or len(parts) < 2:
        shown = [("", list(answer.items if len(parts) > 1 else answer.ingredients))]
    else:
        shown = [(part, [share for share in answer.ingredients if share.part == part]) for part in parts]
    tables = []
    for part, shares in shown:
        rows = [(_indented(share), share.added_percent) for share in shares]
        notes = [_pinned(share) for share in shares]
        tables.append(estimate_table(rows, heading=part or "as added", notes=notes))
    return "\n\n".join([*tables, legend()])


def _indented(share: Share) -> str:
    """Return a name set in by its depth in the list."""
    how = {"class": " (kind only)", "unknown": " (unknown)"}.get(share.match, "")
    return "  " * (len(share.path) - 1) + share.name + how


def _pinned(share: Share) -> str:
    """Return which lines pin an ingredient, or that none does."""
    if share.part == "whole" and not share.pinned_by:
        return ""
    if share.cannot_tell:
        return "cannot tell: no label line pins it"
    found = []
    for side, word in (("low", "at least by"), ("high", "at most by")):
        lines = [pin.line for pin in share.pinned_by if pin.side == side]
        order = [line for line in lines if line.startswith("order: ")]
        rest = [line for line in lines if line not in order]
        shown = rest[:LONGEST_PIN] + (order if len(order) == 1 else ["the order of the list"] if order else [])
        if len(rest) > LONGEST_PIN:
            shown.append(f"{len(rest) - LONGEST_PIN} more")
        if shown:
            found.append(f"{word} {', '.join(shown)}")
    return "; ".join(found)


def _ratio_text(estimate: Estimate) -> str:
    """Return a ratio with its likely range."""
    width = estimate.high - estimate.low
    return f"{shown_number(estimate.likely, width)} ({shown_range(estimate.low, estimate.high)})"


def _formula_text(answer: Answer) -> str:
    """Return the formula ready to mix, part by part, with its sum."""
    rows = []
    several = len({line.part for line in answer.one_formula}) > 1
    for line in answer.one_formula:
        rows.append((f"{line.part}: {line.name}" if several else line.name, f"{line.grams:.1f}"))
    rows.append(("all together", f"{sum(line.grams for line in answer.one_formula):.1f}"))
    return text_table((f"one formula that fits, for {answer.mix}", "g"), rows, right=(1,))
