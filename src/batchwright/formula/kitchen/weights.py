"""The ways to write one ingredient, and what each weighs: spoons and cups by convention, sticks, eggs, grams."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from math import ceil, floor

from batchwright.base.tables import rows
from batchwright.formula.kitchen.grid import (
    MOST_CUPS,
    PINCH,
    SMALLEST_SPOON,
    TBSP_PER_STICK,
    TSP_PER,
    Amount,
    KitchenWay,
    stick_amounts,
    volume_amounts,
)
from batchwright.formula.kitchen.pieces import EGGS, Counted, counted_ways, pieces_of
from batchwright.formula.records import Line, ReadLine, Written
from batchwright.formula.weighing.item import fill_for, named
from batchwright.pantry.ingredient import load_ingredients
from batchwright.pantry.measures_conventions import Convention
from batchwright.pantry.measures_counts import piece_of

# What a writing out of the ordinary costs, in squares of a line's tolerance (our own choice): what the recipe counts in
# pieces goes into cups only where that is nearer by a whole tolerance, an egg into spoons only where it is by two.
CUPS_OF_PIECES = 1.0
BEATEN_EGG = 4.0
ODD_GRAMS = 0.1  # grams that no multiple of 5 shows, from 100 g on
STICK_CLASSES = ("butter", "margarine")


@dataclass(frozen=True, slots=True)
class Weights:
    """What the tools hold of one ingredient: a teaspoon and a stick [g], and the pieces it may be counted in.

    `doubt_fraction` is how far one cook's level fill lies from another's, `filling` how it is filled where that is not
    the page's way. A tool that does not serve is None or empty.
    """

    teaspoon_g: float | None = None
    doubt_fraction: float = 0.0
    stick_g: float | None = None
    pieces: tuple[Counted, ...] = ()
    filling: str = ""

    @property
    def cup_g(self) -> float | None:
        """What a cup holds [g]."""
        return None if self.teaspoon_g is None else TSP_PER["cup"] * self.teaspoon_g


def weights_of(line: Line, convention: Convention, any_eggs: bool = False) -> Weights:
    """Return what cups, spoons, sticks and eggs hold of a line's ingredient.

    convention: whose cup; any_eggs: whether eggs of another size than the line's may be taken.
    An ingredient without a measure of its own or of its kind gives weights without tools: it can only be weighed.
    """
    kind = class_of(line)
    filling = _own_filling(line, convention)
    before, after = line.prepared
    what = named(ReadLine(line.text, item=line.item, before=(before,), after=after, filling=filling))
    if line.ingredient is not None:  # the cook may have chosen another than the name alone would find
        what = replace(what, match=replace(what.match, ingredient=line.ingredient, ingredient_class=kind))
    fill, _ = fill_for(what, convention)
    level = _table().get(kind, _table()["*"])[1]
    if fill.kin:  # what its kind weighs: as doubtful as the kind is wide
        level = max(level, (fill.high_g_cup - fill.low_g_cup) / (2 * fill.likely_g_cup))
    words = what.words
    stick = piece_of(words, line.ingredient, kind, "stick") if kind in STICK_CLASSES else None
    return Weights(
        None if fill.what == "any" else fill.likely_g_cup / TSP_PER["cup"], level,
        None if stick is None else stick.likely_g, pieces_of(line, words, kind, any_eggs),
        filling,
    )  # fmt: skip


def _own_filling(line: Line, convention: Convention) -> str:
    """Return how a line's cup is filled where the page's convention does not say it; a writing is never heaped."""
    if line.filling == "packed" or (line.filling == "sifted" and line.ingredient not in convention.cups):
        return line.filling
    return ""


@cache
def _table() -> dict[str, tuple[float, float]]:
    """Return class to (how far a line may move, how far level fills differ), as fractions."""
    return {row["ingredient_class"]: (float(row["tolerance_percent"]) / 100.0, float(row["level_fill_percent"]) / 100.0)
            for row in rows("kitchen_tolerances")}  # fmt: skip


def tolerance_fraction(line: Line) -> float:
    """Return how far a line of this class may move [0..1], by `kitchen_tolerances.csv`."""
    return _table().get(class_of(line), _table()["*"])[0]


def class_of(line: Line) -> str:
    """Return the class of a line's ingredient, empty where the shelf does not have it."""
    one = load_ingredients().get(line.ingredient or "")
    return one.ingredient_class if one else ""


def ways_of(line: Line, weights: Weights, mass_g: float, units: str) -> tuple[KitchenWay, ...]:
    """Return every way to write a line of `mass_g` [> 0, g], none where it can only be weighed.

    units: "us" or "metric". Metric keeps eggs by count and gives all else in grams.
    """
    if weights.pieces and line.ingredient in EGGS:
        return (*counted_ways(weights.pieces, mass_g), *_beaten(weights))
    other = _measured_ways(weights, mass_g, units)
    if weights.pieces:
        dearer = (replace(way, cost=way.cost + CUPS_OF_PIECES) for way in other)
        return (*counted_ways(weights.pieces, mass_g), *dearer)
    return other


def _measured_ways(weights: Weights, mass_g: float, units: str) -> tuple[KitchenWay, ...]:
    """Return the ways by cup, spoon and stick, or in grams."""
    if units == "metric":
        return tuple(_gram_ways(mass_g))
    if weights.stick_g is not None:
        tablespoon_g = weights.stick_g / TBSP_PER_STICK
        return tuple(KitchenWay(size * tablespoon_g, one.cost, one.amounts, one.text, weights.doubt_fraction)
                     for size, one in _sticks())  # fmt: skip
    if weights.teaspoon_g is None:
        return ()
    return tuple(_volume_ways(weights.teaspoon_g, mass_g, weights.doubt_fraction))


@cache
def _volumes() -> tuple[tuple[float, Amount], ...]:
    """Return the amounts of cups and spoons with their teaspoons."""
    return tuple((float(one.size), one) for one in volume_amounts())


@cache
def _sticks() -> tuple[tuple[float, Amount], ...]:
    """Return the amounts of sticks with their tablespoons."""
    return tuple((float(one.size), one) for one in stick_amounts())


def _volume_ways(teaspoon_g: float, mass_g: float, doubt: float) -> Iterator[KitchenWay]:
    """Yield cups and spoons; a pinch alone where that is nearer than the smallest spoon; nothing below half a pinch."""
    if mass_g < 0.5 * float(PINCH) * teaspoon_g:
        return
    if mass_g < 0.5 * float(PINCH + SMALLEST_SPOON) * teaspoon_g:
        yield KitchenWay(float(PINCH) * teaspoon_g, 0.0, (Written(1.0, 1.0, "pinch"),), "1 pinch", doubt)
    elif mass_g <= TSP_PER["cup"] * MOST_CUPS * teaspoon_g:
        for size, one in _volumes():
            yield KitchenWay(size * teaspoon_g, one.cost, one.amounts, one.text, doubt)


def _beaten(weights: Weights) -> Iterator[KitchenWay]:
    """Yield beaten egg by the spoon, below a quarter cup."""
    if weights.teaspoon_g is not None:
        for size, one in _volumes():
            if one.amounts[0].unit != "cup":
                yield KitchenWay(size * weights.teaspoon_g, BEATEN_EGG + one.cost, one.amounts, one.text,
                                 weights.doubt_fraction, "beaten")  # fmt: skip


def _gram_ways(mass_g: float) -> Iterator[KitchenWay]:
    """Yield whole grams around a mass; half grams below 10 g, tenths below 1 g; fives from 100 g are the rounder."""
    step = 0.1 if mass_g < 1 else 0.5 if mass_g < 10 else 1.0
    for count in range(max(1, floor(0.7 * mass_g / step)), ceil(1.4 * mass_g / step) + 1):
        grams = round(count * step, 1)
        cost = ODD_GRAMS if mass_g >= 100 and grams % 5 else 0.0
        yield KitchenWay(grams, cost, (Written(grams, grams, "gram"),), f"{grams:g} g")
