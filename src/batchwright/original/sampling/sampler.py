"""The likely range: draws from the region a label allows, weighted by how such foods are usually made.

Slice sampling along chords (Neal 2003, Annals of Statistics 31, section 4) of the region, along differences of earlier
states, so that the walk takes the region's own shape (hit-and-run: Smith 1984; directions from the states: ter Braak
2006); the compiled walk scales single small leaves in between. Chains start at corners of the region. Blocks are added
until every share is known well enough or the most is reached.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

import numpy as np

from batchwright.original.region.bounds import region, region_ends
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.sampling.ground import ground_of
from batchwright.original.sampling.plain_walk import PlainWalk
from batchwright.original.sampling.prior import Prior
from batchwright.original.sampling.walk import MOST, CompiledWalk, library

PAIRS = 600  # directions in use
WARM = (300, 600, 1200)  # steps of four chains before anything is kept; the walk's shape is learned in between
BLOCK = 2400  # steps of each of four chains in one block
LOOKS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48)  # numbers of blocks after which the draws are weighed
BLOCKS = 48  # the most
USUAL = 12  # unknowns up to which the warm-up is as long as WARM says
RELEARN = (3, 7, 11, 15, 23, 31)  # blocks after which the walk's shape is learned anew
THIN = 8
ENOUGH = 430.0  # effective draws at which the walk stops
CLOSE = 1.0095  # and how alike the chains must be by then (ratio of spreads, Vehtari and others 2021)


@dataclass(frozen=True, slots=True)
class Draws:
    """Shares (N, n) and finished masses (N, m), fractions of the whole as added, in the order they were drawn.

    `chains` how many walks stand side by side in them (N is a multiple of it, chain by chain); `effective` (n,) the
    worth of the draws in independent ones, `agreement` (n,) the ratio of spreads between and within chains.
    """

    shares: Floats
    finished: Floats
    chains: int
    effective: Floats
    agreement: Floats


def seed_of(problem: Problem) -> int:
    """Return a seed that depends on the task alone, so that every program and worker draws the same."""
    digest = hashlib.sha256()
    for array in (problem.typical, problem.spread, problem.water_high):
        digest.update(np.ascontiguousarray(array).tobytes())
    digest.update(repr((problem.names, problem.part_of, problem.kinds, problem.panel, problem.loss_max)).encode())
    digest.update(repr([(sorted(row.coefficients.items()), row.low, row.high) for row in problem.rows]).encode())
    return int.from_bytes(digest.digest()[:7], "big")


def diagnostics(states: Floats) -> tuple[Floats, Floats]:
    """Return effective draws (d,) and agreement of halved chains (d,) of states (chains, steps, d).

    Autocorrelation summed to the first negative pair (Geyer 1992), halves as chains of their own (Gelman and others
    2013, section 11.4). Many short chains are first laid end to end in four.
    """
    chains, steps, d = states.shape
    halves = np.concatenate([states[:, : steps // 2], states[:, steps - steps // 2 :]])
    if chains > 8:  # nested agreement: groups of chains count as one (Margossian and others 2024)
        groups = np.array_split(np.arange(len(halves)), 8)
        halves = np.stack([halves[g[: chains // 4]].reshape(-1, d) for g in groups])
    length = halves.shape[1]
    between, within = halves.mean(axis=1).var(axis=0, ddof=1), halves.var(axis=1, ddof=1).mean(axis=0)
    agreement = np.sqrt((length - 1) / length + between / np.maximum(within, 1e-300))
    off = states - states.mean(axis=(0, 1))
    size = 1 << (2 * steps - 1).bit_length()
    power = np.abs(np.fft.rfft(off, size, axis=1)) ** 2
    covariance = np.fft.irfft(power.mean(axis=0), size, axis=0)[:steps] / np.arange(steps, 0, -1)[:, None]
    rho = covariance / np.maximum(covariance[0], 1e-300)
    even = steps // 2 * 2
    pairs = rho[:even:2] + rho[1:even:2]
    alive = np.cumprod(pairs > 0, axis=0)
    time = np.maximum(2.0 * (pairs * alive).sum(axis=0) - 1.0, 0.5)
    return chains * steps / time, agreement


def sample(problem: Problem, prior: Prior, corners: Floats | None = None) -> Draws:
    """Return draws from the region of a task under a prior.

    corners: points (c, n + m) of the region (shares and finished masses), as `bounds` finds them; found here if absent.
    The task must allow at least one formula (soft tasks: without their panel). The seed is a digest of the task.
    Raises ValueError where no start is found.
    """
    ground = ground_of(problem, prior)
    fits = ground.n <= MOST["leaves"] and ground.m <= MOST["parts"] and ground.k <= MOST["panel"]
    walker = CompiledWalk(ground) if fits and library() is not None else PlainWalk(ground)
    random = np.random.default_rng(seed_of(problem))
    states = _start(problem, walker, corners, random)
    speed = 4 / walker.chains * (1.0 if walker.chains == 4 else 2.0)
    longer = max(1.0, (ground.n + ground.m) / USUAL) ** 2  # what it takes to see the shape of a larger region
    directions = _own_directions(states)
    ends = states[random.choice(len(states), walker.chains)]
    for phase, steps in enumerate(WARM):
        count = max(int(steps * speed * longer), 8)
        ends, walked = walker.walk(ends, directions, count, 1, int(random.integers(1 << 60)))
        recent = walked[:, walked.shape[1] // 3 :].reshape(-1, walked.shape[2])
        directions = _own_directions(recent) if phase == 0 else _pair_directions(recent, random)
    blocks: list[Floats] = []
    thin = THIN if walker.chains == 4 else 1
    for block in range(BLOCKS):
        steps = max(int(BLOCK * speed), thin) // thin * thin
        ends, walked = walker.walk(ends, directions, steps, thin, int(random.integers(1 << 60)))
        blocks.append(walked)
        if block + 1 not in LOOKS and block + 1 < BLOCKS:
            continue
        kept = np.concatenate(blocks, axis=1)
        effective, agreement = diagnostics(kept[:, :, : ground.n])
        if effective.min() >= ENOUGH and agreement.max() <= CLOSE:
            break
        if block in RELEARN:  # a region of a shape the warm-up did not see whole
            directions = _pair_directions(kept[:, kept.shape[1] // 4 :].reshape(-1, kept.shape[2]), random)
    flat = kept.reshape(-1, kept.shape[2])
    shares, loss = flat[:, : ground.n], np.maximum(flat[:, ground.n :], 0.0)
    masses = np.stack([shares[:, ground.part == part].sum(axis=1) for part in range(ground.m)], axis=1)
    return Draws(shares, masses * (1.0 - loss), walker.chains, effective, agreement)


def _start(
    problem: Problem, walker: CompiledWalk | PlainWalk, corners: Floats | None, random: np.random.Generator
) -> Floats:
    """Return states inside the region: corners pulled towards their middle."""
    tries = [corners] if corners is not None and np.isfinite(corners).all() else []
    for found in [*tries, None, None]:
        points = found
        if points is None:
            part = problem if len(tries) < 1 else replace(problem, panel=())
            tries.append(np.zeros(0))
            answer, _ = region_ends(region(part), np.eye(problem.n + problem.m))
            if not answer.feasible:
                continue
            points = answer.corners
        states = _inside(problem, walker, points, random)
        if len(states):
            return states
    raise ValueError("no formula inside the region was found to start from")


def _inside(problem: Problem, walker: CompiledWalk | PlainWalk, points: Floats, random: np.random.Generator) -> Floats:
    """Return those mixes of the points that lie inside, as states (loss instead of finished mass).

    Half of the mixes lose no water where the region allows it, so that both ways of making the food are walked.
    """
    n = problem.n
    dry = points[points[:, n:].sum(axis=1) > 1.0 - 1e-6]
    mixes = np.concatenate([_mixes(points, random), _mixes(dry, random) if len(dry) else points[:0]])
    shares, finished = np.maximum(mixes[:, :n], 1e-12), mixes[:, n:]
    shares /= shares.sum(axis=1, keepdims=True)
    part = np.array(problem.part_of)
    masses = np.stack([shares[:, part == at].sum(axis=1) for at in range(problem.m)], axis=1)
    loss = 1.0 - finished / np.maximum(masses, 1e-12)
    loss = np.where(loss < 1e-3, -walker.ground.uw * random.random(loss.shape), loss)
    states = np.concatenate([shares, loss], axis=1)
    return states[np.isfinite(walker.density(states))]


def _mixes(points: Floats, random: np.random.Generator) -> Floats:
    """Return weighted means of points (c, d), most of the weight on few of them, all pulled a little to the middle."""
    weights = random.dirichlet(np.full(len(points), 0.6), 32)
    return np.asarray(0.9 * weights @ points + 0.1 * points.mean(axis=0))


def _own_directions(states: Floats) -> Floats:
    """Return the main axes of the states, each as long as their spread along it, shares summing to no change."""
    off = states - states.mean(axis=0)
    values, vectors = np.linalg.eigh(off.T @ off / max(len(states) - 1, 1))
    good = values > 1e-12 * max(values.max(), 1e-30)
    if not good.any():
        return np.eye(states.shape[1])[:1] * 0.0
    return np.ascontiguousarray((vectors[:, good] * np.sqrt(values[good])).T)


def _pair_directions(states: Floats, random: np.random.Generator) -> Floats:
    """Return differences of states drawn at random, as long as one spread on average."""
    one, other = random.integers(len(states), size=(2, PAIRS))
    return np.ascontiguousarray((states[one] - states[other]) * np.sqrt(0.5))
