"""`batchwright compare`: recipes beside a packaged food, the nearest first, and the first moves in grams."""

from __future__ import annotations

import argparse
import sys
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from batchwright.actions.compare import Wishes, compare_texts, headline, move_text
from batchwright.base.errors import Fault, InputError
from batchwright.base.shown import shown_number, shown_range
from batchwright.cli.table import fitted, shown_width, terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json
from batchwright.formula.comparing.records import Beside, Compared, Comparison, FirstMoves

SECTIONS = (("nutrient", "in 100 g as eaten"), ("class", "as added, % as eaten"), ("part", "parts, % as eaten"))
ONLY = ("supermarket",)
NAMED = 22  # columns a recipe's name may take at the head of its own


@dataclass(frozen=True, slots=True)
class Signs:
    """The shapes for inside, above and below; hollow ones where the doubt covers the difference."""

    inside: str
    above: str
    below: str
    perhaps_above: str
    perhaps_below: str


DRAWN = Signs("○", "▲", "▼", "△", "▽")
PLAIN = Signs("in", "over", "under", "over?", "under?")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `compare` takes."""
    parser.add_argument("original", metavar="ORIGINAL", help="the packaged food: label file (TOML) or label text")
    parser.add_argument("recipes", metavar="RECIPE", nargs="+",
                        help="recipes: pasted text, saved pages, JSON or TOML; - reads standard input")  # fmt: skip
    parser.add_argument("--moves", metavar="N", type=int, default=3,
                        help="how many single changes towards the original (3; 0 = none)")  # fmt: skip
    parser.add_argument("--lock", metavar="ITEM", action="append", default=[],
                        help='a line that stays, such as butter or "filling: sugar"; may be given again')  # fmt: skip
    parser.add_argument("--on-hand", metavar="FILE|LIST", default=None,
                        help="what is in the house, a file or names with commas: nothing else is added")  # fmt: skip
    parser.add_argument("--only", metavar="WHERE", choices=ONLY, default=None,
                        help="supermarket: add only what a supermarket sells")  # fmt: skip
    parser.add_argument("--vegan", action="store_true", help="nothing of animals: such lines go first")
    parser.add_argument("--no", metavar="WHAT", action="append", default=[],
                        help="what must not be in it: palm, egg, nuts, an ingredient; may be given again")  # fmt: skip
    parser.add_argument("--convention", metavar="WORDS", default="",
                        help="whose cup and how it is filled, as in weigh; found out where left out")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print the comparison as JSON")


def run(args: argparse.Namespace) -> int:
    """Compare recipes with an original; return 0."""
    if [args.original, *args.recipes].count("-") > 1:
        raise InputError([Fault("FILE", "-", "standard input once", "Give the others as files.")])
    wishes = Wishes(args.moves, tuple(args.lock), on_hand_text(args.on_hand), args.only == "supermarket", args.vegan,
                    tuple(args.no))  # fmt: skip
    recipes = [(recipe_name(name), given_text(name)) for name in args.recipes]
    found = compare_texts(given_text(args.original), recipes, wishes, args.convention)
    if args.json:
        print_json(found.to_json())
    else:
        print(comparison_text(found))
    return 0


def on_hand_text(given: str | None) -> str | None:
    """Return the list of what is on hand: the text of the file of that name, else the words themselves."""
    if given is None:
        return None
    try:
        is_file = given == "-" or Path(given).is_file()
    except (OSError, ValueError):
        is_file = False
    return given_text(given) if is_file else given


def recipe_name(file: str) -> str:
    """Return what a recipe without a title is called: its file's name."""
    return "standard input" if file == "-" else Path(file).stem.replace("_", " ")


def comparison_text(found: Comparison) -> str:
    """Return a comparison as a cook reads it: a sentence, the axes, the ranking, the moves, the notes."""
    width = terminal_width()
    blocks = [textwrap.fill(headline(found), width)]
    blocks += [axes_table(found, group) for group in _groups(found, width)]
    blocks.append(legend())
    if len(found.recipes) > 1:
        rows = [(one.name, _distance(one), one.reason) for one in found.recipes]
        blocks.append(_ranking(rows, width))
    if found.moves is not None and found.moves.moves:
        blocks.append(moves_table(found.moves, width))
    notes = [*found.notes, *(found.moves.notes if found.moves else ())]
    several = len(found.recipes) > 1
    notes += [
        f"{one.name}: {note}" if several and not note.startswith(one.name) else note
        for one in found.recipes
        for note in one.notes
    ]
    if notes:
        lines = [textwrap.fill(note, width, initial_indent="  ", subsequent_indent="    ") for note in notes]
        blocks.append("notes\n" + "\n".join(lines))
    return "\n\n".join(blocks)


def signs() -> Signs:
    """Return the drawn shapes where standard output can show them, else words."""
    try:
        "".join((DRAWN.inside, DRAWN.above, DRAWN.perhaps_below)).encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return PLAIN
    return DRAWN


def legend() -> str:
    """Return what the shapes mean."""
    drawn = signs()
    return (f"{drawn.inside} inside the original's likely range   {drawn.above} above it by   {drawn.below} below it by"
            f"   {drawn.perhaps_above} {drawn.perhaps_below} so, but within the doubt of both")  # fmt: skip


def axes_table(found: Comparison, recipes: Sequence[Compared]) -> str:
    """Return one row per axis: the original's likely range, then each recipe's value with its place beside it."""
    first = recipes[0]
    keys = list(dict.fromkeys((axis.kind, axis.key) for one in found.recipes for axis in one.axes))
    held = [{axis.key: axis for axis in one.axes} for one in recipes]
    anywhere = {axis.key: axis for one in reversed(found.recipes) for axis in one.axes}
    rows: list[tuple[str, ...]] = []
    for kind, heading in SECTIONS:
        inside = [key for its_kind, key in keys if its_kind == kind]
        if inside:
            rows.append((heading, *("" for _ in range(1 + len(recipes)))))
        for key in inside:
            axis = anywhere[key]
            band = shown_range(axis.original.low, axis.original.high)
            rows.append((f"  {axis.name}", band, *(_cell(one.get(key)) for one in held)))
    names = [fitted(one.name, min(NAMED, shown_width(one.name))) for one in recipes]
    return text_table((first.name and "", "original", *names), rows, right=(1,))


def _cell(axis: Beside | None) -> str:
    """Return a recipe's value and how it stands to the original."""
    if axis is None:
        return "0"
    drawn, value = signs(), axis.recipe
    width = value.high - value.low
    text = shown_number(value.likely, width if width > 0 else 1.0)
    if axis.relation == "inside":
        return f"{text} {drawn.inside}"
    above = axis.relation == "above"
    clear, perhaps = (drawn.above, drawn.perhaps_above) if above else (drawn.below, drawn.perhaps_below)
    return f"{text} {clear if axis.clear else perhaps} {shown_number(axis.by_points, axis.by_points)}"


def _groups(found: Comparison, width: int) -> list[tuple[Compared, ...]]:
    """Return the recipes in as many tables as the terminal's width asks for."""
    room = max(1, (width - 38) // (NAMED - 2))
    return [found.recipes[at : at + room] for at in range(0, len(found.recipes), room)]


def _distance(one: Compared) -> str:
    distance = one.distance
    width = distance.high - distance.low
    return f"{shown_number(distance.likely, min(width, 0.2))} ({shown_range(distance.low, distance.high)})"


def _ranking(rows: Sequence[tuple[str, str, str]], width: int) -> str:
    """Return the recipes with their distance, the nearest first, the reason wrapped under its column."""
    widths = [max(shown_width(row[place]) for row in (("nearest first", "distance"), *rows)) for place in (0, 1)]
    widths[0] = min(widths[0], 30)
    start = sum(widths) + 4
    lines = [f"{fitted('nearest first', widths[0])}  {fitted('distance', widths[1])}  because"]
    for name, distance, reason in rows:
        wrapped = textwrap.wrap(reason, max(24, width - start)) or [""]
        lines.append(f"{fitted(name, widths[0])}  {fitted(distance, widths[1])}  {wrapped[0]}")
        lines += [" " * start + more for more in wrapped[1:]]
    return "\n".join(lines)


def moves_table(first: FirstMoves, width: int) -> str:
    """Return the moves, numbered, each with what it brings and the distance after it."""
    lines = [f"first moves for {first.recipe} (distance {first.distance_before:.2f} now)"]
    for number, move in enumerate(first.moves, 1):
        lines.append(textwrap.fill(f"{number}. {move_text(move)}", width, subsequent_indent="   "))
        text = f"{move.reason}; distance {move.distance_after:.2f}" if move.reason else ""
        lines += textwrap.wrap(text, width, initial_indent="     ", subsequent_indent="     ")
    return "\n".join(lines)
