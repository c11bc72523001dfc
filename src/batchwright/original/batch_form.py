"""One record of the benchmark form answered: shares as added with their likely and their sure ranges."""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from batchwright.original.bench_form import problem_from_case
from batchwright.original.region.bounds import region, region_ends
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.region.strain import nearest
from batchwright.original.sampling.prior import Kriging, prior_for
from batchwright.original.sampling.sampler import Draws, sample

# Which quantiles of the draws are shown as the 90 % range: the prior is a little too sure of itself, and these cover
# 90 % of the true shares in cross-validation (benchmarks/accuracy.py).
LIKELY_ENDS = (0.03, 0.97)


def answer_case(
    case: Mapping[str, Any],
    method: Kriging | None = None,
    drawn: list[Draws] | None = None,
    without: Collection[str] = (),
) -> dict[str, Any]:
    """Return `{"id", "ms", "ingredients": [{"name", "low", "likely", "high", "min", "max"}]}`, fractions as added.

    case: see `problem_from_case`, which raises InputError. method: another fitted prior than the shipped one. without:
    families of the bank to leave out. The draws are added to `drawn` where it is given.
    """
    started = time.perf_counter()
    problem = problem_from_case(case)
    sure_low, sure_high, problem, corners = sure_ranges(problem)
    draws = sample(problem, prior_for(problem, without, method), corners)
    if drawn is not None:
        drawn.append(draws)
    low, likely, high = np.quantile(draws.shares, [LIKELY_ENDS[0], 0.5, LIKELY_ENDS[1]], axis=0)
    likely = likely / likely.sum()
    columns = {"low": low, "likely": likely, "high": high, "min": sure_low, "max": sure_high}
    rounded = {key: [round(float(value), 7) for value in column] for key, column in columns.items()}
    return {
        "id": case.get("id"),
        "ms": round(1000.0 * (time.perf_counter() - started), 2),
        "ingredients": [
            {"name": name, **{key: rounded[key][place] for key in columns}} for place, name in enumerate(problem.names)
        ],
    }


def sure_ranges(problem: Problem) -> tuple[Floats, Floats, Problem, Floats]:
    """Return the sure ends (n,), (n,), a task that allows some formula, and corners of its region.

    Where no formula satisfies every line, the task is relaxed as little as makes one possible and the sure ends are
    those of the relaxed task.
    """
    whole = np.eye(problem.n + problem.m)
    answer, _ = region_ends(region(problem), whole)
    if not answer.feasible:
        problem = nearest(problem)
        answer, _ = region_ends(region(problem), whole)
    if not answer.feasible:
        problem = replace(problem, panel=())
        answer, _ = region_ends(region(problem), whole)
    n = problem.n
    return np.clip(answer.low[:n], 0.0, 1.0), np.clip(answer.high[:n], 0.0, 1.0), problem, answer.corners
