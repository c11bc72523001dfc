"""What the sampler walks in: the region a label allows and the density over it, as arrays.

State x = (s_1 .. s_n, u_1 .. u_m): shares as added (sum 1) and each part's loss as a fraction of that part's mass where
positive; a negative u means "no loss", so that the lump of chance at no loss is walked through like any other region.
Finished mass of part p: f_p = S_p (1 - max(0, u_p)) with S_p the part's mass as added.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import erf, log, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from batchwright.original.region.problem import Floats, PanelRow, Problem
from batchwright.original.sampling.prior import Prior

ENERGY_FACTORS = {"fat_g": 9.0, "carbohydrate_g": 4.0, "protein_g": 4.0}  # kcal per g, 21 CFR 101.9(c)(1)(i)(B)
MOISTURE = "water_g"  # measured in the finished food
NO_LOSS_SIDE = 0.03  # least width of the side of u that means no loss
WIDENED = 60.0  # a panel interval without an upper end, in g per 100 g


@dataclass(frozen=True, slots=True)
class Ground:
    """Arrays as `_chord.c` names them: n leaves, m parts, k panel rows, g rows on shares alone, c rows on (s, f)."""

    n: int
    m: int
    k: int
    g: int
    c: int
    soft: int
    part: NDArray[np.int32]
    mu: Floats
    isd: Floats
    nu: float
    ninv: float
    a: Floats
    b: Floats
    lo: Floats
    hi: Floats
    rowparts: NDArray[np.int32]
    mac: NDArray[np.int32]
    macfactor: Floats
    isenergy: NDArray[np.int32]
    G: Floats
    h: Floats
    Cx: Floats
    ch: Floats
    w: Floats
    lmax: Floats
    p0: Floats
    lm: Floats
    ls: Floats
    uw: Floats
    lnorm: Floats


def ground_of(problem: Problem, prior: Prior) -> Ground:
    """Return the region and density of a task under a prior.

    With exact composition the panel rows are walls; with doubt they are a likelihood: lots differ independently by
    their spread, energy follows fat, carbohydrate and protein, and a printed figure speaks for its whole interval.
    """
    n, m = problem.n, problem.m
    shares, mixed = _rows(problem)
    soft = bool((problem.spread > 0.0).any())
    figures = _figures(problem)
    touches = np.array([[not f.parts or part in f.parts for part in range(m)] for f in figures]).reshape(-1, m)
    members = touches[:, list(problem.part_of)].astype(float)
    place = {key: at for at, key in enumerate(problem.nutrients)}
    a, b = np.zeros((len(figures), n)), np.zeros((len(figures), n))
    for row, figure in enumerate(figures):
        if figure.nutrient == MOISTURE:  # what is left after baking: (W s - loss) / F = (W s - S) / F + 1
            a[row] = (problem.water_typical - 100.0) * members[row]
            b[row] = ((problem.water_high - problem.water_low) / 4.0 * members[row]) ** 2
        else:
            a[row] = problem.typical[place[figure.nutrient]] * members[row]
            b[row] = (problem.spread[place[figure.nutrient]] * members[row]) ** 2
    mac, factor, energy = _tied_energy(figures, problem, members, b) if soft else _nothing_tied(len(figures))
    offset = np.array([100.0 if figure.nutrient == MOISTURE else 0.0 for figure in figures])
    low, high = (np.array([getattr(figure, end) for figure in figures], dtype=float) for end in ("low", "high"))
    low = np.where(np.isfinite(low), low, 0.0)
    high = np.where(np.isfinite(high), high, low + WIDENED)
    most = max(problem.loss_max, 1e-6)
    mean, sd = prior.loss_mean, prior.loss_sd
    inside = 0.5 * (erf((most - mean) / sd / sqrt(2)) - erf(-mean / sd / sqrt(2)))
    lnorm = log((1.0 - prior.no_loss) / max(sd * sqrt(2.0 * pi) * inside, 1e-9))
    per_part = [np.full(m, value) for value in (most, prior.no_loss, mean, sd, max(NO_LOSS_SIDE, sd), lnorm)]
    return Ground(
        n, m, len(figures), len(shares[1]), len(mixed[1]), int(soft), np.array(problem.part_of, dtype=np.int32),
        prior.mean, 1.0 / prior.sd, prior.nu, 1.0 / prior.nu, a, b, low - offset, high - offset,
        touches.astype(np.int32), mac, factor, energy, *shares, *mixed, problem.water_high / 100.0, *per_part,
    )  # fmt: skip


def _figures(problem: Problem) -> list[PanelRow]:
    """Return the panel figures that composition can answer, those of one nutrient and the same parts met in one."""
    found: dict[tuple[str, tuple[int, ...]], list[PanelRow]] = {}
    for figure in problem.panel:
        if figure.nutrient in problem.nutrients or figure.nutrient == MOISTURE:
            found.setdefault((figure.nutrient, figure.parts), []).append(figure)
    merged = []
    for figures in found.values():
        low, high = max(figure.low for figure in figures), min(figure.high for figure in figures)
        if low < high or len(figures) == 1:
            merged.append(replace(figures[0], low=low, high=high))
        else:
            merged += figures
    return merged


Ints = NDArray[np.int32]


def _nothing_tied(rows: int) -> tuple[Ints, Floats, Ints]:
    return np.full(rows, -1, dtype=np.int32), np.zeros(rows), np.zeros(rows, dtype=np.int32)


def _tied_energy(
    figures: Sequence[PanelRow], problem: Problem, members: Floats, squares: Floats
) -> tuple[Ints, Floats, Ints]:
    """Let an energy row follow the macronutrient rows of the same parts: their spread carries it, its own goes.

    Changes the energy rows of `squares`; returns, per row, the energy row it feeds (-1 none), its kcal per g, and 1
    where it is such an energy row.
    """
    feeds, factor, energy = _nothing_tied(len(figures))
    place = {key: at for at, key in enumerate(problem.nutrients)}
    for row, figure in enumerate(figures):
        if figure.nutrient != "energy_kcal":
            continue
        kin = {f.nutrient: at for at, f in enumerate(figures) if f.parts == figure.parts and feeds[at] < 0}
        if not all(key in kin for key in ENERGY_FACTORS):
            continue
        for key, kcal in ENERGY_FACTORS.items():
            feeds[kin[key]], factor[kin[key]] = row, kcal
        theirs = sum(kcal**2 * problem.spread[place[key]] ** 2 for key, kcal in ENERGY_FACTORS.items())
        own = problem.spread[place["energy_kcal"]] ** 2
        squares[row] = np.maximum(own - theirs, 0.0) * members[row]
        energy[row] = 1
    return feeds, factor, energy


def _rows(problem: Problem) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Return the rows on shares alone (G, h) and on shares and finished masses (C, h), all as "at most"."""
    n, width = problem.n, problem.n + problem.m
    found: list[tuple[Floats, float]] = []
    for row in problem.rows:
        dense = np.zeros(width)
        for at, value in row.coefficients.items():
            dense[at] = value
        if np.isfinite(row.high):
            found.append((dense, row.high))
        if np.isfinite(row.low):
            found.append((-dense, -row.low))
    alone = [(dense[:n], limit) for dense, limit in found if not dense[n:].any()]
    mixed = [(dense, limit) for dense, limit in found if dense[n:].any()]
    return (
        (np.array([d for d, _ in alone]).reshape(-1, n), np.array([limit for _, limit in alone])),
        (np.array([d for d, _ in mixed]).reshape(-1, width), np.array([limit for _, limit in mixed])),
    )
