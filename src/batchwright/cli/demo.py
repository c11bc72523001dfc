"""`batchwright demo`: an invented food, from its packet to a recipe card, and how near decoding comes to the truth."""

from __future__ import annotations

import argparse
import sys
import textwrap

from batchwright.actions.demo import Demonstration, Rebuilt, demo_text, demonstrate, rebuild_demo
from batchwright.actions.writeup import written_card
from batchwright.base.shown import shown_range, shown_sure_range
from batchwright.cli.compare import comparison_text
from batchwright.cli.decode import answer_text
from batchwright.cli.fit import fitted_text
from batchwright.cli.table import terminal_width, text_table
from batchwright.cli.terminal import print_json
from batchwright.cli.weigh import weighing_text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `demo` takes."""
    parser.add_argument("--json", action="store_true", help="print every step as JSON")
    parser.add_argument("--packet", action="store_true", help="stop at what the packet gives away, and the truth")
    parser.add_argument("--book", action="store_true", help="show it in a browser, as a book of its own, until Ctrl-C")
    parser.add_argument("--show", action="store_true", help="print the label file of the demo, to copy and change")


def run(args: argparse.Namespace) -> int:
    """Go the way from packet to card and print each step; return 0."""
    if args.show:
        print(demo_text("ferry_boats.toml"), end="")
        return 0
    if args.packet:
        shown = demonstrate()
        if args.json:
            print_json(shown.to_json())
        else:
            print(packet_steps(shown))
        return 0
    if args.book:
        return run_with_book()
    print_way(args.json)
    return 0


def run_with_book() -> int:
    """Show the demonstration's book in a browser; without one, or without a terminal, go the way in words first."""
    from batchwright.cli.demo_book import has_browser, show_demo_book  # the web server is heavy: only when asked for

    if not (sys.stdout.isatty() and has_browser()):
        print_way(as_json=False)
    return show_demo_book()


def print_way(as_json: bool) -> None:
    """Print the whole way from packet to card."""
    whole = rebuild_demo()
    if as_json:
        print_json(whole.to_json())
    else:
        print(packet_steps(whole.packet) + "\n\n" + recipe_steps(whole), flush=True)


def packet_steps(shown: Demonstration) -> str:
    """Return the first steps in words: the packet, what it is made of, and the truth."""
    return "\n\n".join((headed("The packet"), packet_text(shown), headed("What it is made of"),
                        answer_text(shown.answer, by_part=True), headed("Held to the truth"),
                        truth_text(shown)))  # fmt: skip


def recipe_steps(whole: Rebuilt) -> str:
    """Return the further steps in words: recipes in grams, beside the original, the nearest fitted, its card."""
    weighed = [weighing_text(recipe) for recipe in whole.recipes]
    return "\n\n".join((headed("Three recipes in grams"), *weighed, headed("Beside the original"),
                        comparison_text(whole.compared), headed("The nearest, fitted"), fitted_text(whole.fitted),
                        headed("The card"), written_card(whole.card, "text")))  # fmt: skip


def headed(title: str) -> str:
    """Return the heading of a step."""
    return f"== {title} =="


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
