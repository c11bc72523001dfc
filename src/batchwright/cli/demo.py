"""`batchwright demo`: an invented food, what its label gives away, and how near that comes to its true formula."""

from __future__ import annotations

import argparse
import textwrap

from batchwright.actions.demo import Demonstration, demo_text, demonstrate
from batchwright.cli.decode import answer_text
from batchwright.cli.table import shown_range, shown_sure_range, terminal_width, text_table
from batchwright.cli.terminal import print_json


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `demo` takes."""
    parser.add_argument("--json", action="store_true", help="print label, answer and truth as JSON")
    parser.add_argument("--show", action="store_true", help="print the label file of the demo, to copy and change")


def run(args: argparse.Namespace) -> int:
    """Decode the invented food and print the answer beside the truth; return 0."""
    if args.show:
        print(demo_text("ferry_boats.toml"), end="")
        return 0
    shown = demonstrate()
    if args.json:
        print_json(shown.to_json())
    else:
        print("\n\n".join((packet_text(shown), answer_text(shown.answer, by_part=True), truth_text(shown))))
    return 0


def packet_text(shown: Demonstration) -> str:
    """Return what the packet says, as entered."""
    width = terminal_width()
    text = textwrap.fill(" ".join(shown.label.text.split()), width)
    panels = []
    for panel in shown.label.panels:
        figures = ", ".join(f"{key} {value}" for key, value in panel.items() if key not in ("scheme", "basis"))
        panels.append(textwrap.fill(f"Panel: {figures}", width, subsequent_indent="       "))
    return "\n\n".join((f"An invented food, {shown.label.name}. Its packet says:", text, "\n".join(panels)))


def truth_text(shown: Demonstration) -> str:
    """Return each true share beside the ranges, and how many of them each kind of range holds."""
    rows = []
    for truth in shown.truths:
        name = f"{truth.name}, {truth.part}" if truth.part else truth.name
        if truth.estimate is None:
            rows.append((name, f"{truth.true_percent:.2f}", "not answered", "", ""))
            continue
        likely, sure_low, sure_high = truth.estimate, truth.estimate.sure_low, truth.estimate.sure_high
        sure = "" if sure_low is None or sure_high is None else shown_sure_range(sure_low, sure_high)
        verdict = "likely" if truth.within_likely else "sure" if truth.within_sure else "outside"
        rows.append((name, f"{truth.true_percent:.2f}", shown_range(likely.low, likely.high), sure, verdict))
    likely_count = sum(truth.within_likely for truth in shown.truths)
    sure_count = sum(truth.within_sure for truth in shown.truths)
    headings = ("held to its true formula, % as added", "true", "likely", "sure", "holds")
    table = text_table(headings, rows, right=(1, 2, 3))
    total = len(shown.truths)
    return f"{table}\n\nOf {total} true figures the likely ranges hold {likely_count}, the sure ranges {sure_count}."
