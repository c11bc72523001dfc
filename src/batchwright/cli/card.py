"""`batchwright card`: the recipe card a stranger cooks from, as text, Markdown, a page to print, schema.org data."""

from __future__ import annotations

import argparse
import sys

from batchwright.actions.writeup import make_card, written_card
from batchwright.base.errors import Fault, InputError
from batchwright.cli.terminal import given_text, print_json, speaks_unicode
from batchwright.writeup.records import FORMS, UNITS


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the recipe, its method and the form of the card."""
    parser.add_argument("recipe", metavar="RECIPE", help="a recipe: text, web page, JSON or TOML; - reads one")
    parser.add_argument("--method", metavar="FILE", default="", help="the steps, where not those of the recipe")
    parser.add_argument("--form", choices=FORMS, default="text", help="how the card is written (text)")
    parser.add_argument("--units", choices=UNITS, default="both", help="kitchen measures, grams, or both (both)")
    parser.add_argument("--convention", metavar="NAME", default="", help="whose cup: 120, 142, dip, spooned ...")
    parser.add_argument("--credit", metavar="TEXT", default="", help="the base recipe that is to be named")
    parser.add_argument("--confirmed-by", metavar="NAME", default="",
                        help="who has held every line against its pack; the allergen line names them")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print the card as JSON, every part of it")


def run(args: argparse.Namespace) -> int:
    """Make the card and print it; return 0."""
    if args.recipe == "-" and args.method == "-":
        raise InputError([Fault("--method", "-", "a file", "Standard input holds the recipe already.")])
    method = given_text(args.method) if args.method else ""
    card = make_card(given_text(args.recipe), method, args.units, args.confirmed_by, args.credit, args.convention)
    if args.json:
        print_json(card.to_json())
        return 0
    text = written_card(card, args.form)
    if not speaks_unicode():
        text = text.encode("ascii", "xmlcharrefreplace" if args.form == "html" else "backslashreplace").decode("ascii")
    print(text, end="")
    for hint in card.todo:
        print(f"batchwright: {hint}", file=sys.stderr)
    return 0
