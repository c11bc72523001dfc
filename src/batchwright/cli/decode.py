"""`batchwright decode`: a label and whatever was weighed in, what the food is made of out."""

from __future__ import annotations

import argparse
import textwrap

from batchwright.actions.original import decode_file
from batchwright.actions.original_words import is_set_trace, pin_words, sentence
from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.shown import nice_axis_max, shown_number, shown_range
from batchwright.cli.table import estimate_table, legend, terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json
from batchwright.original.records import Answer, Share


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `decode` takes."""
    parser.add_argument("file", metavar="FILE", nargs="?", help="label file (TOML) or label text; - = standard input")
    parser.add_argument("--parts", action="store_true", help="one table for each part of the food")
    parser.add_argument("--why", action="store_true", help="name every label line that holds an end of a range")
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
        print(answer_text(answer, args.parts, args.why))
    return 0


def run_batch(args: argparse.Namespace) -> int:
    """Hand a file of labels to the batch; every line gets its answer."""
    from batchwright.actions.batch import decode_batch  # worker processes: only where asked for

    if not args.out:
        raise InputError([Fault("--out", None, "a file for the answers", "Try: --batch IN.jsonl --out OUT.jsonl")])
    return int(decode_batch(args.batch, args.out, workers=args.workers, cluster=args.cluster, without=args.without))


def answer_text(answer: Answer, by_part: bool = False, every_line: bool = False) -> str:
    """Return the answer as a cook reads it: in a sentence, the table with bars, ratios, formula, what to measure next.

    by_part: one table for each part. every_line: name every label line that holds an end, not the first few.
    """
    blocks: list[str] = [answer.name] if answer.name else []
    if answer.conflicts or not answer.consistent:
        blocks.append(_conflict_text(answer))
    blocks.append(_wrapped(sentence(answer)))
    blocks.append(_tables(answer, by_part, every_line))
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


def _wrapped(text: str) -> str:
    return textwrap.fill(text, terminal_width())


def _conflict_text(answer: Answer) -> str:
    """Return the contradiction, or what is possible but improbable, in words."""
    if answer.consistent:
        said = ["LOOK AT THIS LABEL AGAIN. What follows takes it as it is printed."]
        for conflict in answer.conflicts:
            said += [f"  {conflict.check}", f"  printed: {'; '.join(conflict.lines)}"]
        return "\n".join(said)
    said = ["NOTHING FITS EVERY LINE OF THIS LABEL. What follows is the nearest answer."]
    for conflict in answer.conflicts:
        said += [f"  contradict each other: {'; '.join(conflict.lines)}", f"  re-check: {conflict.check}"]
    return "\n".join(said)


def _tables(answer: Answer, by_part: bool, every_line: bool) -> str:
    """Return the shares as added on one axis: one table, or one for each part."""
    parts = list(dict.fromkeys(share.part for share in answer.ingredients))
    ranges = [share.added_percent for share in answer.ingredients]
    axis = nice_axis_max(max([max(one.high, one.sure_high or 0.0) for one in ranges], default=1.0))
    tables = []
    for chosen in [[part] for part in parts] if by_part else [parts]:
        traces = [one.name for one in answer.ingredients if one.part in chosen and is_set_trace(one)]
        rows: list[tuple[str, Estimate | None]] = []
        notes: list[str] = []
        for part in chosen:
            if len(chosen) > 1:
                rows.append((part, None))
                notes.append("")
            shares = [one for one in answer.ingredients if one.part == part and not is_set_trace(one)]
            rows += [(_indented(one), one.added_percent) for one in shares]
            notes += [pin_words(one, every_line) for one in shares]
        table = estimate_table(rows, axis, heading=chosen[0] if by_part else "as added", notes=notes)
        if traces:
            table += "\n" + _wrapped(f"traces set by a standard: {', '.join(traces)}")
        tables.append(table)
    return "\n\n".join([*tables, legend()])


def _indented(share: Share) -> str:
    """Return a name set in by its depth in the list."""
    how = {"class": " (kind only)", "unknown": " (unknown)"}.get(share.match, "")
    return "  " * (len(share.path) - 1) + share.name + how


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
