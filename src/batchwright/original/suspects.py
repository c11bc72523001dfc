"""One slip that would explain an impossible label: a lost digit, kJ for kcal, a wrong serving weight, swapped items."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import exp, log

import numpy as np

from batchwright.base.errors import InputError
from batchwright.original.bounds import ratio_bounds, region
from batchwright.original.panel_rounding import printed_interval
from batchwright.original.problem import PanelRow, Problem, Row
from batchwright.original.simplex import least
from batchwright.original.strain import contents, figure_width, fits, interval_units, irreducible

KILOJOULES = 4.184  # kJ per kcal (thermochemical), Regulation (EU) 1169/2011 prints both
FIGURE = re.compile(r"\d+(?:[.,]\d+)?")
DEEPEST = 0.5  # the middle of an interval lies half a width from its ends
ENERGY_GRID = 5.0  # kcal: a figure converted from a rounded one is that far off, 21 CFR 101.9(c)(1)
REACH = 40.0  # violations beyond so many interval widths are not told apart
MANY_ITEMS = 14  # longer lists: only neighbours are tried as swapped
# How often each slip is taken to happen, before the label is looked at; shared out over the lines it may sit in.
OFTEN = {"kilojoules": 1.0, "serving": 1.0, "digit": 1.0, "swap": 1.0, "percent": 0.3}
NEIGHBOURS = 0.6  # of swapped pairs, how many stand side by side
SHARPNESS = 1.5  # a mended label that fits with room to spare counts more: score + SHARPNESS x log(room)


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One slip and how well the label fits without it.

    kind: digit, kilojoules, serving, swap, percent or line (only: something is wrong there); lines: the label lines it
    sits in; check: what to look at, in words; room: how deep inside all panel intervals a formula can lie then
    [widths, up to 0.5; negative: still missed by so much]; score: for ranking, higher is likelier;
    mended: the problem as it would be without the slip.
    """

    kind: str
    lines: tuple[str, ...]
    check: str
    room: float
    score: float
    mended: Problem


def suspects(
    problem: Problem, serving_lines: Collection[str] | None = None, conflict: Collection[str] | None = None
) -> tuple[Suspicion, ...]:
    """Return the single slips that would make an impossible label possible, the likeliest first; () where it fits.

    serving_lines: the panel lines given per serving, which a wrong serving weight moves together (absent: all);
    conflict: lines known to contradict one another (absent: found here): a slip elsewhere cannot mend the label.
    Where no slip mends the label, those that leave least to explain come last, by what they leave. Between them stand
    the lines whose removal alone mends the label (kind "line").
    """
    if conflict is None:
        found = region(problem)
        if fits(found):
            return ()
        conflict = irreducible(found)[0]
    lines = frozenset(conflict)
    slips = [
        *_unit_slips(problem, lines),
        *_serving_slips(problem, lines, serving_lines),
        *_digit_slips(problem, lines),
        *_percent_slips(problem, lines),
        *_swap_slips(problem, lines),
    ]
    ranked = sorted(_joined(slips), key=lambda one: -one.score)
    mending = [one for one in ranked if one.room >= 0.0]
    return (*mending, *_line_slips(problem, lines), *(one for one in ranked if one.room < 0.0))


def _joined(found: list[Suspicion]) -> list[Suspicion]:
    """Return one suspicion per digit line: its best reading, scored by all of its readings together."""
    groups: dict[object, list[Suspicion]] = {}
    for place, one in enumerate(found):
        groups.setdefault(one.lines if one.kind == "digit" else place, []).append(one)
    joined = []
    for group in groups.values():
        best = max(group, key=lambda one: one.score)
        joined.append(replace(best, score=best.score + log(sum(exp(one.score - best.score) for one in group))))
    return joined


def check_words(found: Collection[Suspicion], most: int = 3) -> str:
    """Return what to re-check, the likeliest first, as one sentence; only slips that mend the label."""
    mending = [one for one in found if one.room >= 0.0]
    words = [one.check for one in mending if one.kind != "line"] or [one.check for one in mending]
    return "; ".join(dict.fromkeys(words[:most]))


def scaled(problem: Problem, factor: float, lines: Collection[str] | None = None) -> Problem:
    """Return the problem with panel intervals per 100 g times a factor [> 0], as another serving weight makes them.

    lines: the panel lines given per serving (absent: all). A serving weight printed ten times too large is mended
    by factor 10.
    """
    panel = tuple(
        replace(figure, low=figure.low * factor, high=figure.high * factor)
        if lines is None or figure.line in lines
        else figure
        for figure in problem.panel
    )
    return replace(problem, panel=panel)


def room(problem: Problem) -> float:
    """Return how deep inside all panel intervals one formula can lie [widths, up to 0.5]; negative: missed by so much.

    Order, groups and structure always hold; -inf where they cannot.
    """
    found = region(problem)
    rows, limits, equal, places = found.demands()
    units = interval_units(problem)
    depth = np.array(
        [units.get(found.lines[place], 0.0) if found.families[place] == "panel" else 0.0 for place in places]
    )
    # depth + REACH is the last unknown, so that it is never negative
    lifted = np.concatenate([rows, depth[:, None]], axis=1)
    most = np.zeros((1, lifted.shape[1]))
    most[0, -1] = 1.0
    lifted = np.concatenate([lifted, most])
    limits = np.append(limits + REACH * depth, REACH + DEEPEST)
    value, _, _ = least(lifted, limits, np.append(equal, False), -most[0])
    return -value - REACH if np.isfinite(value) else -np.inf


def _suspicion(kind: str, lines: tuple[str, ...], check: str, chance: float, mended: Problem) -> Suspicion:
    """Return a slip scored by its chance and the room the mended label leaves."""
    depth = room(mended)
    depth = depth if depth < 0.0 else max(depth, 0.0)
    score = log(chance) + (SHARPNESS * log(depth + 0.02) if depth >= -1e-9 else -1e3 + max(depth, -1e3))
    return Suspicion(kind, lines, check, 0.0 if -1e-9 <= depth < 0.0 else depth, score, mended)


def _with_figure(problem: Problem, figure: PanelRow, low: float, high: float) -> Problem:
    """Return the problem with another interval for one panel figure."""
    panel = tuple(replace(one, low=low, high=high) if one is figure else one for one in problem.panel)
    return replace(problem, panel=panel)


def _unit_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Suspicion]:
    """Yield energy given in the other unit."""
    for figure in problem.panel:
        if figure.nutrient != "energy_kcal" or not np.isfinite(figure.high) or figure.line not in conflict:
            continue
        middle, half = (figure.low + figure.high) / 2.0, figure_width(figure) / 2.0
        unit = _scale(problem)[figure.line]
        for factor, words, share in ((1.0 / KILOJOULES, "is this kJ?", 0.999), (KILOJOULES, "are these kcal?", 0.001)):
            wide = max(half * factor, ENERGY_GRID * unit)
            mended = _with_figure(problem, figure, max(middle * factor - wide, 0.0), middle * factor + wide)
            chance = OFTEN["kilojoules"] * share
            yield _suspicion("kilojoules", (figure.line,), f"{figure.line}: {words}", chance, mended)


def _serving_slips(
    problem: Problem, conflict: frozenset[str], serving_lines: Collection[str] | None
) -> Iterator[Suspicion]:
    """Yield a serving weight ten times too large or too small."""
    lines = tuple(figure.line for figure in problem.panel if serving_lines is None or figure.line in serving_lines)
    if len(lines) < 2 or conflict.isdisjoint(lines):
        return
    for factor, words in ((10.0, "too large"), (0.1, "too small")):
        check = f"serving weight: is it ten times {words}?"
        yield _suspicion("serving", lines, check, OFTEN["serving"] / 2.0, scaled(problem, factor, serving_lines))


def _digit_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Suspicion]:
    """Yield panel figures with a digit lost or a decimal point shifted."""
    scale = _scale(problem)
    count = len(problem.panel)
    for figure in problem.panel:
        if figure.line not in conflict:
            continue
        without = replace(problem, panel=tuple(one for one in problem.panel if one is not figure))
        if not fits(region(without)):
            continue
        low, high = _possible(without, figure)
        for value, share in _readings(figure):
            least_value, most_value = _stands_for(figure, value, scale[figure.line])
            if most_value < low or least_value > high:
                continue
            words = f"{figure.line}: was a digit or a decimal point lost ({value:g})?"
            mended = _with_figure(problem, figure, least_value, most_value)
            yield _suspicion("digit", (figure.line,), words, OFTEN["digit"] * share / count, mended)


def _possible(without: Problem, figure: PanelRow) -> tuple[float, float]:
    """Return the range per 100 g finished that the rest of the label allows a figure."""
    n, width = without.n, without.n + without.m
    parts = figure.parts or tuple(range(without.m))
    inside = np.isin(np.asarray(without.part_of), parts)
    finished = np.zeros(width)
    finished[[n + part for part in parts]] = 1.0
    numerators = np.zeros((2, width))
    shift = 0.0 if figure.nutrient in without.nutrients else 100.0
    for row, content in zip(numerators, contents(without, figure), strict=True):
        row[:n] = np.where(inside, content - shift, 0.0)
        row[n:] = shift * finished[n:]
    low, high = ratio_bounds(without, numerators, finished)
    return float(low[0]), float(high[1])


def _scale(problem: Problem) -> dict[str, float]:
    """Return, by panel line, the amount per 100 g that one printed unit stands for, where it can be read."""
    own: dict[str, float] = {}
    for figure in problem.panel:
        number = FIGURE.search(figure.line)
        value = float(number.group().replace(",", ".")) if number else 0.0
        if value > 0.0 and np.isfinite(figure.high) and figure.high > 0.0:
            own[figure.line] = (figure.low + figure.high) / 2.0 / value
    usual = float(np.median(list(own.values()))) if own else 1.0
    return {
        figure.line: own[figure.line] if figure_width(figure) < 0.3 * figure.high and figure.line in own else usual
        for figure in problem.panel
    }


def _readings(figure: PanelRow) -> Iterator[tuple[float, float]]:
    """Yield what a printed figure may have been before the slip, with its share of the chance."""
    number = FIGURE.search(figure.line)
    if number is None or not np.isfinite(figure.high):
        return
    text = number.group().replace(",", ".")
    value = float(text)
    shifted = {value * 10.0: 0.2, value / 10.0: 0.1} if value else {}
    options = {text[:place] + digit + text[place:] for place in range(len(text) + 1) for digit in "0123456789"}
    if text.startswith("0."):  # the lost digit stood where the nought stands
        options |= {digit + text[1:] for digit in "123456789"}
    if "." not in text:
        options |= {f"{text}.{digit}" for digit in "123456789"}
    values = {float(option) for option in options if not re.match(r"0\d", option)} - {value, *shifted}
    yield from shifted.items()
    for other in sorted(values):
        yield other, (1.0 - sum(shifted.values())) / len(values)


def _stands_for(figure: PanelRow, value: float, scale: float) -> tuple[float, float]:
    """Return the interval per 100 g that another printed value stands for: as the US rules round, else as given."""
    half = figure_width(figure) / 2.0
    low, high = max(value * scale - half, 0.0), value * scale + half
    try:
        rounded = printed_interval("US", figure.nutrient, f"{value:g}")
    except InputError:  # a nutrient without rounding rules
        return low, high
    return (rounded.low * scale, rounded.high * scale) if rounded.lawful else (low, high)


def _percent_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Suspicion]:
    """Yield declared percentages with a digit lost."""
    lines = tuple(dict.fromkeys(row.line for row in problem.rows if row.family == "quid"))
    for line in lines:
        if line not in conflict:
            continue
        without = replace(problem, rows=tuple(row for row in problem.rows if row.line != line))
        if fits(region(without)):
            yield _suspicion(
                "percent", (line,), f"{line}: is the percentage right?", OFTEN["percent"] / len(lines), without
            )


def _line_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Suspicion]:
    """Yield the lines whose removal alone mends the label."""
    found = region(problem)
    lines = found.label_lines()
    for line in lines:
        if line in conflict and fits(found.only(set(lines) - {line})):
            mended = replace(
                problem,
                rows=tuple(row for row in problem.rows if row.line != line),
                panel=tuple(figure for figure in problem.panel if figure.line != line),
            )
            yield Suspicion("line", (line,), f"{line}: look again", 0.0, -500.0, mended)


def _swap_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Suspicion]:
    """Yield pairs of items in the wrong order: neighbours, in shorter lists any two of one list."""
    chains = _chains(problem.rows)
    near = sum(len(chain) - 1 for chain in chains)
    far = sum(len(chain) * (len(chain) - 1) // 2 for chain in chains if len(chain) <= MANY_ITEMS) - near
    for chain in chains:
        for one, other in combinations(range(len(chain)), 2):
            beside = other == one + 1
            if not beside and len(chain) > MANY_ITEMS:
                continue
            first, second = chain[one], chain[other]
            exchange = {first: second, second: first}
            rows, lines = [], []
            for row in problem.rows:
                changed = _exchanged(row, exchange) if row.family == "order" else row
                rows.append(changed)
                if changed is not row:
                    lines.append(row.line)
            if conflict.isdisjoint(lines):
                continue
            names = " and ".join(" + ".join(problem.names[place] for place in sorted(item)) for item in (first, second))
            chance = OFTEN["swap"] * (NEIGHBOURS / near if beside else (1.0 - NEIGHBOURS) / max(far, 1))
            mended = replace(problem, rows=tuple(rows))
            yield _suspicion("swap", tuple(dict.fromkeys(lines)), f"order: are {names} swapped?", chance, mended)


Item = frozenset[int]


def _sides(row: Row) -> tuple[Item, Item] | None:
    """Return the items that an order row sets one before the other; None where it is of another form."""
    if not (row.low == 0.0 and row.high == np.inf) and not (row.low == -np.inf and row.high == 0.0):
        return None
    sign = 1.0 if row.low == 0.0 else -1.0
    more = frozenset(place for place, factor in row.coefficients.items() if factor * sign > 0.0)
    less = frozenset(place for place, factor in row.coefficients.items() if factor * sign < 0.0)
    return (more, less) if more and less else None


def _chains(rows: tuple[Row, ...]) -> list[list[Item]]:
    """Return the lists of items that the order rows string together."""
    pairs = [sides for row in rows if row.family == "order" and (sides := _sides(row)) is not None]
    follower = dict(pairs)
    starts = [more for more in follower if more not in set(follower.values())]
    chains = []
    for item in starts:
        chain = [item]
        while chain[-1] in follower and follower[chain[-1]] not in chain:
            chain.append(follower[chain[-1]])
        chains.append(chain)
    return chains


def _exchanged(row: Row, exchange: dict[Item, Item]) -> Row:
    """Return an order row with two items exchanged; the same row where it names neither."""
    sides = _sides(row)
    if sides is None or not (sides[0] in exchange or sides[1] in exchange):
        return row
    more, less = (exchange.get(side, side) for side in sides)
    coefficients = {**dict.fromkeys(more, 1.0), **dict.fromkeys(less, -1.0)}
    return replace(row, coefficients=coefficients, low=0.0, high=np.inf)


__all__ = ["Suspicion", "check_words", "room", "scaled", "suspects"]
