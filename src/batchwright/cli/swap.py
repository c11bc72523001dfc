"""`batchwright swap`: another ingredient for one of a recipe, the rest rebalanced; the choices where none is named."""

from __future__ import annotations

import argparse
import textwrap

from batchwright.actions.swap import Offer, offers_text, swap_text
from batchwright.cli.table import terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json, sentence
from batchwright.formula.swaps.records import UNTESTED, WISHES, Changed, Swapped

BEST = "best"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the recipe, the ingredient, what to take for it, and what it is for."""
    parser.add_argument("recipe", metavar="RECIPE", help="a recipe: text, web page, JSON or TOML; - reads one")
    parser.add_argument("ingredient", metavar="INGREDIENT", nargs="?", default="",
                        help="what is to be swapped; with --for alone: whatever does not suit")  # fmt: skip
    parser.add_argument(
        "instead",
        metavar="WITH",
        nargs="?",
        default="",
        help='what to take: a choice, any ingredient, or "best"; without it the choices are listed',
    )
    parser.add_argument("--for", dest="wish", choices=WISHES, default="", help="only choices that suit this")
    parser.add_argument("--convention", metavar="NAME", default="", help="whose cup: 120, 142, dip, spooned ...")
    parser.add_argument("--json", action="store_true", help="print the choices, or the swapped recipe, as JSON")


def run(args: argparse.Namespace) -> int:
    """List the choices, or swap; return 0."""
    text = given_text(args.recipe)
    if args.instead:
        instead = "" if args.instead == BEST else args.instead
        done = swap_text(text, args.ingredient, instead, args.wish, args.convention)
        print_json(done.to_json()) if args.json else print(swapped_text(done))
        return 0
    offers = offers_text(text, args.ingredient, args.wish, args.convention)
    if args.json:
        print_json({"wish": args.wish, "offers": [offer.to_json() for offer in offers], "note": UNTESTED})
    else:
        print(offers_table(offers, args.wish))
    return 0


def offers_table(offers: tuple[Offer, ...], wish: str) -> str:
    """Return the choices of each ingredient, best first, with the grams and why."""
    if not offers:
        return f"No line is known to stand in the way of {wish}. That is no promise: every pack decides."
    width = terminal_width()
    blocks = []
    for offer in offers:
        lines = [f"For {offer.item} ({offer.ingredient}):" if offer.item != offer.ingredient else f"For {offer.item}:"]
        for place, choice in enumerate(offer.choices):
            said_g = ""
            if offer.swaps:
                changed = sorted(offer.swaps[place].changes, key=lambda change: change.why != "instead")
                said_g = ", ".join(change_text(change) for change in changed if change.why != "taken out")
            said = f"{place + 1}. {choice.name}" + (f" ({said_g})" if said_g else "") + f": {choice.why}"
            lines.append(textwrap.fill(f"{said}; {choice.moves}." if choice.moves else f"{said}.", width,
                                       initial_indent="  ", subsequent_indent="     "))  # fmt: skip
        if not offer.choices:
            lines.append("  Nothing is known to take for it; name something yourself.")
        blocks.append("\n".join(lines))
    return "\n\n".join((*blocks, UNTESTED))


def change_text(change: Changed) -> str:
    """Return one changed line in a few words: "18 g less water"."""
    if change.before_g <= 0:
        return f"{grams(change.after_g)} {change.item}"
    less = change.before_g - change.after_g
    return f"{grams(abs(less))} {'less' if less > 0 else 'more'} {change.item}"


def shown(mass_g: float) -> str:
    """Return a weight [g], nothing for a line that is not there."""
    return grams(mass_g) if mass_g > 0 else ""


def grams(mass_g: float) -> str:
    """Return a weight [g] with the digits a kitchen scale shows."""
    return f"{mass_g:.0f} g" if mass_g >= 20 else f"{mass_g:.1f} g" if mass_g >= 1 else f"{mass_g:.2f} g"


def swapped_text(done: Swapped) -> str:
    """Return a swap as a cook reads it: the changed lines, what else moves, the allergens, the notes."""
    width = terminal_width()
    title = f"{sentence(done.what + ': ' + done.choice.name)} {sentence(done.choice.why)}"
    rows = [(change.item, shown(change.before_g), shown(change.after_g), change.part, change.why)
            for change in done.changes]  # fmt: skip
    blocks = [textwrap.fill(title, width), text_table(("line", "before", "after", "part", "why"), rows, right=(1, 2))]
    moved = [(each.what, grams(each.before_g), grams(each.after_g), f"{each.after_g - each.before_g:+.1f} g")
             for each in done.moved]  # fmt: skip
    blocks.append(text_table(("in the whole recipe, as mixed", "before", "after", "change"), moved, right=(1, 2, 3)))
    warned = []
    if done.gained:
        warned.append(f"Brings in: {', '.join(done.gained)}.")
    if done.read_pack:
        warned.append(f"Read the pack for: {', '.join(done.read_pack)}.")
    if done.no_longer_from_it:
        warned.append(
            f"No longer from this line: {', '.join(done.no_longer_from_it)}; other lines and the packs decide."
        )
    blocks += [textwrap.fill(f"Allergens. {' '.join(warned)}", width)] if warned else []
    blocks.append("\n".join(textwrap.fill(note, width) for note in done.notes))
    return "\n\n".join(blocks)
