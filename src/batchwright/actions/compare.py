"""Hold recipes against a packaged food: its band from the label, each recipe beside it, the first moves."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from batchwright.actions.original import decode_file
from batchwright.base.errors import Fault, InputError
from batchwright.formula.comparing.compare import compare
from batchwright.formula.comparing.records import Band, BandAxis, BandPart, Comparison, FirstMoves, Move
from batchwright.formula.moving.allowed import Allowed, rule_of
from batchwright.formula.moving.moves import MOST_MOVES, first_moves
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula
from batchwright.original.records import Answer


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a cook asks of the moves, in the words of the command.

    moves: how many [0 to 6]; locks: lines that stay; on_hand: what is in the house, as text (one a line, or one
    line with commas), None for no list; supermarket, vegan; without: what stays out ("palm", "egg").
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


def allowed_of(wishes: Wishes) -> Allowed:
    """Return what a cook allows from the words of the command; `on_hand` is parted at lines, in one line at commas."""
    on_hand = None
    if wishes.on_hand is not None:
        parted = r"[\n;]" if "\n" in wishes.on_hand.strip() else "[,;]"
        words = [re.sub(r"^[\s*•-]+|\s+$", "", word) for word in re.split(parted, wishes.on_hand)]
        on_hand = tuple(dict.fromkeys(word for word in words if word and not word.startswith("#")))
    return Allowed(wishes.locks, on_hand, wishes.supermarket, wishes.vegan, wishes.without)


def band_of(answer: Answer) -> Band:
    """Return a decoded food as the band that recipes are held against."""
    axes = [BandAxis(one.key, one.name, "nutrient", one.estimate) for one in answer.composition if not one.part]
    if any(share.ingredient for share in answer.ingredients):  # a panel alone says nothing of classes
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


def headline(comparison: Comparison) -> str:
    """Return the answer in plain words: which recipe is nearest and why, and what the first moves bring."""
    nearest, rest = comparison.recipes[0], comparison.recipes[1:]
    if nearest.distance.likely == 0.0:
        said = [f"{nearest.name} lies inside every range of {comparison.original}."]
    elif rest:
        said = [f"{nearest.name} is nearest to {comparison.original}: {lowered(nearest.reason)}."]
    else:
        said = [f"{nearest.name} beside {comparison.original}: {lowered(nearest.reason)}."]
    near = [one.name for one in rest if one.as_near]
    if near:
        said.append(f"{' and '.join(near)} may be as near: the doubt of the amounts is larger than the difference.")
    if comparison.moves is not None:
        said.append(moves_headline(comparison.moves))
    return " ".join(said)


def moves_headline(first: FirstMoves) -> str:
    """Return what the moves bring together, in one sentence."""
    count = len(first.moves)
    if not count:
        return "No single change that is allowed brings it closer."
    changes = "One change" if count == 1 else f"{('Two', 'Three', 'Four', 'Five', 'Six')[count - 2]} changes"
    gone = 100.0 * (1.0 - first.distance_after / first.distance_before) if first.distance_before > 0 else 0.0
    if gone < 1.0:
        return f"{changes} that what is allowed asks for, without coming closer."
    return f"{changes} {'takes' if count == 1 else 'take'} away {gone:.0f} % of the distance."


def move_text(move: Move) -> str:
    """Return a move as a cook would do it: "swap 142 g butter for 114 g coconut oil"."""
    where = f" ({move.part})" if move.part else ""
    change = abs(move.to_g - move.from_g)
    if move.kind == "swap":
        more = move.for_to_g - move.for_from_g
        left = "" if move.to_g == 0.0 else f", {shown_g(move.to_g)} stay"
        now = "" if move.for_from_g == 0.0 else f" more, {shown_g(move.for_to_g)} in all"
        return f"swap {shown_g(change)} {move.item} for {shown_g(more)} {move.for_item}{now}{left}{where}"
    if move.kind in ("add", "leave out"):
        return f"{move.kind} {shown_g(change)} {move.item}{where}"
    return f"{move.kind} {move.item} by {shown_g(change)}, from {shown_g(move.from_g)} to {shown_g(move.to_g)}{where}"


def shown_g(mass_g: float) -> str:
    """Return a mass as a kitchen scale shows it."""
    return f"{mass_g:.0f} g" if mass_g >= 20.0 else f"{mass_g:.1f} g".replace(".0 g", " g")


def lowered(text: str) -> str:
    """Return a text with a small first letter, to stand inside a sentence."""
    return text[:1].lower() + text[1:]
