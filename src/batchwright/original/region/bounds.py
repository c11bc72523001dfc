"""The sure range: what a label guarantees of every share, by linear programming over all that it says."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.original.region.highs import Ints, Marks
from batchwright.original.region.problem import Floats, PanelRow, Problem
from batchwright.original.region.simplex import Ends, ends

WATER = "water_g"  # a measured moisture: the one figure that baking changes
SUM_LINE = "the shares make up the whole"
SIGN_LINE = "no share is negative"
LOSS_LINE = "what {part} loses is water, at most {percent:g} % of it"


@dataclass(frozen=True, slots=True)
class Region:
    """All a label says as rows `G x <= h`, each scaled to a largest factor of 1.

    G: (R, N) with N = n + m unknowns; h: (R,); lines, families: R texts; equal: (R,) true at the first of two rows that
    together make an equality (the second, its mirror image, follows). The last N rows are x >= 0.
    """

    G: Floats
    h: Floats
    lines: tuple[str, ...]
    families: tuple[str, ...]
    equal: Marks

    def demands(self) -> tuple[Floats, Floats, Marks, Ints]:
        """Return rows, limits and equality marks without mirror images and signs, and each one's place in G."""
        mirror = np.zeros(len(self.h), dtype=bool)
        mirror[1:] = self.equal[:-1]
        places = np.flatnonzero(~mirror[: len(self.h) - self.G.shape[1]])
        return self.G[places], self.h[places], self.equal[places], places

    def only(self, kept: Collection[str]) -> Region:
        """Return the region of the structure and the label lines named."""
        mask = np.array([f == "structure" or line in kept for line, f in zip(self.lines, self.families, strict=True)])
        places = np.flatnonzero(mask)
        return Region(
            self.G[places],
            self.h[places],
            tuple(self.lines[place] for place in places),
            tuple(self.families[place] for place in places),
            self.equal[places],
        )

    def label_lines(self) -> tuple[str, ...]:
        """Return every label line once, in the order of the rows; structure is none."""
        pairs = zip(self.lines, self.families, strict=True)
        return tuple(dict.fromkeys(line for line, family in pairs if family != "structure"))


@dataclass(frozen=True, slots=True)
class SureBounds:
    """What is certain if the label is right.

    low, high: (n,) shares in the mass as added [fractions]; finished_low, finished_high: (m,) finished mass of each
    part as a fraction of the whole mass as added. All are nan where no formula satisfies every line (`feasible` false).
    """

    low: Floats
    high: Floats
    finished_low: Floats
    finished_high: Floats
    feasible: bool


def linear_form(
    problem: Problem, include_panel: bool = True
) -> tuple[Floats, Floats, tuple[str, ...], tuple[str, ...]]:
    """Return all that a label says as rows `G x <= h` with the label line and the family of each row.

    Returns G (R, N), h (R,), R lines and R families, N = n + m. An equality is two rows. Every row is scaled to a
    largest factor of 1; a row of zeros that always holds is left out, and so are the panel figures with
    `include_panel` false. Composition doubt is exact: `low F <= A s <= high F` for some A between the two ends is the
    pair `A_low s <= high F`, `A_high s >= low F` as no share is negative.
    Raises InputError where a panel row speaks of a nutrient or part that the problem does not hold.
    """
    found = region(problem, include_panel)
    return found.G, found.h, found.lines, found.families


def region(problem: Problem, include_panel: bool = True) -> Region:
    """Return the rows of `linear_form` with the equality marks."""
    n, width = problem.n, problem.n + problem.m
    part_of = np.asarray(problem.part_of)
    dry = 1.0 - np.clip(problem.water_high, 0.0, 100.0) / 100.0
    panel = [pair for figure in (problem.panel if include_panel else ()) for pair in panel_demands(problem, figure)]
    first, others = 1 + 3 * problem.m, len(problem.rows)
    rows = np.zeros((first + others + len(panel), width))
    lows, highs = np.full(len(rows), -np.inf), np.full(len(rows), np.inf)
    lines, families = [SUM_LINE], ["structure"] * first
    rows[0, :n] = lows[0] = highs[0] = 1.0
    for part, name in enumerate(problem.part_names):
        inside = part_of == part
        place = 1 + 3 * part
        rows[place : place + 3, :n] = inside, inside * (1.0 - problem.loss_max), inside * dry
        rows[place : place + 3, n + part] = -1.0
        lows[place], highs[place + 1 : place + 3] = 0.0, 0.0
        lines += [LOSS_LINE.format(part=name, percent=100.0 * problem.loss_max)] * 3
    for place, demand in enumerate(problem.rows, start=first):
        row = rows[place]
        for unknown, factor in demand.coefficients.items():
            row[unknown] = factor
        lows[place], highs[place] = demand.low, demand.high
        lines.append(demand.line)
        families.append(demand.family)
    for place, (row, low, high, line) in enumerate(panel, start=first + others):
        rows[place], lows[place], highs[place] = row, low, high
        lines.append(line)
        families.append("panel")
    return _scaled(rows, lows, highs, lines, families)


def panel_demands(problem: Problem, figure: PanelRow) -> list[tuple[Floats, float, float, str]]:
    """Return the rows (N,) with low, high and line that one panel figure makes.

    `water_g` is the moisture of the finished food: water as added less the loss.
    """
    n, width = problem.n, problem.n + problem.m
    finished = np.zeros(width)
    inside: Floats | float = 1.0
    if figure.parts:
        if any(not 0 <= part < problem.m for part in figure.parts):
            raise InputError([Fault("panel.parts", list(figure.parts), f"places of parts, 0 to {problem.m - 1}")])
        inside = np.isin(np.asarray(problem.part_of), figure.parts).astype(float)
        finished[[n + part for part in figure.parts]] = 1.0
    else:
        finished[n:] = 1.0
    if figure.nutrient == WATER:
        least, most = problem.water_low - 100.0, problem.water_high - 100.0
        shift = 100.0
    elif figure.nutrient in problem.nutrients:
        place = problem.nutrients.index(figure.nutrient)
        least, most = problem.low[place], problem.high[place]
        shift = 0.0
    else:
        allowed = ", ".join((*problem.nutrients, WATER))
        raise InputError([Fault("panel.nutrient", figure.nutrient, f"one of {allowed}")])
    demands = []
    if np.isfinite(figure.high):
        row = (shift - figure.high) * finished
        row[:n] += inside * least
        demands.append((row, -np.inf, 0.0, figure.line))
    if np.isfinite(figure.low):
        row = (shift - figure.low) * finished
        row[:n] += inside * most
        demands.append((row, 0.0, np.inf, figure.line))
    return demands


def _scaled(rows: Floats, lows: Floats, highs: Floats, lines: list[str], families: list[str]) -> Region:
    """Return two-sided rows as one-sided ones, scaled, with the signs behind them."""
    width = rows.shape[1]
    scale = np.abs(rows).max(axis=1)
    scale[scale == 0.0] = 1.0
    rows, lows, highs = rows / scale[:, None], lows / scale, highs / scale
    equal = lows == highs
    upper, lower = np.isfinite(highs), np.isfinite(lows)
    always = ~rows.any(axis=1) & (lows <= 0.0) & (highs >= 0.0)
    upper &= ~always
    lower &= ~always
    # the upper side of a row stands before its lower side
    order = np.argsort(np.concatenate([2 * np.flatnonzero(upper), 2 * np.flatnonzero(lower) + 1]))
    places = np.concatenate([np.flatnonzero(upper), np.flatnonzero(lower)])[order]
    signs = np.concatenate([np.ones(upper.sum()), -np.ones(lower.sum())])[order]
    G = np.concatenate([rows[places] * signs[:, None], -np.eye(width)])
    h = np.concatenate([np.where(signs > 0, highs[places], -lows[places]), np.zeros(width)])
    return Region(
        G,
        h,
        (*(lines[place] for place in places), *(SIGN_LINE for _ in range(width))),
        (*(families[place] for place in places), *("structure" for _ in range(width))),
        np.concatenate([equal[places] & (signs > 0), np.zeros(width, dtype=bool)]),
    )


def region_ends(found: Region, objectives: Floats) -> tuple[Ends, Ints]:
    """Return the ends of linear functions (r, N) over a region, and the place in its G behind each multiplier."""
    rows, limits, equal, places = found.demands()
    return ends(rows, limits, equal, objectives), places


def sure_bounds(problem: Problem) -> SureBounds:
    """Return the exact range of every share and of every part's finished mass under all that the label says."""
    answer, _ = region_ends(region(problem), np.eye(problem.n + problem.m))
    low, high = np.clip(answer.low, 0.0, 1.0), np.clip(answer.high, 0.0, 1.0)
    n = problem.n
    return SureBounds(low[:n], high[:n], low[n:], high[n:], answer.feasible)


def bounds_of(problem: Problem, objectives: Floats) -> tuple[Floats, Floats]:
    """Return the exact least and greatest values (r,), (r,) of linear functions (r, N) of x; nan where nothing fits."""
    answer, _ = region_ends(region(problem), np.atleast_2d(np.asarray(objectives, dtype=float)))
    return answer.low, answer.high


def ratio_bounds(problem: Problem, numerator: Floats, denominator: Floats) -> tuple[Floats, Floats]:
    """Return the exact least and greatest ratios (numerator . x) / (denominator . x), as baker's percent needs them.

    numerator: (N,) or (r, N); denominator: (N,), never negative on the region. Returns (r,) and (r,): infinite where
    the denominator can vanish, nan where nothing fits or the denominator is always zero. With y = t x and
    denominator . y = 1 the ratio is linear (Charnes and Cooper 1962).
    """
    numerators = np.atleast_2d(np.asarray(numerator, dtype=float))
    rows, limits, equal, _ = region(problem).demands()
    lifted = np.concatenate([rows, -limits[:, None]], axis=1)
    whole = np.append(np.asarray(denominator, dtype=float), 0.0)
    size = float(np.abs(whole).max()) or 1.0
    lifted = np.concatenate([lifted, whole[None, :] / size])
    lifted_limits = np.append(np.zeros(len(rows)), 1.0)
    objectives = np.concatenate([numerators / size, np.zeros((len(numerators), 1))], axis=1)
    answer = ends(lifted, lifted_limits, np.append(equal, True), objectives)
    return answer.low, answer.high
