"""`batchwright pantry`: find an ingredient of the shelf, show it, bring in foods from a download."""

from __future__ import annotations

import argparse
from pathlib import Path

from batchwright.actions.pantry import (
    Found,
    Shown,
    find_ingredients,
    import_ingredients,
    ingredient_json,
    ingredients_toml,
    show_ingredient,
)
from batchwright.base.errors import Fault, InputError
from batchwright.cli.table import places_deserved, text_table
from batchwright.cli.terminal import print_json, sentence
from batchwright.pantry.records import Match


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `pantry` takes."""
    places = parser.add_subparsers(title="what to do", metavar="DO", dest="do", required=True)
    find = places.add_parser("find", help="look up ingredients by any part of a name")
    find.add_argument("text", metavar="TEXT", nargs="+", help="part of a name, or a name as a label prints it")
    show = places.add_parser("show", help="all that the shelf knows of one ingredient")
    show.add_argument("name", metavar="NAME", nargs="+", help="any name of the ingredient")
    bring = places.add_parser("import", help="read the USDA FoodData Central CSV download")
    bring.add_argument("path", metavar="PATH", help="the unzipped folder with food.csv in it")
    bring.add_argument("--find", metavar="WORDS", default="", help="only foods whose description holds all these words")
    bring.add_argument("--most", metavar="N", type=int, default=20, help="how many foods at most (default 20)")
    bring.add_argument("--out", metavar="FILE.toml", help="write the tables there instead of printing them")
    for place in (find, show, bring):
        place.add_argument("--json", action="store_true", help="print as JSON")


def run(args: argparse.Namespace) -> int:
    """Do what is asked; return 0."""
    if args.do == "find":
        found = find_ingredients(" ".join(args.text))
        print_json(found.to_json()) if args.json else print(found_text(found))
    elif args.do == "show":
        shown = show_ingredient(" ".join(args.name))
        print_json(shown.to_json()) if args.json else print(shown_text(shown))
    else:
        run_import(args)
    return 0


def run_import(args: argparse.Namespace) -> None:
    """Print foods of a download as tables for a label's file, or write them to a new file."""
    brought = import_ingredients(args.path, args.find, args.most)
    if args.json:
        print_json({"ingredients": [ingredient_json(one) for one in brought]})
    elif args.out:
        try:
            with Path(args.out).open("x", encoding="utf-8") as handle:
                handle.write(ingredients_toml(brought))
        except OSError as error:
            reason = sentence((error.strerror or "cannot be written").lower())
            raise InputError([Fault("--out", args.out, "a new file in a folder that is there", reason)]) from error
        print(f"{len(brought)} ingredients written to {args.out}: paste what you need into the label's file.")
    else:
        print(ingredients_toml(brought))


def found_text(found: Found) -> str:
    """Return what was found, the match on top."""
    table = text_table(("ingredient", "class"), [(one.name, one.ingredient_class) for one in found.ingredients])
    return f"{match_text(found.match)}\n\n{table}" if found.ingredients else match_text(found.match)


def match_text(how: Match) -> str:
    """Return in words what a printed name means."""
    if how.ingredient:
        words = f'On a label, "{how.printed}" is read as {how.ingredient} ({how.how}).'
    elif how.ingredient_class:
        words = f'On a label, of "{how.printed}" only the class is known: {how.ingredient_class}.'
    else:
        words = f'On a label, "{how.printed}" is not known: it may be anything a food can be.'
    return f"{words} {sentence(how.note)}" if how.note else words


def shown_text(shown: Shown) -> str:
    """Return one ingredient as text: its figures with the range of real lots, then all the rest."""
    one = shown.ingredient
    lines = [f"{one.name} ({one.ingredient_class})" if one else f"any {shown.match.ingredient_class}"]
    if shown.match.how != "name":
        lines.append(match_text(shown.match))
    figures = []
    for key, typical in shown.profile.typical.items():
        name, _, unit = key.rpartition("_")
        low, high = shown.profile.low[key], shown.profile.high[key]
        places = places_deserved(typical / 20 if typical else 3)
        shown_figures = [f"{figure:.{places}f}" for figure in (typical, low, high)]
        figures.append((name.replace("_", " "), *shown_figures, unit))
    heads = ("per 100 g", "typical", "lots from", "to", "unit")
    lines += ["", text_table(heads, figures, right=(1, 2, 3)), ""]
    if one:
        lines.append(f"Allergens always in it: {', '.join(one.allergens) or 'none that the table knows of'}.")
        lines.append(f"Read the pack for: {', '.join(one.allergens_read_pack) or 'whatever else it may hold'}.")
        if one.density_g_ml:
            lines.append(f"Density: {one.density_g_ml:.2f} g/ml.")
        lines += [f"{each.quantity:g} {each.measure}: {each.mass_g:g} g ({each.convention})" for each in shown.measures]
        if shown.names:
            lines.append(f"Also called: {', '.join(name for name in shown.names if name != one.name)}.")
        lines.append(f"Source: {one.source}, {one.locator} ({one.basis}).")
    return "\n".join([*lines, *(sentence(note) for note in shown.profile.notes)])
