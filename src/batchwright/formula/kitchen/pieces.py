"""What is counted and not measured: eggs by weight class, and what a recipe counts: cans, cloves, sheets, fruit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, sqrt

from batchwright.formula.kitchen.grid import KitchenWay, amounts_text, unit_text
from batchwright.formula.records import Line, Written
from batchwright.pantry.measures_counts import piece_of
from batchwright.pantry.measures_units import unit_of

# What a writing out of the ordinary costs, in squares of a line's tolerance (our own choice): a recipe keeps the size
# of egg it names, large where it names none; where the cook lets it change, the next sizes must bring the line a whole
# tolerance nearer, the rare ones two. Half a fruit is a small nuisance.
USUAL_EGG = "large"
EGG_COSTS = {"large": 1.0, "medium": 1.0, "extra-large": 1.0, "small": 4.0, "jumbo": 4.0}
HALF_PIECE = 0.25
EGGS = {"whole egg": "egg", "egg white": "egg white", "egg yolk": "egg yolk"}
HALVED = ("fruit", "vegetable")  # cut in two without loss
PACKED_FRACTION = 0.02  # a package against the weight printed on it (common practice)


@dataclass(frozen=True, slots=True)
class Counted:
    """One kind of piece: what it weighs `mass_g`, `doubt_fraction` from piece to piece, `cost` of counting in it.

    `unit` is empty for the thing itself, `each` the weight printed on a package; `size` stands before the noun, `noun`
    and `nouns` are for one and for more, empty where the line's own will do.
    """

    mass_g: float
    doubt_fraction: float
    cost: float = 0.0
    unit: str = ""
    each: Written | None = None
    size: str = ""
    noun: str = ""
    nouns: str = ""
    halved: bool = False


def pieces_of(line: Line, words: Sequence[str], kind: str, any_eggs: bool = False) -> tuple[Counted, ...]:
    """Return what a line may be counted in: eggs always, other things as the line itself counts them.

    words: of the line's item; kind: the class of its ingredient; any_eggs: whether eggs of another size than the line's
    may be taken. None where the line is written by measure or weight.
    """
    if line.ingredient in EGGS:
        return tuple(_eggs(line, words, any_eggs))
    if not line.amounts or _is_measure(line.amounts[0].unit):
        return ()
    unit, more = line.amounts[0].unit, line.amounts[1:]
    each = more[0] if more and more[0].join == "each" else None
    if each is not None:
        weight = unit_of(each.unit)
        if weight is None or weight.mass_g is None or each.low != each.high:
            return ()
        return (Counted(each.low * weight.mass_g, PACKED_FRACTION, unit=unit, each=each),)
    piece = piece_of(words, line.ingredient, kind, unit, line.size)
    if piece is None or piece.kin:
        return ()
    doubt = (piece.high_g - piece.low_g) / (2 * piece.likely_g)
    noun, nouns = ("", "") if unit else _nouns(line.item)
    return (Counted(piece.likely_g, doubt, 0.0, unit, None, line.size, noun, nouns, kind in HALVED and not unit),)


def counted_ways(pieces: Sequence[Counted], mass_g: float) -> Iterator[KitchenWay]:
    """Yield the counts of each kind of piece around a mass [> 0, g], one at least."""
    for piece in pieces:
        parts = 2 if piece.halved else 1
        share = mass_g * parts / piece.mass_g
        for number in range(max(1, floor(0.5 * share)), ceil(1.5 * share) + 2):
            count = number / parts
            amounts = (Written(count, count, piece.unit), *((piece.each,) if piece.each else ()))
            text = amounts_text(amounts) if piece.unit else f"{amounts_text(amounts)} {piece.size}".strip()
            cost = piece.cost + (HALF_PIECE if count % 1 else 0.0)
            noun = piece.noun if count <= 1 else piece.nouns
            doubt = piece.doubt_fraction / sqrt(max(1.0, count))  # pieces of a pile even out
            yield KitchenWay(count * piece.mass_g, cost, amounts, text, doubt, noun)


def _eggs(line: Line, words: Sequence[str], any_eggs: bool) -> Iterator[Counted]:
    """Yield eggs, yolks or whites of the line's own size, else the usual; whole eggs of the other sizes if allowed."""
    usual = line.size or USUAL_EGG
    noun = EGGS[line.ingredient or ""]
    for size in dict.fromkeys((usual, *(EGG_COSTS if any_eggs and line.ingredient == "whole egg" else ()))):
        piece = piece_of(words, line.ingredient, "egg", "", size)
        if piece is not None:
            doubt = (piece.high_g - piece.low_g) / (2 * piece.likely_g)
            yield Counted(piece.likely_g, doubt, 0.0 if size == usual else EGG_COSTS[size], size=size, noun=noun,
                          nouns=noun + "s")  # fmt: skip


def _is_measure(unit: str) -> bool:
    """Whether a unit is a volume, a weight or a stick of butter and no count."""
    return unit == "stick" or (bool(unit) and unit_of(unit) is not None)


def _nouns(item: str) -> tuple[str, str]:
    """Return an item for one piece and for more, by its last word."""
    for plural, single in (("ies", "y"), ("oes", "o"), ("ss", "ss"), ("s", "")):
        if item.endswith(plural):
            one = item[: -len(plural)] + single
            return (one, item) if one != item else (item, item + "es")
    return item, unit_text(item, 2.0)
