"""One slip that would explain an impossible label: a lost digit, kJ for kcal, a wrong serving weight, swapped items."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from math import exp, log

import numpy as np

from batchwright.original.answers.digits import digit_slips, printed_scale
from batchwright.original.region.bounds import region
from batchwright.original.region.problem import Problem, Row
from batchwright.original.region.slip import Slip, Suspicion, room, suspicion, with_figure
from batchwright.original.region.strain import figure_width, fits, irreducible
from batchwright.original.sampling.plausible import lean
from batchwright.original.sampling.prior import Prior

KILOJOULES = 4.184  # kJ per kcal (thermochemical), Regulation (EU) 1169/2011 prints both
ENERGY_GRID = 5.0  # kcal: a figure converted from a rounded one is that far off, 21 CFR 101.9(c)(1)
MOST_LINES = 25  # contradictions of more lines: order lines are neither tried as swapped nor alone
MANY_ITEMS = 14  # longer lists: only neighbours are tried as swapped
# How often each slip is taken to happen, before the label is looked at; shared out over the lines it may sit in.
OFTEN = {"kilojoules": 1.0, "serving": 1.0, "digit": 1.0, "swap": 1.0, "percent": 0.3}
NEIGHBOURS = 0.6  # of swapped pairs, how many stand side by side
WEIGHED = 40  # so many of the likeliest mended labels are held against how such foods are usually made


def suspects(
    problem: Problem,
    serving_lines: Collection[str] | None = None,
    conflict: Collection[str] | None = None,
    prior: Prior | None = None,
) -> tuple[Suspicion, ...]:
    """Return the single slips that would make an impossible label possible, the likeliest first; () where it fits.

    serving_lines: the panel lines given per serving, which a wrong serving weight moves together (absent: all);
    conflict: lines known to contradict one another (absent: found here): a slip elsewhere cannot mend the label.
    prior: how such foods are usually made (absent: not looked at): of two mended labels the more usual comes first.
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
        *single_slips(problem, lines, len(lines) <= MOST_LINES),
        *serving_slips(problem, lines, serving_lines),
        *_percent_slips(problem, lines),
    ]
    weighed = _usual([suspicion(slip) for slip in slips], prior)
    ranked = sorted(joined(weighed), key=lambda one: -one.score)
    mending = [one for one in ranked if one.room >= 0.0]
    return (*mending, *_line_slips(problem, lines), *(one for one in ranked if one.room < 0.0))


def single_slips(problem: Problem, lines: frozenset[str], swaps: bool = True) -> Iterator[Slip]:
    """Yield the slips in one figure or in the order that may sit in the lines named, not yet looked at.

    swaps: whether exchanged items are tried.
    """
    yield from _unit_slips(problem, lines)
    yield from digit_slips(problem, lines, OFTEN["digit"])
    if swaps:
        yield from _swap_slips(problem, lines)


def _usual(found: list[Suspicion], prior: Prior | None) -> list[Suspicion]:
    """Return suspicions with the strain of the mended label taken from the score; of those that mend, the likeliest."""
    if prior is None:
        return found
    ranked = sorted((one for one in found if one.room >= 0.0), key=lambda one: -one.score)[:WEIGHED]
    strains = [0.0 if (there := lean(one.mended, prior)) is None else there.strain for one in ranked]
    weighed = [replace(one, score=one.score - strain) for one, strain in zip(ranked, strains, strict=True)]
    return [*weighed, *(one for one in found if one.room < 0.0)]


def joined(found: list[Suspicion]) -> list[Suspicion]:
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


def _unit_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Slip]:
    """Yield energy given in the other unit."""
    for figure in problem.panel:
        if figure.nutrient != "energy_kcal" or not np.isfinite(figure.high) or figure.line not in conflict:
            continue
        middle, half = (figure.low + figure.high) / 2.0, figure_width(figure) / 2.0
        unit = printed_scale(problem)[figure.line]
        for factor, words, share in ((1.0 / KILOJOULES, "is this kJ?", 0.999), (KILOJOULES, "are these kcal?", 0.001)):
            wide = max(half * factor, ENERGY_GRID * unit)
            mended = with_figure(problem, figure, max(middle * factor - wide, 0.0), middle * factor + wide)
            chance = OFTEN["kilojoules"] * share
            yield Slip("kilojoules", (figure.line,), f"{figure.line}: {words}", chance, mended)


def serving_slips(problem: Problem, conflict: frozenset[str], serving_lines: Collection[str] | None) -> Iterator[Slip]:
    """Yield a serving weight ten times too large or too small."""
    lines = tuple(figure.line for figure in problem.panel if serving_lines is None or figure.line in serving_lines)
    if len(lines) < 2 or conflict.isdisjoint(lines):
        return
    for factor, words in ((10.0, "too large"), (0.1, "too small")):
        check = f"serving weight: is it ten times {words}?"
        yield Slip("serving", lines, check, OFTEN["serving"] / 2.0, scaled(problem, factor, serving_lines))


def _percent_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Slip]:
    """Yield declared percentages with a digit lost."""
    lines = tuple(dict.fromkeys(row.line for row in problem.rows if row.family == "quid"))
    for line in lines:
        if line not in conflict:
            continue
        without = replace(problem, rows=tuple(row for row in problem.rows if row.line != line))
        if fits(region(without)):
            yield Slip("percent", (line,), f"{line}: is the percentage right?", OFTEN["percent"] / len(lines), without)


def _line_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Suspicion]:
    """Yield the lines whose removal alone mends the label."""
    found = region(problem)
    lines = found.label_lines()
    tried = conflict if len(conflict) <= MOST_LINES else conflict & {figure.line for figure in problem.panel}
    for line in lines:
        if line in tried and fits(found.only(set(lines) - {line})):
            mended = replace(
                problem,
                rows=tuple(row for row in problem.rows if row.line != line),
                panel=tuple(figure for figure in problem.panel if figure.line != line),
            )
            yield Suspicion("line", (line,), f"{line}: look again", 0.0, -500.0, mended)


def _swap_slips(problem: Problem, conflict: frozenset[str]) -> Iterator[Slip]:
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
            names = " and ".join(_called([problem.names[at] for at in sorted(item)]) for item in (first, second))
            chance = OFTEN["swap"] * (NEIGHBOURS / near if beside else (1.0 - NEIGHBOURS) / max(far, 1))
            mended = replace(problem, rows=tuple(rows))
            yield Slip("swap", tuple(dict.fromkeys(lines)), f"order: are {names} swapped?", chance, mended)


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


__all__ = ["Suspicion", "check_words", "joined", "room", "scaled", "serving_slips", "single_slips", "suspects"]


def _called(names: Sequence[str]) -> str:
    """Return what an item of so many leaves is called: what they all stand under, else all of them."""
    heads = {name.split(" > ")[0] for name in names}
    return heads.pop() if len(heads) == 1 and len(names) > 1 else " + ".join(names)
