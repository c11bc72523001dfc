"""Time beside other people's solvers in one run: exact ranges against a linprog loop, draws against a general walk.

    python benchmarks/peers.py CASES.jsonl [--only N]

The peers: scipy's linprog (HiGHS) called twice per ingredient, and the hit-and-run of polytopewalk, a general-purpose
polytope sampler, on the same region. That one draws uniformly, ours under a prior; compared is the time for 1,000
effective draws of the ingredient known worst. It is left out with a word where it is not installed.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import linprog

from batchwright.original.batch_form import sure_ranges
from batchwright.original.bench_form import problem_from_case
from batchwright.original.region.bounds import region
from batchwright.original.sampling.prior import prior_for
from batchwright.original.sampling.sampler import diagnostics, sample

try:
    from polytopewalk.dense import HitAndRun
except ImportError:
    HitAndRun = None


def by_linprog(problem: Any) -> None:
    """Solve both ends of every share, each from nothing."""
    found = region(problem)
    size = found.G.shape[1]
    for at in range(problem.n):
        for sign in (1.0, -1.0):
            cost = np.zeros(size)
            cost[at] = sign
            linprog(cost, A_ub=found.G, b_ub=found.h, bounds=[(0, None)] * size, method="highs")


def by_general_walk(problem: Any, corners: np.ndarray, draws: int = 40_000) -> float:
    """Return the seconds that a general walk takes for 1,000 effective draws of the share it knows worst."""
    found, n = region(problem), problem.n
    last = np.zeros(n + problem.m)
    last[n - 1] = 1.0
    # the last share is what the others leave: the region in coordinates without an equality
    basis = np.delete(np.eye(n + problem.m), n - 1, axis=0)
    basis[: n - 1, n - 1] = -1.0
    walls, limits = found.G @ basis.T, found.h - found.G @ last
    kept = np.abs(walls).max(axis=1) > 1e-9
    start = np.delete(corners.mean(axis=0), n - 1)
    started = time.perf_counter()
    walked = HitAndRun(r=0.5).generateCompleteWalk(draws, start, walls[kept], limits[kept], draws // 10, 10, 1)
    seconds = time.perf_counter() - started
    worth, _ = diagnostics(np.asarray(walked)[None, :, : n - 1])
    return 1000.0 * seconds / float(worth.min())


def main() -> None:
    """Time both on the same labels and print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", type=Path)
    parser.add_argument("--only", type=int, default=25)
    given = parser.parse_args()
    lines = given.cases.read_text(encoding="utf-8").splitlines()
    cases = [json.loads(line) for line in lines[:: max(1, len(lines) // given.only)]]
    for case in cases:  # the bank's equations are solved once per process
        prior_for(problem_from_case(case))
    ours, linear, draws, general = [], [], [], []
    for case in cases:
        problem = problem_from_case(case)
        started = time.perf_counter()
        _, _, possible, corners = sure_ranges(problem)
        ours.append(time.perf_counter() - started)
        started = time.perf_counter()
        by_linprog(possible)
        linear.append(time.perf_counter() - started)
        prior = prior_for(possible)
        started = time.perf_counter()
        found = sample(possible, prior, corners)
        draws.append(1000.0 * (time.perf_counter() - started) / found.effective.min())
        if HitAndRun is not None:
            general.append(by_general_walk(possible, corners))
    print(f"{len(cases)} labels, medians")
    _compared("exact ranges", 1e3 * np.array(ours), "linprog twice per ingredient", 1e3 * np.array(linear))
    if general:
        _compared("1,000 effective draws", 1e3 * np.array(draws), "general walk", 1e3 * np.array(general))
    else:
        print(f"1,000 effective draws: ours {1e3 * np.median(draws):.0f} ms (polytopewalk is not installed: no peer)")


def _compared(what: str, ours: np.ndarray, peer: str, theirs: np.ndarray) -> None:
    ratio = np.median(theirs / ours)
    print(f"{what}: ours {np.median(ours):.1f} ms, {peer} {np.median(theirs):.1f} ms, ratio {ratio:.1f}")


if __name__ == "__main__":
    main()
