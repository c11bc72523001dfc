"""A formula made larger or smaller: by a factor, to flour, pieces, pans, whole eggs or sticks, or what there is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite, pi

from batchwright.base.errors import Fault, InputError
from batchwright.formula.contents import match_of
from batchwright.formula.formula import flat_lines, flour_g, mapped, rewritten
from batchwright.formula.mixture import mixture_of
from batchwright.formula.records import Formula, Line

EGG_G = 50.0  # one large egg without its shell: USDA SR, item 1123, household measures
STICK_G = 113.4  # a quarter pound: 453.592 g / 4, NIST Handbook 44 Appendix C
SHAPES = ("round", "rectangle")


@dataclass(frozen=True, slots=True)
class Pan:
    """A pan by its inside: `shape` one of SHAPES, length (or diameter) and width [cm], depth of the filling [cm]."""

    shape: str
    length_cm: float
    width_cm: float = 0.0
    depth_cm: float = 1.0

    @property
    def area_cm2(self) -> float:
        """Return the area of its floor [cm2]; a rectangle without width is square."""
        if self.shape == "round":
            return pi / 4.0 * self.length_cm**2
        return self.length_cm * (self.width_cm or self.length_cm)

    @property
    def volume_ml(self) -> float:
        """Return floor times depth [ml]."""
        return self.area_cm2 * self.depth_cm


def scaled(formula: Formula, factor: float) -> Formula:
    """Return every amount and the yield times a factor [above 0]; parts, process and method stay.

    Piece weight stays: there are more pieces. Raises InputError for a factor that is not above 0.
    """
    if not (isfinite(factor) and factor > 0.0):
        raise InputError([Fault("factor", factor, "a number above 0")])

    def change(_: int, line: Line) -> Line:
        return line if line.grams is None else rewritten(line, line.grams.scaled(factor, "g"))

    makes = formula.makes
    if makes is not None and makes.low is not None:
        high = makes.high if makes.high is not None else makes.low
        low, high = makes.low * factor, high * factor
        count = f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"
        makes = replace(makes, text=f"{count} {makes.what}".strip(), low=low, high=high)
    return replace(mapped(formula, change), makes=makes)


def scaled_to_flour(formula: Formula, wanted_g: float, counted: Iterable[str] = ()) -> Formula:
    """Return a formula with that much flour [g, above 0]; counted: what else counts as flour."""
    flour = flour_g(formula, counted).likely
    if flour <= 0.0:
        hint = "scale to pieces or to a mass, or choose what counts as flour"
        raise InputError([Fault("flour", "0 g", "a formula with flour in it", hint)])
    return scaled(formula, _above_nought("flour_g", wanted_g) / flour)


def scaled_to_mass(formula: Formula, wanted_g: float) -> Formula:
    """Return a formula that gives that much mix [g, above 0], after processes and before the oven."""
    mix = mixture_of(formula)
    return scaled(formula, _above_nought("mass_g", wanted_g) / float(mix.factor @ mix.grams))


def scaled_to_pieces(formula: Formula, pieces: int, piece_g: float = 0.0, scrap_percent: float = 0.0) -> Formula:
    """Return a formula for a number of raw pieces.

    pieces: how many [1 or more]; piece_g: mass of one raw piece, 0 for that of the formula [g]; scrap_percent: of the
    mix that is left over [0..95 %]. Raises InputError where no piece weight is known.
    """
    faults = []
    each_g = piece_g or formula.piece_g or 0.0
    if pieces < 1:
        faults.append(Fault("pieces", pieces, "1 or more"))
    if not (isfinite(each_g) and each_g > 0.0):
        faults.append(Fault("piece_g", each_g, "above 0 g", "weigh one raw piece and say what it weighs"))
    if not 0.0 <= scrap_percent <= 95.0:
        faults.append(Fault("scrap_percent", scrap_percent, "0 to 95 %"))
    if faults:
        raise InputError(faults)
    return replace(scaled_to_mass(formula, pieces * each_g / (1.0 - scrap_percent / 100.0)), piece_g=each_g)


def scaled_to_pans(formula: Formula, was: Sequence[Pan], now: Sequence[Pan], by: str = "area") -> Formula:
    """Return a formula that fills other pans as high (by "area") or as full (by "volume").

    was: the pans the formula is written for; now: the pans at hand [one or more each]. Raises InputError for a pan
    without size, an unknown shape or another word for `by`.
    """
    faults = [Fault(f"{name} pan", pan, f"a shape of {', '.join(SHAPES)} and sizes above 0 cm")
              for name, pans in (("old", was), ("new", now)) for pan in pans
              if pan.shape not in SHAPES or not pan.volume_ml > 0.0 or pan.length_cm <= 0.0]  # fmt: skip
    faults += [Fault(f"{name} pans", 0, "one or more") for name, pans in (("old", was), ("new", now)) if not pans]
    if by not in ("area", "volume"):
        faults.append(Fault("by", by, "area or volume"))
    if faults:
        raise InputError(faults)
    sizes = [sum(pan.area_cm2 if by == "area" else pan.volume_ml for pan in pans) for pans in (was, now)]
    return scaled(formula, sizes[1] / sizes[0])


def scaled_to_count(formula: Formula, ingredient: str, unit_g: float, count: int = 0) -> Formula:
    """Return a formula in which an ingredient comes to a whole number of units.

    ingredient: a name of the shelf or an item of the formula; unit_g: one unit [g, above 0]; count: how many, 0 for the
    nearest whole number, at least one. Raises InputError where the formula has none of it.
    """
    unit = _above_nought("unit_g", unit_g)
    held = sum(line.grams.likely for line in _lines_of(formula, ingredient) if line.grams is not None)
    if held <= 0.0:
        raise InputError([Fault("ingredient", ingredient, "an ingredient of the formula with an amount")])
    if count < 0:
        raise InputError([Fault("count", count, "1 or more, or 0 for the nearest")])
    return scaled(formula, (count or max(1, round(held / unit))) * unit / held)


def scaled_to_whole_eggs(formula: Formula, count: int = 0, egg_g: float = EGG_G) -> Formula:
    """Return a formula with whole eggs; count: how many, 0 for the nearest; egg_g: one egg without shell [g]."""
    return scaled_to_count(formula, "whole egg", egg_g, count)


def scaled_to_whole_sticks(formula: Formula, count: int = 0) -> Formula:
    """Return a formula with whole sticks of butter (a quarter pound each); count: how many, 0 for the nearest."""
    return scaled_to_count(formula, "butter", STICK_G, count)


def scaled_to_limit(formula: Formula, at_hand_g: Mapping[str, float]) -> tuple[Formula, str]:
    """Return the largest batch that what is at hand allows, and the ingredient that limits it.

    at_hand_g: ingredient (name of the shelf or item of the formula) to what there is of it [g, above 0]; others are
    taken as plenty. Raises InputError for an ingredient the formula does not have, or has no amount of.
    """
    faults = [] if at_hand_g else [Fault("at_hand_g", "nothing", "at least one ingredient and its grams")]
    factors: dict[str, float] = {}
    for name, grams in at_hand_g.items():
        held = sum(line.grams.likely for line in _lines_of(formula, name) if line.grams is not None)
        if held <= 0.0:
            faults.append(Fault("ingredient", name, "an ingredient of the formula with an amount"))
        elif not (isfinite(grams) and grams > 0.0):
            faults.append(Fault(name, grams, "above 0 g", "without any of it there is no batch"))
        else:
            factors[name] = grams / held
    if faults:
        raise InputError(faults)
    scarce = min(factors, key=lambda name: factors[name])
    return scaled(formula, factors[scarce]), scarce


def _lines_of(formula: Formula, ingredient: str) -> list[Line]:
    """Return the lines of an ingredient, by shelf name, by item, or by what the shelf takes the words for."""
    wanted = match_of(Line(ingredient, ingredient, None)).ingredient
    salted = {"butter": ("butter", "butter, salted")}.get(wanted or "", (wanted,))
    return [each.line for each in flat_lines(formula)
            if each.line.item.casefold() == ingredient.casefold()
            or (wanted is not None and match_of(each.line).ingredient in salted)]  # fmt: skip


def _above_nought(field: str, value: float) -> float:
    if not (isfinite(value) and value > 0.0):
        raise InputError([Fault(field, value, "above 0")])
    return value
