"""`batchwright fit`: a recipe made to meet targets, go toward an original, or be less sweet, by the fewest changes."""

from __future__ import annotations

import argparse
import textwrap

from batchwright.actions.fit import Asked, asked_from_toml, fit_text
from batchwright.actions.fit_words import GAP_LEAST, grams, sentence
from batchwright.base.errors import Fault, InputError
from batchwright.cli.table import terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json
from batchwright.formula.fitting.records import KEEPS, Fitted, Outcome


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `fit` takes."""
    parser.add_argument("file", metavar="RECIPE", help="any recipe or formula; - reads standard input")
    parser.add_argument("--toward", metavar="ORIGINAL", default="", help="label file to turn the recipe toward")
    parser.add_argument("--own-only", action="store_true", help="with --toward: nothing from the label may enter")
    parser.add_argument("--less-sweet", metavar="PERCENT", type=float, default=0.0,
                        help="less sweet by so much, no other sweetener brought in")  # fmt: skip
    parser.add_argument("--same-body", action="store_true",
                        help="with --less-sweet: fat, powder and water shares stay")  # fmt: skip
    parser.add_argument("--target", metavar="WISH", action="append", default=[],
                        help='"fat 18..22", "sugars <= 30", "class flour >= 40", "sweetness -20", "powder 40..45", '
                        '"cost <= 4", "batch 900..1000", "filling: water <= 5", "water as mixed 12..15"')  # fmt: skip
    parser.add_argument("--on-hand", metavar="NAMES", default="", help='what may enter: "hazelnuts, milk powder"')
    parser.add_argument("--lock", metavar="NAME", action="append", default=[], help="a line that stays as it is")
    parser.add_argument("--free", metavar="NAME", action="append", default=[],
                        help="a small line (salt, spice, leavening) that may move as well")  # fmt: skip
    parser.add_argument("--bounds", metavar="NAME=LEAST..MOST", action="append", default=[], help="grams of a line")
    parser.add_argument("--step", metavar="NAME=GRAMS", action="append", default=[], help="whole multiples of a line")
    parser.add_argument("--price", metavar="NAME=PRICE/kg", action="append", default=[], help="for the target cost")
    parser.add_argument("--keep", choices=[each for each in KEEPS if each], default="",
                        help="what stays (flour where there is some, else the total)")  # fmt: skip
    parser.add_argument("--part", metavar="NAME", default="", help="the one part that may change")
    parser.add_argument("--rules", metavar="FILE", default="", help="targets, prices, steps, bounds, locks in TOML")
    parser.add_argument("--convention", metavar="NAME", default="", help="whose cups the recipe means")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON, its formula in it")


def run(args: argparse.Namespace) -> int:
    """Fit one recipe; return 0, also where the nearest is all that can be had."""
    if [args.file, args.toward, args.rules].count("-") > 1:
        raise InputError([Fault("FILE", "-", "standard input for one file only", "Give the other by its name.")])
    asked = Asked(
        tuple(args.target), tuple(args.lock), tuple(args.free), tuple(args.bounds), tuple(args.step),
        tuple(args.price), args.on_hand, args.keep, args.part, args.less_sweet, args.same_body, args.own_only,
    )  # fmt: skip
    if args.rules:
        asked = asked_from_toml(given_text(args.rules), asked)
    original = given_text(args.toward) if args.toward else ""
    found = fit_text(given_text(args.file), asked, original, args.convention)
    print_json({"sentence": sentence(found), **found.to_json()}) if args.json else print(fitted_text(found))
    return 0


def fitted_text(found: Fitted) -> str:
    """Return a fit as a cook reads it: in a sentence, what clashes, lines, targets, composition, notes."""
    blocks = [_wrapped(sentence(found))]
    if found.clash:
        blocks.append("These cannot hold together; without any one of them the others could:\n"
                      + "\n".join(f"  {name}" for name in found.clash))  # fmt: skip
    blocks += [_lines(found), _targets(found), _composition(found)]
    if found.notes:
        blocks.append("\n".join(_wrapped(f"{note}.", "  ") for note in ("Notes", *found.notes) if note != "Notes"))
    return "\n\n".join(block for block in blocks if block)


def _wrapped(text: str, indent: str = "") -> str:
    return textwrap.fill(text, terminal_width(), initial_indent=indent, subsequent_indent=indent + indent)


def _lines(found: Fitted) -> str:
    """Return every line before and after, in grams and percent."""
    parts = list(dict.fromkeys(each.part for each in found.changes))
    rows: list[tuple[str, ...]] = []
    for part in parts:
        if len(parts) > 1:
            rows.append((part or "recipe", "", "", "", "", ""))
        for each in (one for one in found.changes if one.part == part):
            by = each.after_g - each.before_g
            moved = f"{'+' if by > 0 else '-'}{grams(abs(by))}" if abs(by) >= GAP_LEAST else ""
            rows.append((("  " if len(parts) > 1 else "") + each.name, grams(each.before_g), grams(each.after_g), moved,
                         f"{each.before_percent:.1f}", f"{each.after_percent:.1f}"))  # fmt: skip
    total = [sum(each.before_g for each in found.changes), sum(each.after_g for each in found.changes)]
    rows.append(("all together", grams(total[0]), grams(total[1]), "", "", ""))
    of = f"% of {found.percent_of}"
    return text_table(("line", "g before", "g after", "change", f"{of} before", "after"), rows, right=(1, 2, 3, 4, 5))


def _targets(found: Fitted) -> str:
    """Return every target with its figure before and after."""
    rows = []
    for each in found.outcomes:
        verdict = f"{'short' if _under(each) else 'over'} by {digits(each.missed)}" if each.missed else _met(each)
        verdict += " (preference)" if each.missed and each.preference else ""
        rows.append((each.name, _wanted(each), digits(each.before), digits(each.after), each.unit, verdict))
    return text_table(("target", "wanted", "before", "after", "", ""), rows, right=(1, 2, 3)) if rows else ""


def _met(outcome: Outcome) -> str:
    """Return "nearly" for a figure that is outside by less than counts, as far as the digits shown tell."""
    after = float(digits(outcome.after))
    low, high = (None if end is None else float(digits(end)) for end in (outcome.low, outcome.high))
    return "nearly" if (low is not None and after < low) or (high is not None and after > high) else "met"


def _under(outcome: Outcome) -> bool:
    return outcome.low is not None and outcome.after < outcome.low


def _wanted(outcome: Outcome) -> str:
    if outcome.low is None:
        return f"at most {digits(outcome.high or 0.0)}"
    if outcome.high is None:
        return f"at least {digits(outcome.low)}"
    return f"{digits(outcome.low)} to {digits(outcome.high)}"


def digits(value: float) -> str:
    """Return a `value` [any unit] with as many digits as a kitchen can use."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.1f}" if abs(value) >= 1 else f"{value:.2f}"


def _composition(found: Fitted) -> str:
    rows = [(each.name, digits(each.before), digits(each.after), f"{digits(each.low)} to {digits(each.high)}")
            for each in found.composition]  # fmt: skip
    return text_table(("100 g of the finished food hold", "before", "after", "likely"), rows, right=(1, 2, 3))
