"""The same walk as `_chord.c` in numpy, many chains in step, for machines without a C compiler."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from batchwright.original.region.problem import Floats
from batchwright.original.sampling.ground import Ground

BRACKET = 6.0  # spreads along a direction that one slice looks over
ROUNDS = 24  # how often a slice is narrowed before the chain stays where it is


def erf(x: Floats) -> Floats:
    """Return the error function to 1.5e-7 (Abramowitz and Stegun 1964, formula 7.1.26)."""
    t = 1.0 / (1.0 + 0.3275911 * np.abs(x))
    series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    return np.asarray(np.sign(x) * (1.0 - series * np.exp(-x * x)))


class PlainWalk:
    """The ground and its density in numpy; states are columns inside, rows outside."""

    chains = 96

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        g = ground
        self._in_part = (g.part[None, :] == np.arange(g.m)[:, None]).astype(float)
        self._water = self._in_part * g.w
        self._touches = g.rowparts.astype(float)
        self._energy = np.flatnonzero(g.isenergy)
        self._free = np.flatnonzero((g.mac < 0) & (g.isenergy == 0))
        self._tied = np.flatnonzero(g.mac >= 0)
        self._feeds = (g.mac[self._tied][None, :] == self._energy[:, None]).astype(float)
        self._square = (g.hi - g.lo)[:, None] ** 2 / 12.0 + 1e-12

    def density(self, points: Floats) -> Floats:
        """Return the log density (c,) of points (c, n + m)."""
        return self._density(np.asarray(points, dtype=float).T)

    def _density(self, x: Floats) -> Floats:
        g = self.ground
        s, u = x[: g.n], x[g.n :]
        loss = np.maximum(u, 0.0)
        part = self._in_part @ s
        with np.errstate(all="ignore"):
            outside = (s <= 0).any(0) | (u < -g.uw[:, None]).any(0) | (u > g.lmax[:, None]).any(0)
            outside |= (loss * part > self._water @ s + 1e-12).any(0)
            finished = part * (1.0 - loss)
            if g.c:
                outside |= (g.Cx[:, : g.n] @ s + g.Cx[:, g.n :] @ finished > g.ch[:, None] + 1e-9).any(0)
            none = np.log(g.p0 / g.uw)[:, None]
            some = g.lnorm[:, None] - 0.5 * ((u - g.lm[:, None]) / g.ls[:, None]) ** 2
            logs = np.log(s)
            off = (logs - g.mu[:, None]) * g.isd[:, None]
            value = np.where(u < 0, none, some).sum(0) - logs.sum(0)
            value -= 0.5 * (g.nu + g.n) * np.log1p((off * off).sum(0) * g.ninv)
            if g.k:
                mass = self._touches @ finished
                if g.soft:
                    value += self._fits(g.a @ s / mass, g.b @ (s * s) / (mass * mass))
                else:
                    sums = g.a @ s
                    outside |= ((sums < g.lo[:, None] * mass - 1e-9) | (sums > g.hi[:, None] * mass + 1e-9)).any(0)
        value[outside | ~np.isfinite(value)] = -np.inf
        return np.asarray(value)

    def _fits(self, amount: Floats, variance: Floats) -> Floats:
        """Return the log likelihood of the panel: free figures by their interval, energy by its macronutrients."""
        g = self.ground
        off = amount - 0.5 * (g.hi + g.lo)[:, None]
        total = variance + self._square
        at = self._free
        width = (g.hi - g.lo)[at][:, None]
        c = np.sqrt(0.5 / (variance[at] + 1e-12))
        mass = erf(c * (0.5 * width - off[at])) + erf(c * (0.5 * width + off[at]))
        normal = -0.5 * (off[at] ** 2 / total[at] + np.log(total[at]))
        value = np.where(mass > 1e-6, np.log(np.maximum(mass, 1e-300) / width), normal).sum(0)
        at = self._tied
        if len(at):
            value -= 0.5 * (off[at] ** 2 / total[at] + np.log(total[at])).sum(0)
            share, factor = variance[at] / total[at], g.macfactor[at][:, None]
            told = self._feeds @ (factor * share * off[at])
            left = self._feeds @ (factor**2 * variance[at] * (1.0 - share))
            at = self._energy
            value -= 0.5 * ((off[at] - told) ** 2 / (total[at] + left) + np.log(total[at] + left)).sum(0)
        return np.asarray(value)

    def walk(self, points: Floats, directions: Floats, steps: int, thin: int, seed: int) -> tuple[Floats, Floats]:
        """Walk every point (c, n + m); return where they end and the kept states (c, steps / thin, n + m)."""
        random = np.random.default_rng(seed)
        g = self.ground
        x = np.array(points, dtype=float).T.copy()
        level = self._density(x)
        walls = np.concatenate([g.G, -np.eye(g.n)])
        limits = np.concatenate([g.h, np.zeros(g.n)])
        slopes = directions[:, : g.n] @ walls.T
        kept: list[Floats] = []
        for step in range(steps):
            way = int(random.integers(len(directions)))
            x, level = self._step(x, level, directions[way], walls, limits, slopes[way], random)
            if (step + 1) % thin == 0:
                kept.append(x)
        return np.ascontiguousarray(x.T), np.array(kept).transpose(2, 0, 1)

    def _step(
        self, x: Floats, level: Floats, way: Floats, walls: Floats, limits: Floats, slope: Floats, random: Any
    ) -> tuple[Floats, Floats]:
        up, down = slope > 1e-13, slope < -1e-13
        room = limits[:, None] - walls @ x[: self.ground.n]
        low = -BRACKET * random.random(x.shape[1])
        high = low + BRACKET
        if up.any():
            high = np.minimum(high, np.maximum((room[up] / slope[up][:, None]).min(0), 0.0))
        if down.any():
            low = np.maximum(low, np.minimum((room[down] / slope[down][:, None]).max(0), 0.0))
        floor = level + np.log(random.random(x.shape[1]))
        x, level, way = x.copy(), level.copy(), way[:, None]
        open_: NDArray[np.intp] = np.arange(x.shape[1])
        start = x
        for _ in range(ROUNDS):
            t = low + (high - low) * random.random(len(open_))
            tried = start[:, open_] + way * t
            value = self._density(tried)
            good = value > floor[open_]
            x = x if start is not x else x.copy()
            x[:, open_[good]], level[open_[good]] = tried[:, good], value[good]
            left = ~good
            if not left.any():
                break
            low, high = np.where(t < 0, t, low)[left], np.where(t >= 0, t, high)[left]
            open_ = open_[left]
        return x, level
