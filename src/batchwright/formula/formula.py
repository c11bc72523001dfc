"""A formula's own arithmetic: flour basis, baker's and total percent, changed amounts, merged lines."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition_records import ends
from batchwright.formula.contents import Floats, class_group, class_groups, match_of
from batchwright.formula.mixture import FlatLine, flat_lines
from batchwright.formula.processes import mark_times
from batchwright.formula.records import Formula, Line, Part, Written

__all__ = ["FlatLine", "LinePercent", "bakers_percent", "bakers_table", "flat_lines", "flour_g", "is_flour", "mapped",
           "merged", "total_g", "total_percent", "with_grams"]  # fmt: skip

FLOUR = "flour"
METHOD = "amounts in quadrature, lines of one ingredient together, each side by itself"


@dataclass(frozen=True, slots=True)
class LinePercent:
    """One weighed line in percent: `at` its place in `flat_lines`, `bakers_percent` of the flour (None where there is
    no flour), `total_percent` of all that is written, `flour` whether it counts as flour."""

    at: int
    part: str
    line: Line
    bakers_percent: Estimate | None
    total_percent: Estimate
    flour: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return part, item, grams and both percents."""
        return {
            "part": self.part,
            "item": self.line.item,
            "ingredient": self.line.ingredient,
            "grams": None if self.line.grams is None else ends(self.line.grams),
            "bakers_percent": None if self.bakers_percent is None else ends(self.bakers_percent),
            "total_percent": ends(self.total_percent),
            "flour": self.flour,
        }


def is_flour(line: Line, counted: Iterable[str] = ()) -> bool:
    """Return whether a line counts as flour.

    Flours and whole flours of cereals, pulses and roots always do, self-raising ones whole. counted: what else does, as
    chosen: a group of ingredients ("starch", "cocoa and chocolate"), a class of the shelf ("cocoa", "starch", "grain"),
    or the name of one ingredient ("cocoa powder", "almond flour").
    """
    found = match_of(line)
    group = class_group(found.ingredient_class)
    chosen = {each.casefold() for each in counted}
    names = {group, found.ingredient_class or "", (found.ingredient or "").casefold(), line.item.casefold()}
    return group == FLOUR or bool(chosen & (names - {""}))


def _weighed(formula: Formula) -> list[tuple[int, FlatLine, Estimate]]:
    return [(place, each, each.line.grams) for place, each in enumerate(flat_lines(formula)) if each.line.grams]


@dataclass(frozen=True, slots=True)
class _Masses:
    """Grams (n,) of the weighed lines, their doubts up and down, and which lines are of one ingredient."""

    grams: Floats
    up: Floats
    down: Floats
    group: np.ndarray

    def sum(self) -> Estimate:
        """Return the mass of all."""
        total = float(self.grams.sum())
        up, down = (float(np.sqrt((np.bincount(self.group, side) ** 2).sum())) for side in (self.up, self.down))
        return Estimate(total, max(0.0, total - down), total + up, unit="g", method=METHOD)


def _masses(weighed: Sequence[tuple[int, FlatLine, Estimate]]) -> _Masses:
    names: dict[str, int] = {}
    group = np.array([names.setdefault(match_of(each.line).ingredient or each.line.item or str(place), len(names))
                      for place, each, _ in weighed])  # fmt: skip
    grams = np.array([each.likely for *_, each in weighed], dtype=float)
    up = np.array([max(0.0, each.high - each.likely) for *_, each in weighed])
    down = np.array([max(0.0, each.likely - each.low) for *_, each in weighed])
    return _Masses(grams, up, down, group)


def total_g(formula: Formula) -> Estimate:
    """Return the mass of all weighed lines as written [g]; 0 where none has grams."""
    weighed = _weighed(formula)
    return _masses(weighed).sum() if weighed else Estimate(0.0, 0.0, 0.0, unit="g")


def flour_g(formula: Formula, counted: Iterable[str] = ()) -> Estimate:
    """Return the flour baker's percent is reckoned on [g]; 0 where there is none. counted: see `is_flour`."""
    weighed = [each for each in _weighed(formula) if is_flour(each[1].line, counted)]
    return _masses(weighed).sum() if weighed else Estimate(0.0, 0.0, 0.0, unit="g")


def bakers_table(formula: Formula, counted: Iterable[str] = ()) -> tuple[LinePercent, ...]:
    """Return every weighed line in percent of the flour and of the whole, in order of use.

    counted: what else counts as flour, see `is_flour`; a word that names no group, class or ingredient of the formula
    raises InputError. Without flour baker's percent is None and total percent stands alone.
    """
    counted = tuple(counted)
    weighed = _weighed(formula)
    if not weighed:
        hint = "write how much of each ingredient goes in"
        raise InputError([Fault("formula", formula.name or "no name", "at least one line with an amount", hint)])
    _check_counted(weighed, counted)
    masses = _masses(weighed)
    floury = np.array([is_flour(each.line, counted) for _, each, _ in weighed])
    if masses.grams.sum() <= 0.0:
        raise InputError([Fault("formula", "0 g in all", "amounts above 0", "at least one line must weigh something")])
    of_flour = _percents(masses, floury, "% of flour") if masses.grams[floury].sum() > 0.0 else None
    of_whole = _percents(masses, np.ones(len(weighed), dtype=bool), "%")
    return tuple(
        LinePercent(place, each.part_name, each.line, None if of_flour is None else of_flour[row], of_whole[row],
                    bool(floury[row]))
        for row, (place, each, _) in enumerate(weighed)
    )  # fmt: skip


def _percents(masses: _Masses, base: np.ndarray, unit: str) -> list[Estimate]:
    """Return each line in percent of the sum of some lines; base: (n,) which lines are summed.

    Each group of lines is shifted to its ends, one at a time; what that does to a line is added up in quadrature. For
    all lines outside the group it is one factor, so that the work grows with the lines and not with their square.
    """
    whole = float(masses.grams[base].sum())
    likely = 100.0 * masses.grams / whole
    up, down = np.zeros(len(likely)), np.zeros(len(likely))
    for shift in (masses.up, -masses.down):
        moved = whole + np.bincount(masses.group, np.where(base, shift, 0.0))  # the base as each group moves it
        moved = np.maximum(moved, 1e-12 * whole)
        others = whole / moved - 1.0
        own = 100.0 * (masses.grams + shift) / moved[masses.group] - likely
        for side, sign in ((up, 1.0), (down, -1.0)):
            squares = np.maximum(sign * others, 0.0) ** 2
            rest = np.maximum(squares.sum() - squares[masses.group], 0.0)
            side += likely**2 * rest + np.maximum(sign * own, 0.0) ** 2
    low, high = np.maximum(0.0, likely - np.sqrt(down)), likely + np.sqrt(up)
    return [Estimate(float(middle), float(least), float(most), unit=unit, method=METHOD)
            for middle, least, most in zip(likely, low, high, strict=True)]  # fmt: skip


def _check_counted(weighed: Sequence[tuple[int, FlatLine, Estimate]], counted: Sequence[str]) -> None:
    known = {*class_groups()}
    for _, each, _ in weighed:
        found = match_of(each.line)
        known |= {found.ingredient_class or "", found.ingredient or "", each.line.item.casefold()}
    strange = [word for word in counted if word.casefold() not in {each.casefold() for each in known}
               and word.casefold() not in _CLASSES]  # fmt: skip
    if strange:
        allowed = "cocoa, starch, grain, or an ingredient of this formula"
        raise InputError([Fault("counted", word, allowed, "it counts as flour besides flour") for word in strange])


_CLASSES = frozenset({"cocoa", "starch", "grain", "cereal", "nut", "fibre", "protein", "baked good"})
"""Classes of the shelf that someone may count as flour."""


def bakers_percent(formula: Formula, counted: Iterable[str] = ()) -> tuple[LinePercent, ...]:
    """Return every weighed line in percent of the flour; raises InputError where there is no flour to reckon on."""
    table = bakers_table(formula, counted)
    if table[0].bakers_percent is None:
        hint = "choose what counts as flour (cocoa, starch, an ingredient), or read the percent of the whole"
        raise InputError([Fault("flour", "0 g", "a formula with flour in it", hint)])
    return table


def total_percent(formula: Formula) -> tuple[LinePercent, ...]:
    """Return every weighed line in percent of all that is written, whether there is flour or not."""
    return bakers_table(formula)


def mapped(formula: Formula, change: Callable[[int, Line], Line]) -> Formula:
    """Return a formula with every line changed.

    change: takes the place in `flat_lines` and the line, and returns the line; the further ingredients of a line are
    changed in their turn.
    """
    place = -1

    def walk(line: Line) -> Line:
        nonlocal place
        place += 1
        here = change(place, line)
        return replace(here, also=tuple(walk(each) for each in line.also)) if line.also else here

    return replace(formula, parts=tuple(replace(part, lines=tuple(walk(line) for line in part.lines))
                                        for part in formula.parts))  # fmt: skip


def rewritten(line: Line, grams: Estimate) -> Line:
    """Return a line with another mass; its text is written anew, its measure in cups and spoons no longer holds."""
    shown = f"{grams.likely:.1f}".rstrip("0").rstrip(".") if grams.likely < 100 else f"{grams.likely:.0f}"
    said, preparation = f"{shown} g {line.item or line.text}", line.preparation
    if line.process == "reduced" and line.grams is not None and line.grams.likely > 0.0:
        preparation = mark_times(line, grams.likely / line.grams.likely)
    text = f"{said}, {preparation}" if preparation else said
    written = (Written(grams.likely, grams.likely, "gram"),)
    return replace(line, text=text, grams=grams, amounts=written, preparation=preparation)


def with_grams(formula: Formula, grams: Mapping[int, float | Estimate]) -> Formula:
    """Return a formula with other amounts for some lines.

    grams: place in `flat_lines` to grams as written [g, 0 or more], a number for what was weighed exactly. The other
    lines stay. Raises InputError for a place that is not there or a mass below 0.
    """
    count = len(flat_lines(formula))
    faults = [Fault("line", place, f"0 to {count - 1}") for place in grams if not 0 <= place < count]
    plain = {place: each if isinstance(each, Estimate) else Estimate(each, each, each, unit="g")
             for place, each in grams.items()}  # fmt: skip
    faults += [Fault(f"grams of line {place}", each.likely, "0 g or more")
               for place, each in plain.items() if not 0.0 <= each.likely < float("inf")]  # fmt: skip
    if faults:
        raise InputError(faults)
    return mapped(formula, lambda place, line: rewritten(line, plain[place]) if place in plain else line)


def merged(formula: Formula) -> Formula:
    """Return a formula in which lines of one ingredient in the same part, stage and process are one line.

    Masses and their ends add up (lines of one ingredient err together). Lines without grams stay as they are; further
    ingredients of a line become lines of their own.
    """
    parts = []
    for part in formula.parts:
        found: dict[object, Line] = {}
        for place, each in enumerate(flat_lines(replace(formula, parts=(part,)))):
            line = replace(each.line, also=())
            key: object = (line.ingredient or line.item.casefold(), line.stage, line.process)
            if line.grams is None or not (line.ingredient or line.item):
                found[place] = line
            elif key in found:
                found[key] = _added(found[key], line)
            else:
                found[key] = line
        parts.append(Part(part.name, tuple(found.values()), part.bake_loss_percent))
    return replace(formula, parts=tuple(parts))


def _added(first: Line, second: Line) -> Line:
    ones = [line.grams for line in (first, second) if line.grams is not None]
    grams = Estimate(sum(each.likely for each in ones), sum(each.low for each in ones),
                     sum(each.high for each in ones), unit="g")  # fmt: skip
    said = tuple(dict.fromkeys((*first.assumptions, *second.assumptions)))
    return replace(rewritten(first, grams), assumptions=said, marks=tuple(dict.fromkeys((*first.marks, *second.marks))))
