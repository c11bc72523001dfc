"""Draws against exact results: moments of the simplex, broken sticks, a lump of no loss, a numerical integral."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from batchwright.original.region.problem import PanelRow, Problem, Row
from batchwright.original.sampling import sampler, walk
from batchwright.original.sampling.ground import ground_of
from batchwright.original.sampling.plain_walk import PlainWalk, erf
from batchwright.original.sampling.prior import Prior


def flat(n: int) -> Prior:
    """A prior whose density is the same everywhere on the simplex: mean = sd squared, sd very large, no tails."""
    return Prior(np.full(n, 1e6), np.full(n, 1e3), 1e12, 0.5, 0.1, 0.05)


def simplex(n: int, ordered: bool = False, water: float = 0.0) -> Problem:
    names = tuple(f"item {at}" for at in range(n))
    rows = [Row({at: 1.0, at + 1: -1.0}, 0.0, np.inf, f"order {at}", "order") for at in range(n - 1)] if ordered else []
    zeros, moist = np.zeros((1, n)), np.full(n, water)
    contents = (zeros, zeros, zeros, zeros, moist, moist, moist)
    return Problem(names, (0,) * n, ("whole",), ("fat_g",), *contents, tuple(rows), ())


@pytest.fixture(params=["compiled", "plain"])
def walker(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    if request.param == "plain":
        monkeypatch.setattr(sampler, "library", lambda: None)
    elif walk.library() is None:
        pytest.skip("no C compiler when the package was installed")
    return str(request.param)


@pytest.mark.parametrize("n", [3, 8])
def test_simplex_moments(walker: str, n: int) -> None:
    """Mean 1/n, variance (n-1)/(n^2 (n+1)): Dirichlet, parameters 1 (Johnson and Kotz 1972, section 40.5)."""
    draws = sampler.sample(simplex(n), flat(n))
    spread = (n - 1) / (n**2 * (n + 1))
    assert np.abs(draws.shares.mean(axis=0) - 1 / n).max() < 5 * np.sqrt(spread / 430)
    assert draws.shares.var(axis=0) == pytest.approx(np.full(n, spread), rel=0.25)
    assert draws.shares.sum(axis=1) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("n", [4, 10])
def test_broken_stick(walker: str, n: int) -> None:
    """Of a stick broken at random the k-th largest piece is on average (1/n) sum of 1/j, j from k (Whitworth 1901)."""
    draws = sampler.sample(simplex(n, ordered=True), flat(n))
    expected = np.array([sum(1 / j for j in range(k, n + 1)) / n for k in range(1, n + 1)])
    error = draws.shares.std(axis=0) / np.sqrt(430)
    assert (np.abs(draws.shares.mean(axis=0) - expected) < 5 * error + 1e-4).all()
    assert (np.diff(draws.shares, axis=1) <= 1e-9).all()


def test_lump_at_no_loss(walker: str) -> None:
    """With nothing on the panel the loss keeps its prior: the lump's chance, the normal's mean where positive."""
    draws = sampler.sample(simplex(3, water=90.0), replace(flat(3), no_loss=0.4, loss_mean=0.2, loss_sd=0.03))
    loss = 1.0 - draws.finished[:, 0]
    assert (loss < 1e-9).mean() == pytest.approx(0.4, abs=0.08)
    assert loss[loss > 1e-9].mean() == pytest.approx(0.2, abs=0.006)


def soft_pair() -> tuple[Problem, Prior]:
    """Two ingredients, one with fat known to a tenth; the finished food prints 20 to 21 g of fat."""
    typical, spread, dry = np.array([[80.0, 0.0]]), np.array([[8.0, 0.0]]), np.zeros(2)
    contents = (typical, spread, typical * 0.8, typical * 1.2, dry, dry, dry)
    figure = PanelRow("fat_g", 20.0, 21.0, "fat 20 g")
    problem = Problem(("butter", "sugar"), (0, 0), ("whole",), ("fat_g",), *contents, (), (figure,))
    return problem, Prior(np.log([0.3, 0.7]), np.array([0.5, 0.3]), 8.0, 0.99, 0.1, 0.05)


def test_soft_panel_against_a_numerical_integral(walker: str) -> None:
    """The mean share equals that of the density summed over a fine grid (an independent midpoint rule)."""
    from math import erf as exact

    problem, prior = soft_pair()
    s = (np.arange(40000) + 0.5) / 40000
    sd = 8.0 * s
    c = 1 / np.sqrt(2) / sd
    mass = np.array([exact(k * (21 - 80 * x)) - exact(k * (20 - 80 * x)) for k, x in zip(c, s, strict=True)])
    z2 = ((np.log(s) - prior.mean[0]) / 0.5) ** 2 + ((np.log1p(-s) - prior.mean[1]) / 0.3) ** 2
    density = mass * (1 + z2 / 8) ** (-5.0) / (s * (1 - s))
    mean = (density * s).sum() / density.sum()
    draws = sampler.sample(problem, prior)
    assert draws.shares[:, 0].mean() == pytest.approx(mean, abs=0.002)


def test_both_walks_have_the_same_density() -> None:
    """The compiled and the numpy density agree up to one constant at random points of a task with energy and parts."""
    if walk.library() is None:
        pytest.skip("no C compiler when the package was installed")
    random = np.random.default_rng(5)
    nutrients = ("energy_kcal", "fat_g", "carbohydrate_g", "protein_g", "sodium_mg")
    typical = np.vstack([np.zeros(5), random.uniform(1, 30, (3, 5)), random.uniform(5, 400, (1, 5))])
    typical[0] = 9 * typical[1] + 4 * typical[2] + 4 * typical[3]
    water = np.full(5, 30.0)
    means = zip(nutrients, typical.mean(axis=1), strict=True)
    panel = [PanelRow(key, 0.8 * mean, 1.2 * mean, key) for key, mean in means]
    panel.append(PanelRow("fat_g", 5.0, 25.0, "fat of the filling", (1,)))
    rows = (Row({0: 1.0, 1: -1.0}, 0.0, np.inf, "order", "order"), Row({5: 1.0, 6: -2.0}, -0.9, 0.9, "parts", "part"))
    problem = Problem(tuple("abcde"), (0, 0, 0, 1, 1), ("base", "filling"), nutrients, typical, 0.08 * typical, typical,
                      typical, water, water, water, rows, tuple(panel))  # fmt: skip
    ground = ground_of(problem, Prior(np.full(5, -1.6), np.full(5, 0.7), 8.0, 0.3, 0.1, 0.05))
    points = np.hstack([random.dirichlet(np.ones(5), 400), random.uniform(-0.04, 0.3, (400, 2))])
    one, other = walk.CompiledWalk(ground).density(points), PlainWalk(ground).density(points)
    assert (np.isfinite(one) == np.isfinite(other)).all()
    inside = np.isfinite(one)
    assert inside.sum() > 20
    assert np.ptp(one[inside] - other[inside]) < 1e-4


def test_error_function() -> None:
    """Abramowitz and Stegun 1964, table 7.1."""
    assert erf(np.array([0.0, 0.5, 1.0, 2.0, -1.0])) == pytest.approx(
        [0.0, 0.5204998778, 0.8427007929, 0.9953222650, -0.8427007929], abs=2e-7
    )


def test_the_same_task_gives_the_same_draws() -> None:
    problem, prior = soft_pair()
    assert np.array_equal(sampler.sample(problem, prior).shares, sampler.sample(problem, prior).shares)


def test_worth_of_independent_draws() -> None:
    """Independent normal draws are worth about their number and agree between chains."""
    worth, agreement = sampler.diagnostics(np.random.default_rng(1).standard_normal((4, 2000, 3)))
    assert worth == pytest.approx(np.full(3, 8000), rel=0.15)
    assert (agreement < 1.01).all()


def test_chains_apart_are_seen() -> None:
    """Chains that stay in different places do not agree."""
    states = np.random.default_rng(1).standard_normal((4, 500, 1)) + np.arange(4)[:, None, None]
    assert sampler.diagnostics(states)[1][0] > 1.2
