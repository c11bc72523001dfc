"""The least strain under which an impossible label could hold, and the nearest label that does."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from batchwright.original.region.bounds import Region, region
from batchwright.original.region.problem import Floats, PanelRow, Problem, Row
from batchwright.original.region.simplex import least, nonempty

SHARE_UNIT = 0.02  # what one unit of strain is for a row that has no width of its own: 2 points of share
WORK = 4_000_000  # cells of rows that a search for contradictions may look at
ROUNDS = 4
SLACK = 0.5  # how far beyond the least relaxation a nearest label gives, in widths of the interval


def fits(found: Region) -> bool:
    """Return whether any formula satisfies every row of a region."""
    rows, limits, equal, _ = found.demands()
    return nonempty(rows, limits, equal)


def programs(found: Region, most: int = 400) -> int:
    """Return how many linear programs a search over this region may take: fewer for long lists [1 to most]."""
    return max(min(most, WORK // found.G.size), 20)


def irreducible(found: Region, tries: int | None = None) -> tuple[tuple[str, ...], int, bool]:
    """Return lines that contradict one another, how many programs that took, and whether none can be left out.

    tries: most programs (absent: `programs`). Lines are left out in groups first, in ever smaller ones then.
    """
    tries = programs(found) if tries is None else tries
    pushes = strain(found, {}).push
    involved = {line for line, push in zip(found.lines, pushes, strict=True) if push > 1e-9}
    kept = [line for line in found.label_lines() if line in involved]
    used = 2
    if fits(found.only(kept)):  # rounding took a line from the proof
        kept = list(found.label_lines())
    size = 1 if len(kept) <= 8 else len(kept) // 4
    while size:
        place = 0
        while place < len(kept):
            if used >= tries:
                return tuple(kept), used, False
            rest = kept[:place] + kept[place + size :]
            used += 1
            if fits(found.only(rest)):
                place += size
            else:
                kept = rest
        size //= 2
    return tuple(kept), used, True


@dataclass(frozen=True, slots=True)
class Strain:
    """The least total strain that lets a region hold.

    total: sum over rows of weight x excess; point: (N,) the formula there; excess: (R,) by how much each row is missed
    there; push: (R,) how strongly each row presses (its multiplier, >= 0).
    """

    total: float
    point: Floats
    excess: Floats
    push: Floats


def strain(found: Region, weights: dict[str, float]) -> Strain:
    """Return the least strain of a region whose label rows may be missed at a price (elastic linear program).

    weights: price per unit of excess by line, 1 where absent, infinite = may not be missed. Structure may never be
    missed. Each row of a line has its own excess, in the scale of the region's rows.
    """
    rows, limits, equal, places = found.demands()
    price = np.array([weights.get(found.lines[place], 1.0) for place in places])
    price[[found.families[place] == "structure" for place in places]] = np.inf
    loose = np.flatnonzero(np.isfinite(price))
    width, count = rows.shape[1], len(loose)
    twice = loose[equal[loose]]  # an equality may be missed to either side
    lifted = np.zeros((len(rows), width + count + len(twice)))
    lifted[:, :width] = rows
    lifted[loose, width + np.arange(count)] = -1.0
    lifted[twice, width + count + np.arange(len(twice))] = 1.0
    cost = np.concatenate([np.zeros(width), price[loose], price[twice]])
    total, point, multipliers = least(lifted, limits, equal, cost)
    push = np.zeros(len(found.h))
    push[places] = np.abs(multipliers)
    if not np.isfinite(total):
        return Strain(np.inf, np.full(width, np.nan), np.full(len(found.h), np.nan), push)
    point = point[:width]
    return Strain(total, point, np.maximum(found.G @ point - found.h, 0.0), push)


def nearest(problem: Problem, slack: float = SLACK) -> Problem:
    """Return the problem relaxed as little as makes it possible; the same problem where it is possible already.

    The relaxation is the least in total, each row's excess in units of its own interval's width (rows without a width:
    2 points of share), in few lines rather than many (weights divided by 1 + excess, four rounds). What was missed is
    then given `slack` widths more [-, >= 0], so that a range stays instead of one point. Relaxed lines keep their
    texts; compare rows and panel with the given ones to see what was relaxed.
    Raises ValueError where the structure itself is impossible.
    """
    found = region(problem)
    if fits(found):
        return problem
    unit = interval_units(problem)
    units = np.array([max(unit.get(line, SHARE_UNIT), 1e-6) for line in found.lines])
    weights = dict(zip(found.lines, 1.0 / units, strict=True))
    for _ in range(ROUNDS):
        least_strain = strain(found, weights)
        point = least_strain.point
        if not np.isfinite(point).all():
            raise ValueError("these ingredients cannot make up a whole at all")
        # a line once missed by far costs little more: the fault stays in few lines instead of bending all others
        missed = dict.fromkeys(found.lines, 0.0)
        for line, excess in zip(found.lines, least_strain.excess / units, strict=True):
            missed[line] = max(missed[line], float(excess))
        weights = {line: 1.0 / size / (1.0 + missed[line]) for line, size in zip(found.lines, units, strict=True)}
    demands = tuple(_row_relaxed(row, point, slack) for row in problem.rows)
    panel = tuple(_figure_relaxed(problem, figure, point, slack) for figure in problem.panel)
    return replace(problem, rows=demands, panel=panel)


def interval_units(problem: Problem) -> dict[str, float]:
    """Return, by line, the width of a panel interval in the scale of its rows."""
    units = {}
    for figure in problem.panel:
        largest = max(float(np.abs(contents(problem, figure)[1]).max()), abs(figure.high), 1e-9)
        units[figure.line] = figure_width(figure) / (largest if np.isfinite(largest) else max(abs(figure.low), 1.0))
    return units


def figure_width(figure: PanelRow) -> float:
    """Return a panel interval's width; a tenth of the figure where it is open or a point."""
    width = figure.high - figure.low
    if np.isfinite(width) and width > 0.0:
        return width
    ends = [abs(end) for end in (figure.low, figure.high) if np.isfinite(end)]
    return max(0.1 * max(ends, default=1.0), 1e-3)


def contents(problem: Problem, figure: PanelRow) -> tuple[Floats, Floats]:
    """Return least and most content of a figure's nutrient, each (n,), water as what is left of it without loss."""
    if figure.nutrient in problem.nutrients:
        place = problem.nutrients.index(figure.nutrient)
        return problem.low[place], problem.high[place]
    return problem.water_low, problem.water_high


def figure_at(problem: Problem, figure: PanelRow, point: Floats) -> tuple[float, float]:
    """Return the least and most content per 100 g finished that a formula x (N,) gives a panel figure's nutrient."""
    parts = figure.parts or tuple(range(problem.m))
    shares = np.where(np.isin(np.asarray(problem.part_of), parts), point[: problem.n], 0.0)
    finished = max(float(point[[problem.n + part for part in parts]].sum()), 1e-9)
    low, high = (float(content @ shares) for content in contents(problem, figure))
    if figure.nutrient not in problem.nutrients:
        lost = 100.0 * (float(shares.sum()) - finished)
        low, high = low - lost, high - lost
    return low / finished, high / finished


def _row_relaxed(row: Row, point: Floats, slack: float) -> Row:
    """Return a row moved so far that the formula meets it with some slack."""
    value = sum(factor * float(point[unknown]) for unknown, factor in row.coefficients.items())
    size = max(abs(factor) for factor in row.coefficients.values()) if row.coefficients else 1.0
    give = slack * SHARE_UNIT * size
    low, high = row.low, row.high
    if value < low - 1e-9:
        low = value - give
    if value > high + 1e-9:
        high = value + give
    return row if (low, high) == (row.low, row.high) else replace(row, low=low, high=high)


def _figure_relaxed(problem: Problem, figure: PanelRow, point: Floats, slack: float) -> PanelRow:
    """Return a panel figure moved so far that the formula meets it with some slack."""
    least_value, most_value = figure_at(problem, figure, point)
    give = slack * figure_width(figure)
    low, high = figure.low, figure.high
    if most_value < low * (1.0 - 1e-9) - 1e-9:
        low = most_value - give
    if least_value > high * (1.0 + 1e-9) + 1e-9:
        high = least_value + give
    return figure if (low, high) == (figure.low, figure.high) else replace(figure, low=low, high=high)
