"""The choice over all lines is the least there is: against every combination, against a fine search of the factor."""

from __future__ import annotations

import time
from itertools import product
from math import exp, inf, isclose, log

from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.formula.kitchen.choice import Asked, Way, choose, moved

WAY = st.builds(Way, st.floats(0.1, 1000), st.sampled_from([0.0, 0.0, 0.05, 0.1, 0.15, 1.0, 4.0]))
WAYS = st.lists(WAY, min_size=1, max_size=6)
LINE = st.builds(Asked, st.floats(1, 300), st.sampled_from([0.03, 0.05, 0.06, 0.12]), WAYS)
SIZE = st.sampled_from([0.2, 1.0, 50.0])


def least(lines: list[Asked], low: float, high: float, size: float) -> float:
    """Return the least over every combination of ways, the factor of each combination in closed form."""
    best = inf
    weights = [line.tolerance_fraction**-2 for line in lines]
    for taken in product(*(range(len(line.ways)) for line in lines)):
        at = [log(line.ways[way].mass_g / line.mass_g) for line, way in zip(lines, taken, strict=True)]
        u = sum(w * a for w, a in zip(weights, at, strict=True)) / (sum(weights) + size**-2)
        best = min(best, moved(lines, taken, min(max(u, log(low)), log(high)), size))
    return best


@settings(max_examples=300, deadline=None)
@given(st.lists(LINE, min_size=1, max_size=4), st.floats(0.7, 1.0), st.floats(1.0, 1.4), SIZE)
def test_against_every_combination(lines: list[Asked], low: float, high: float, size: float) -> None:
    choice = choose(lines, low, high, size)
    assert low * (1 - 1e-12) <= choice.factor <= high * (1 + 1e-12)
    assert isclose(choice.moved, least(lines, low, high, size), rel_tol=1e-9, abs_tol=1e-9)
    assert isclose(choice.moved, moved(lines, choice.ways, log(choice.factor), size), rel_tol=1e-9, abs_tol=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.lists(LINE, min_size=5, max_size=15))
def test_no_factor_does_better(lines: list[Asked]) -> None:
    """For a factor held, the lines are free of one another: the best of 400 factors is never below the choice."""
    choice = choose(lines, 0.9, 1.1, 0.5)
    for step in range(401):
        u = log(0.9) + (log(1.1) - log(0.9)) * step / 400
        free = [min(range(len(line.ways)), key=lambda way: _alone(line, way, u)) for line in lines]
        assert moved(lines, free, u, 0.5) >= choice.moved - 1e-9 * (1 + choice.moved)


def _alone(line: Asked, way: int, u: float) -> float:
    one = line.ways[way]
    return float(((log(one.mass_g / line.mass_g) - u) / line.tolerance_fraction) ** 2 + one.cost)


def test_the_factor_makes_all_lines_fit() -> None:
    """Three lines that all want 5 % more are written as they stand, for a batch 5 % larger."""
    lines = [Asked(100 / 1.05, 0.03, (Way(100), Way(80), Way(120))), Asked(40 / 1.05, 0.05, (Way(40), Way(30))),
             Asked(6 / 1.05, 0.06, (Way(6), Way(5.5), Way(5)))]  # fmt: skip
    choice = choose(lines, 0.9, 1.1, 1e6)
    assert choice.ways == (0, 0, 0)
    assert isclose(choice.factor, 1.05, rel_tol=1e-9)
    assert choice.moved < 1e-12


def test_without_rescaling_each_line_takes_its_nearest() -> None:
    lines = [Asked(100, 0.03, (Way(90), Way(104), Way(120))), Asked(10, 0.05, (Way(9), Way(12)))]
    choice = choose(lines, 1.0, 1.0, 0.5)
    assert (choice.ways, choice.factor) == ((1, 0), 1.0)


def test_a_way_that_is_worth_its_cost() -> None:
    """The plain way is off by half a tolerance, a quarter when squared: a second spoon of 0.1 is taken, of 0.3 not."""
    near = exp(0.025)
    for cost, expected in ((0.1, 1), (0.3, 0)):
        lines = [Asked(100, 0.05, (Way(100 * near), Way(100, cost)))]
        assert choose(lines, 1.0, 1.0, 0.5).ways == (expected,)


def test_time_grows_with_the_lines() -> None:
    """Twenty times the lines take nowhere near four hundred times the time."""

    def seconds(count: int) -> float:
        lines = [Asked(20 + 7.3 * n, 0.05, [Way(0.5 * (k + 1)) for k in range(200)]) for n in range(count)]
        begun = time.process_time()
        choose(lines, 0.9, 1.1, 0.5)
        return time.process_time() - begun

    seconds(5)
    assert seconds(300) < 100 * max(seconds(15), 1e-4)
