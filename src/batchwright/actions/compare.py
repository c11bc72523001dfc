"""Hold recipes against a packaged food: its band from the label, each recipe beside it, the first moves."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from batchwright.actions.original import decode_file
from batchwright.base.errors import Fault, InputError
from batchwright.formula.allowed import Allowed, Rule, rule_of
from batchwright.formula.compare import compare
from batchwright.formula.compare_records import Band, BandAxis, BandPart, Comparison
from batchwright.formula.moves import MOST_MOVES, first_moves
from batchwright.formula.recipe_file import formula_from_text
from batchwright.formula.records import Formula
from batchwright.original.records import Answer


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a cook asks of the moves, in the words of the command.

    moves: how many [0 to 6]; locks: lines that stay; on_hand: what is in the house, as text (one a line, or parted by
    commas), None for no list; supermarket, vegan; without: what stays out ("palm", "egg").
    """

    moves: int = 3
    locks: tuple[str, ...] = ()
    on_hand: str | None = None
    supermarket: bool = False
    vegan: bool = False
    without: tuple[str, ...] = ()


def compare_texts(
    original: str, recipes: Sequence[tuple[str, str]], wishes: Wishes | None = None, convention: str = ""
) -> Comparison:
    """Return recipes beside a packaged food, the nearest first, and the first moves of the nearest.

    original: a label file in TOML or a label's own words; recipes: (name to show where the recipe has none, text):
    pasted text, a saved page, JSON or TOML; wishes: what the moves must respect; convention: whose cup is taken, empty
    to infer it. Raises InputError with every fault of the original, the recipes and the wishes.
    """
    wishes = Wishes() if wishes is None else wishes
    faults: list[Fault] = []
    band: Band | None = None
    try:
        band = band_of(decode_file(original))
    except InputError as error:
        faults += [replace(fault, field=f"ORIGINAL: {fault.field}") for fault in error.faults]
    formulas: list[Formula] = []
    for name, text in recipes:
        try:
            formula = formula_from_text(text, convention)
            formulas.append(formula if formula.name else replace(formula, name=name))
        except InputError as error:
            faults += [replace(fault, field=f"{name}: {fault.field}") for fault in error.faults]
    if faults or band is None:
        raise InputError(faults)
    return compare_formulas(band, formulas, wishes)


def compare_formulas(band: Band, formulas: Sequence[Formula], wishes: Wishes) -> Comparison:
    """Return recipes in grams beside a band, and the first moves of the nearest; see `compare_texts`."""
    if not 0 <= wishes.moves <= MOST_MOVES:
        raise InputError([Fault("--moves", wishes.moves, f"0 to {MOST_MOVES}", "0 compares and changes nothing.")])
    rule = rule_of(allowed_of(wishes), formulas)
    found = compare(band, formulas)
    if wishes.moves == 0:
        return found
    nearest = formulas[found.recipes[0].place]
    return replace(found, moves=first_moves(band, nearest, rule, wishes.moves))


def moves_of(band: Band, formula: Formula, rule: Rule, count: int = 3) -> Comparison:
    """Return one recipe beside a band with its first moves; rule: from `rule_of`; count [1 to 6]."""
    return replace(compare(band, [formula]), moves=first_moves(band, formula, rule, count))


def allowed_of(wishes: Wishes) -> Allowed:
    """Return what a cook allows from the words of the command; `on_hand` is parted at commas, semicolons and lines."""
    on_hand = None
    if wishes.on_hand is not None:
        words = [re.sub(r"^[\s*•-]+|\s+$", "", word) for word in re.split(r"[\n,;]", wishes.on_hand)]
        on_hand = tuple(dict.fromkeys(word for word in words if word and not word.startswith("#")))
    return Allowed(wishes.locks, on_hand, wishes.supermarket, wishes.vegan, wishes.without)


def band_of(answer: Answer) -> Band:
    """Return a decoded food as the band that recipes are held against."""
    axes = [BandAxis(one.key, one.name, "nutrient", one.estimate) for one in answer.composition if not one.part]
    axes += [BandAxis(f"class:{one.name}", one.name, "class", one.finished_percent) for one in answer.classes]
    axes += [BandAxis(f"part:{part.name}", part.name, "part", part.estimate) for part in answer.parts]
    parts = tuple(
        BandPart(part.name, {one.key: one.estimate for one in answer.composition if one.part == part.name})
        for part in answer.parts
    )
    shares = sorted(answer.ingredients, key=lambda share: -share.added_percent.likely)
    listed = tuple((share.ingredient, share.part) for share in shares if share.ingredient)
    name = answer.name or "the original"
    return Band(name, tuple(axes), parts, tuple(dict.fromkeys(listed)), answer.consistent)
