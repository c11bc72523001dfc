"""One formula that fits: every line of the label holds for it, and a middle that fits already stays."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from batchwright.original.region.bounds import region
from batchwright.original.region.one_fitting import nearest_fitting
from batchwright.original.region.problem import Problem
from tests.original.invented import invented_label


def exact(problem: Problem) -> Problem:
    return replace(problem, low=problem.typical, high=problem.typical, water_low=problem.water_typical,
                   water_high=problem.water_typical)  # fmt: skip


def excess(problem: Problem, shares: np.ndarray, finished: np.ndarray) -> float:
    found = region(exact(problem))
    return float((found.G @ np.concatenate([shares, finished]) - found.h).max())


def test_every_line_holds_for_it() -> None:
    luck = np.random.default_rng(4)
    for _ in range(20):
        problem = invented_label(luck).problem
        middle = luck.dirichlet(np.ones(problem.n)), np.full(problem.m, 0.9 / problem.m)
        assert excess(problem, *nearest_fitting(problem, *middle)) < 1e-7


def test_what_fits_stays() -> None:
    luck = np.random.default_rng(5)
    problem = invented_label(luck).problem
    once = nearest_fitting(problem, luck.dirichlet(np.ones(problem.n)), np.full(problem.m, 0.9 / problem.m))
    again = nearest_fitting(problem, *once)
    assert np.abs(np.concatenate(again) - np.concatenate(once)).max() < 1e-7
