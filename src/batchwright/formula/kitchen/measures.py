"""A formula in grams written back in cups, spoons, sticks and eggs, so that the ratios between its lines move least."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from batchwright.base.errors import Fault, InputError
from batchwright.formula.formula import is_flour
from batchwright.formula.kitchen.choice import Asked, Choice, Way, choose
from batchwright.formula.kitchen.grid import TSP_PER, KitchenWay, amounts_text
from batchwright.formula.kitchen.records import UNITS, UNKNOWN, Writing, WrittenLine
from batchwright.formula.kitchen.weights import (
    Weights,
    tolerance_fraction,
    ways_of,
    weights_of,
)
from batchwright.formula.mixture import flat_lines
from batchwright.formula.records import Formula, Line
from batchwright.pantry.measures_conventions import Convention, convention_of, filling_names
from batchwright.pantry.measures_units import unit_of

AS_WEIGHED = "as this recipe was weighed"
USUAL_CONVENTION = "spooned"  # where neither page nor recipe says: what flour bags print, 30 g a quarter cup
MOST_RESCALE_PERCENT = 50.0  # beyond, it is another batch: scale the formula itself
BATCH_TOLERANCE_FRACTION = 0.25  # a batch a tenth larger costs what 0.4 of a tolerance costs on one line (our choice)
LEAST_SHOWN_CHANGE = 0.005  # half a percent of the batch; less is one piece in two hundred
EXACT_FRACTION = 0.005  # half a percent: what a kitchen scale of 1 g shows of 200 g


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A line with grams on its way to the choice."""

    part: str
    line: Line
    mass_g: float
    weights: Weights
    ways: tuple[KitchenWay, ...]
    tolerance_fraction: float


def write_measures(
    formula: Formula, convention: str = "", rescale_percent: float = 10.0, units: str = "us", any_eggs: bool = False
) -> Writing:
    """Return a formula in kitchen measures: of all writings that the tools allow, the one whose ratios move least.

    For the card that a stranger cooks from. What is made least is defined in `formula.kitchen_choice`; the least is
    proven, not searched for. Lines that the writing or the measure itself moves too far are marked to be weighed.

    formula: the formula in grams; convention: whose cup ("spooned", "dip and sweep" ...), where empty the one it was
    weighed by [text]; rescale_percent: how far the whole batch may grow or shrink [%, 0..50]; units: "us" or "metric";
    any_eggs: whether eggs of another size than the recipe's may be taken.
    Raises InputError for units or a rescale that are not allowed, and for a formula no line of which has grams.
    """
    lines = [(each.part_name, each.line) for each in flat_lines(formula)]
    _check(lines, rescale_percent, units)
    cup = _convention(convention, formula)
    weighed = {place: _weighed(part, line, cup, units, any_eggs)
               for place, (part, line) in enumerate(lines) if _has_grams(line)}  # fmt: skip
    written = {place: one for place, one in weighed.items() if len(one.ways) > 1}  # a pinch has no say in the rest
    choice = _chosen(list(written.values()), rescale_percent)
    taken = {place: 0 for place, one in weighed.items() if one.ways} | dict(zip(written, choice.ways, strict=True))
    grams = _grams(weighed, taken, choice.factor)
    base = [place for place, one in weighed.items() if is_flour(one.line)] or list(weighed)
    before, after = _percents({place: one.mass_g for place, one in weighed.items()}, base), _percents(grams, base)
    out = []
    for place, (part, line) in enumerate(lines):
        if place in weighed:
            one = weighed[place]
            way = one.ways[taken[place]] if place in taken else None
            out.append(_line(one, way, grams[place], choice.factor, before[place], after[place]))
        else:
            out.append(_without_grams(part, line))
    percent_of = "all" if len(base) == len(weighed) else "flour"
    notes = _size_notes(list(written.values()), choice)
    return Writing(
        formula.name, tuple(out), cup.name, _convention_text(formula, cup) if units == "us" else "", units,
        choice.factor, percent_of, choice.moved, 0.0, notes,
    )  # fmt: skip


def _grams(weighed: Mapping[int, _Weighed], taken: Mapping[int, int], factor: float) -> dict[int, float]:
    """Return what each line weighs: by its writing, or what is asked for where it is put on the scale."""
    return {place: one.ways[taken[place]].mass_g if place in taken else one.mass_g * factor
            for place, one in weighed.items()}  # fmt: skip


def _percents(grams: Mapping[int, float], base: Sequence[int]) -> dict[int, float]:
    """Return each line in percent of the lines of the base."""
    whole = sum(grams[place] for place in base)
    return {place: 100.0 * mass_g / whole for place, mass_g in grams.items()}


def _convention(asked: str, formula: Formula) -> Convention:
    """Return how the page's cups are filled: as asked for, else as the formula was weighed, else as usual.

    All are US cups. A recipe that was weighed by the cup without saying how it is filled gets the same cup back.
    """
    try:
        found = convention_of(asked or formula.convention)
    except InputError:
        if asked:
            raise
        found = convention_of("")  # a formula from elsewhere may name whatever it likes
    if asked and found.place not in ("", "US"):
        allowed = ", ".join((*filling_names(), "128 g"))
        raise InputError([Fault("convention", asked, allowed, "Measures are written in US cups.")])
    if not found.cups:
        usual = convention_of(USUAL_CONVENTION)
        by_cup = any(_by_volume(each.line) for each in flat_lines(formula) if each.line.ingredient in usual.cups)
        return Convention(AS_WEIGHED, "", {}) if by_cup and not asked else usual
    return replace(found, name=found.name.removesuffix(f", {found.place} cup"), place="")


def _by_volume(line: Line) -> bool:
    """Whether the grams of a line come from cups or spoons alone."""
    units = [unit_of(each.unit) for each in line.amounts if each.unit]
    return bool(units) and all(unit is not None and unit.volume_ml is not None for unit in units)


def _has_grams(line: Line) -> bool:
    return line.grams is not None and line.grams.likely > 0


def _check(lines: list[tuple[str, Line]], rescale_percent: float, units: str) -> None:
    """Raise InputError with all that is wrong."""
    faults = []
    if not 0 <= rescale_percent <= MOST_RESCALE_PERCENT:
        faults.append(Fault("rescale_percent", rescale_percent, f"0 to {MOST_RESCALE_PERCENT:g}",
                            "For another batch size scale the formula first."))  # fmt: skip
    if units not in UNITS:
        faults.append(Fault("units", units, " or ".join(UNITS)))
    if not any(_has_grams(line) for _, line in lines):
        faults.append(Fault("formula", len(lines), "at least one line with grams", "Give its lines amounts."))
    if faults:
        raise InputError(faults)


def _weighed(part: str, line: Line, convention: Convention, units: str, any_eggs: bool) -> _Weighed:
    mass_g = line.grams.likely if line.grams else 0.0
    weights = weights_of(line, convention, any_eggs)
    return _Weighed(part, line, mass_g, weights, ways_of(line, weights, mass_g, units),
                    tolerance_fraction(line))  # fmt: skip


def _chosen(written: list[_Weighed], rescale_percent: float) -> Choice:
    """Return the choice over the lines that can be written."""
    asked = [Asked(one.mass_g, one.tolerance_fraction, [Way(way.mass_g, way.cost) for way in one.ways])
             for one in written]  # fmt: skip
    share = rescale_percent / 100.0
    return choose(asked, 1.0 - share, 1.0 + share, BATCH_TOLERANCE_FRACTION)


def _line(
    one: _Weighed, way: KitchenWay | None, grams: float, factor: float, before: float, after: float
) -> WrittenLine:  # fmt: skip
    """Return a line with grams as written, with what must be weighed and why."""
    wanted = one.mass_g * factor
    doubt = way.doubt_fraction if way is not None and way.doubt_fraction else None
    why = _why(one, way, after / before - 1.0, doubt)
    noun = one.line.item
    if way is not None and way.noun:
        noun = f"{way.noun} {noun}" if way.noun == "beaten" else way.noun
    return WrittenLine(
        one.part, noun, "" if way is None else way.text, grams, wanted, abs(grams / wanted - 1.0) <= EXACT_FRACTION,
        bool(why), why, () if way is None else way.amounts, one.line.ingredient, one.line.preparation, before, after,
        100.0 * one.tolerance_fraction, None if doubt is None else 100.0 * doubt,
        one.weights.filling if way is not None and way.amounts[0].unit in TSP_PER else "",
    )  # fmt: skip


def _why(one: _Weighed, way: KitchenWay | None, shift: float, doubt: float | None) -> str:
    """Return why a line must be weighed, empty where it need not be."""
    if way is None:
        cup_g = one.weights.cup_g
        if cup_g is None:
            return "no cup, spoon or piece is known for it"
        return "too little for a pinch" if one.mass_g < cup_g else "more than 4 quarts"
    if way.amounts[0].unit == "pinch":
        return "too little for the smallest spoon"
    reasons = []
    if abs(shift) > one.tolerance_fraction:
        reasons.append(f"its writing moves it {abs(100 * shift):.0f} %")
    if doubt is not None and doubt > one.tolerance_fraction:
        reasons.append(f"one cook's measure is up to {100 * doubt:.0f} % off another's")
    return "; ".join(reasons)


def _without_grams(part: str, line: Line) -> WrittenLine:
    """Return a line that has no grams as it was written."""
    marks = [mark for mark in line.marks if mark in ("to taste", "for serving", "optional")]
    none = "0 g of it" if line.grams is not None else ""
    why = ", ".join(marks) or none or f'{UNKNOWN} "{line.text}"'
    return WrittenLine(part, line.item or line.text, amounts_text(line.amounts[:1]), None, None, why=why,
                       amounts=line.amounts[:1], ingredient=line.ingredient, preparation=line.preparation)  # fmt: skip


def _convention_text(formula: Formula, convention: Convention) -> str:
    """Return the sentence a page prints once: what a cup of its first flour weighs, and how it is filled."""
    for each in flat_lines(formula):
        if not is_flour(each.line) or each.line.ingredient not in convention_of(USUAL_CONVENTION).cups:
            continue
        cup_g = weights_of(each.line, convention).cup_g
        if cup_g is not None:
            return f"1 cup {each.line.item} = {cup_g:.0f} g, {convention.name}"
    return ""


def _size_notes(written: list[_Weighed], choice: Choice) -> tuple[str, ...]:
    """Say what the change of the batch's size gains, in parts of what the lines allow (root mean square)."""
    if abs(choice.factor - 1.0) < LEAST_SHOWN_CHANGE:
        return ()
    here, there = (sqrt(one.moved / len(written)) for one in (choice, _chosen(written, 0.0)))
    word = "larger" if choice.factor > 1 else "smaller"
    return (f"The batch is {abs(100 * (choice.factor - 1)):.1f} % {word}: so the lines move {here:.2f} of what they "
            f"allow on the whole, at the size as given {there:.2f}.",)  # fmt: skip
