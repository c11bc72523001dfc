"""`batchwright pantry`: what stands on the shelf, all that is known of it, and foods brought in from a download."""

from __future__ import annotations

import argparse
import textwrap

from batchwright.actions.pantry import (
    Found,
    Shown,
    find_ingredients,
    import_ingredients,
    ingredient_json,
    ingredients_toml,
    show_ingredient,
)
from batchwright.base.estimate import Estimate
from batchwright.base.nutrients import COMPOSITION_KEYS, DETAIL_KEYS
from batchwright.base.shown import nice_axis_max, shown_range
from batchwright.cli.table import estimate_bar, marks, terminal_width, text_table
from batchwright.cli.terminal import given_text, print_json

BAR_WIDTH = 30
MOST_NAMES = 24
UNITS = ("_kcal", "_mg", "_g")
WAYS = {
    "name": "its own name",
    "synonym": "another name for it",
    "stripped": "words that change nothing left out",
    "head": "its head noun",
    "spelling": "a slip of spelling mended",
    "class": "only its kind is known",
    "unknown": "not known",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add find, show and import."""
    below = parser.add_subparsers(title="commands", metavar="COMMAND", dest="pantry_command", required=True)

    def command(word: str, summary: str, example: str) -> argparse.ArgumentParser:
        epilog, kept = f"Example: batchwright {example}", argparse.RawDescriptionHelpFormatter
        return below.add_parser(word, help=summary, formatter_class=kept, epilog=epilog)

    find = command("find", "ingredients whose names hold these words", 'pantry find "brown sugar"')
    find.add_argument("text", metavar="TEXT", nargs="+", help="a name as on a label, or part of one; - reads one")
    show = command("show", "all that is known of one ingredient", "pantry show honey")
    show.add_argument("name", metavar="NAME", nargs="+", help="any of its names; - reads one from standard input")
    bring = command("import", "foods of a USDA FoodData Central CSV download, as lines for a label file",
                    'pantry import ~/fooddata --find "chestnut" >> food.toml')  # fmt: skip
    bring.add_argument("path", metavar="PATH", help="the folder the download was unpacked to")
    bring.add_argument("--find", metavar="WORDS", default="", help="words the food's description must hold")
    bring.add_argument("--most", metavar="N", type=int, default=20, help="at most so many foods (20)")
    for each in (find, show, bring):
        each.add_argument("--json", action="store_true", help="print the answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Find, show or import; return 0."""
    if args.pantry_command == "import":
        foods = import_ingredients(args.path, args.find, args.most)
        if args.json:
            print_json([ingredient_json(food) for food in foods])
        else:
            print(ingredients_toml(foods))
        return 0
    words = " ".join(args.text if args.pantry_command == "find" else args.name)
    asked = given_text("-").strip() if words == "-" else words
    if args.pantry_command == "find":
        found = find_ingredients(asked)
        print_json(found.to_json()) if args.json else print(found_text(asked, found))
    else:
        shown = show_ingredient(asked)
        print_json(shown.to_json()) if args.json else print(shown_text(shown))
    return 0


def found_text(asked: str, found: Found) -> str:
    """Return what was found: first how a label's word would be taken, then the shelf's ingredients."""
    how = found.match
    meant = how.ingredient or (f"any {how.ingredient_class}" if how.ingredient_class else "nothing on the shelf")
    note = f" ({how.note})" if how.note else ""
    line = f'On a label "{asked}" is taken as {meant}: {WAYS[how.how]}{note}.'
    rows = [(one.name, one.ingredient_class, energy(one.composition.get("energy_kcal"))) for one in found.ingredients]
    headings = ("on the shelf", "class", "kcal/100 g")
    table = text_table(headings, rows, right=(2,)) if rows else "No name on the shelf holds these words."
    return f"{textwrap.fill(line, terminal_width())}\n\n{table}"


def energy(energy_kcal: float | None) -> str:
    """Return energy in whole kcal; empty where none is given."""
    return "" if energy_kcal is None else f"{energy_kcal:.0f}"


def shown_text(shown: Shown) -> str:
    """Return an ingredient as cooks read it: composition with its doubt, allergens, measures, names, source."""
    width = terminal_width()
    one = shown.ingredient
    title = f"{one.name} ({one.ingredient_class})" if one else f"any {shown.match.ingredient_class}"
    blocks = [title, composition_text(shown)]
    if one:
        blocks.append(allergen_text(one.allergens, one.allergens_read_pack))
        measures = [measure_text(each.quantity, each.measure, each.mass_g, each.convention) for each in shown.measures]
        if one.density_g_ml:
            measures.append(measure_text(1, "ml", one.density_g_ml, ""))
        if measures:
            blocks.append("\n".join(("Measures", *(f"  {line}" for line in measures))))
        blocks += names_text(shown.names, one.name, width)
        blocks.append(wrapped("Source", f"{one.source}, {one.locator} ({one.basis.replace('_', ' ')})", width))
    else:
        blocks.append("Allergens: not known for a whole class; read the pack.")
    if shown.profile.notes:
        blocks.append("\n".join(wrapped("Note", note, width) for note in shown.profile.notes))
    return "\n\n".join(blocks)


def wrapped(heading: str, words: str, width: int) -> str:
    """Return a heading and its words, wrapped to `width` [columns]."""
    return textwrap.fill(f"{heading}: {words}", width, subsequent_indent="  ")


def measure_text(quantity: float, measure: str, mass_g: float, convention: str) -> str:
    """Return one household measure and its weight; quantity: of the measure [count]."""
    return f"{quantity:g} {measure} = {mass_g:.3g} g" + (f" ({convention})" if convention else "")


def names_text(names: tuple[str, ...], own: str, width: int) -> list[str]:
    """Return the other names of an ingredient as one paragraph, plurals and those past two dozen left out."""
    other = [name for name in names if name != own and not (name.endswith("s") and name[:-1] in {*names, own})]
    if not other:
        return []
    more = f" and {len(other) - MOST_NAMES} more" if len(other) > MOST_NAMES else ""
    return [wrapped("Also called", ", ".join(other[:MOST_NAMES]) + more, width)]


def allergen_text(allergens: tuple[str, ...], read_pack: tuple[str, ...]) -> str:
    """Return what an ingredient carries; it never says that there is none."""
    lines = [f"Carries: {', '.join(allergens)}."] if allergens else []
    if read_pack:
        lines.append(f"May carry, read the pack: {', '.join(read_pack)}.")
    return " ".join(lines or ["No allergen is listed for it here; the pack decides."])


def composition_text(shown: Shown) -> str:
    """Return the composition per 100 g: figure, what lots and doubt make of it, and a picture for what is in grams."""
    profile, drawn = shown.profile, marks()
    given = shown.ingredient.composition if shown.ingredient else {}
    largest = max((profile.high[key] for key in profile.typical if key.endswith("_g")), default=100.0)
    axis_max = nice_axis_max(min(largest, 100.0))
    rows = []
    for key in COMPOSITION_KEYS:
        if key not in profile.typical:
            continue
        typical, low, high = profile.typical[key], profile.low[key], profile.high[key]
        grams = key.endswith("_g")
        estimate = Estimate(typical, max(low, typical - profile.spread[key]), min(high, typical + profile.spread[key]),
                            low, high)  # fmt: skip
        bar = estimate_bar(estimate, axis_max, BAR_WIDTH, drawn) if grams and high > 0 else ""
        doubt = "" if low == high else shown_range(low, high, drawn.dash)
        rows.append((name_of(key), plain(typical), unit_of(key), doubt, "" if key in given else "filled in", bar))
    for key in DETAIL_KEYS:
        if key in given:
            rows.append((name_of(key), plain(given[key]), unit_of(key), "", "", ""))
    if not given:
        rows = [(*row[:4], "", row[5]) for row in rows]
    return text_table(("per 100 g", "typical", "", "lots lie within", "", f"0 to {axis_max:g} g"), rows, right=(1, 3))


def plain(value: float) -> str:
    """Return a figure of composition, its `value` [unit of its key] as its source gives it, three digits at most."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def unit_of(key: str) -> str:
    """Return the unit that ends a key."""
    return next((end[1:] for end in UNITS if key.endswith(end)), "")


def name_of(key: str) -> str:
    """Return a key as words, without its unit."""
    return next((key[: -len(end)] for end in UNITS if key.endswith(end)), key).replace("_", " ")
