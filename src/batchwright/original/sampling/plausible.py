"""How far a label leans from how such foods are usually made, without drawing: the likeliest formula it allows.

The region of the label is walked from inside by a barrier (interior point, Boyd and Vandenberghe 2004, section 11.3)
to the formula that the prior strains at least. On the way the barrier's middle says how much room there is around such
formulas (Laplace's approximation). Some 2 ms a label; for comparing a label with the same label mended, not for ranges.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from batchwright.original.region.bounds import region
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.region.simplex import least
from batchwright.original.sampling.prior import Prior

LOOSE = 1e-6  # every scaled row gives so much, that a region without thickness has an inside
DEEPEST = 0.05  # of the scale of the rows: no start lies deeper inside
LADDER = (1.0, 0.1, 0.02)  # weights of the barrier, one after the other
STEPS = 15  # Newton steps on one rung
HALVINGS = 12
SMALLEST = 1e-7  # share below which the prior no longer counts down
OF_ROOM = 0.1  # how much of the logarithm of the room counts: Laplace overstates it (see benchmarks/planted_faults.py)


@dataclass(frozen=True, slots=True)
class Lean:
    """How far a label leans from what is usual.

    strain: least penalty of the prior over the region, natural log [>= 0]; doubt: strain less a tenth of the log of the
    room around usual formulas [natural log, of use only as a difference between labels of the same list].
    """

    strain: float
    doubt: float


def lean(problem: Problem, prior: Prior) -> Lean | None:
    """Return how far a label leans from its prior; None where no formula satisfies the label.

    The penalty is the prior's own: log shares with heavy tails, and the net loss of the whole where it is above the
    usual. Loss below the usual costs nothing.
    """
    try:
        return _Walk(problem, prior).lean()
    except np.linalg.LinAlgError:  # a region so thin that its middle cannot be told
        return None


class _Walk:
    """One region under one prior, and a point inside it."""

    def __init__(self, problem: Problem, prior: Prior) -> None:
        rows, limits, equal, _ = region(problem).demands()
        width = rows.shape[1]
        self.n, self.prior = problem.n, prior
        self.G = np.vstack([rows[~equal], -np.eye(width)])
        self.h = np.concatenate([limits[~equal], np.zeros(width)]) + LOOSE
        _, sizes, axes = np.linalg.svd(rows[equal])
        self.free = axes[int((sizes > 1e-10).sum()) :].T
        self.point = _inside(rows, limits, equal)

    def lean(self) -> Lean | None:
        """Walk down the ladder."""
        if self.point is None:
            return None
        middle = 0.0
        for rung, weight in enumerate(LADDER):
            curvature = self._centre(weight)
            if rung == 0:
                shares = np.maximum(self.point[: self.n], SMALLEST)
                slack = np.log(self.h - self.G @ self.point).sum()
                middle = self._penalty(self.point) + np.log(shares).sum() - slack
                middle += 0.5 * float(np.linalg.slogdet(curvature)[1])
        strain = self._penalty(self.point)
        return Lean(strain, strain + OF_ROOM * float(middle)) if np.isfinite(strain + middle) else None

    def _parts(self, point: Floats) -> tuple[Floats, Floats, float]:
        """Return shares, their distance from the prior's centre in spreads, and the loss above the usual in spreads."""
        shares = np.maximum(point[: self.n], SMALLEST)
        off = (np.log(shares) - self.prior.mean) / self.prior.sd
        return shares, off, max(0.0, (1.0 - float(point[self.n :].sum()) - self.prior.loss_mean) / self.prior.loss_sd)

    def _penalty(self, point: Floats) -> float:
        _, off, loss = self._parts(point)
        nu = self.prior.nu
        return float(0.5 * (nu + 1.0) * np.log1p(off * off / nu).sum() + 0.5 * loss * loss)

    def _centre(self, weight: float) -> Floats:
        """Move the point to where penalty and barrier are least together; return the curvature there."""
        n, G, free = self.n, self.G, self.free
        nu, sd, loss_sd = self.prior.nu, self.prior.sd, self.prior.loss_sd
        assert self.point is not None
        point = self.point
        for _ in range(STEPS):
            shares, off, loss = self._parts(point)
            slack = self.h - G @ point
            pull = (nu + 1.0) / (nu + off * off)
            slope = G.T @ (weight / slack)
            slope[:n] += pull * off / (sd * shares)
            slope[n:] -= loss / loss_sd
            bend = (G.T * (weight / slack**2)) @ G
            bend[np.arange(n), np.arange(n)] += pull / (sd * shares) ** 2
            if loss > 0.0:
                bend[n:, n:] += 1.0 / loss_sd**2
            curvature = free.T @ bend @ free
            step = -free @ np.linalg.solve(curvature, free.T @ slope)
            gain = -float(slope @ step)
            if gain < 0.02 * weight:
                break
            toward = G @ step
            nearest = float((toward / slack).max())
            length = min(1.0, 0.95 / nearest) if nearest > 0.0 else 1.0
            here = self._penalty(point) - weight * np.log(slack).sum()
            for _ in range(HALVINGS):
                there = self._penalty(point + length * step) - weight * np.log(slack - length * toward).sum()
                if there <= here - 1e-4 * length * gain:
                    break
                length *= 0.5
            point = point + length * step
        self.point = point
        return np.asarray(curvature)


def _inside(rows: Floats, limits: Floats, equal: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Floats | None:
    """Return the point of a region that lies deepest inside it; None where the region is empty."""
    count, width = rows.shape
    lifted = np.zeros((count + width + 1, width + 1))  # the depth is the last unknown
    lifted[:count, :width], lifted[:count, width] = rows, ~equal
    lifted[count:-1, :width], lifted[count:, width] = -np.eye(width), 1.0
    upper = np.concatenate([limits, np.zeros(width), [DEEPEST]])
    marks = np.concatenate([equal, np.zeros(width + 1, dtype=bool)])
    depth, point, _ = least(lifted, upper, marks, -np.eye(width + 1)[width])
    return np.asarray(point[:width]) if np.isfinite(depth) else None
