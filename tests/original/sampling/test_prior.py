"""The prior: what it learns from 30 invented formulas, and what it does with kinds it does not know."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from batchwright.original.region.problem import Problem
from batchwright.original.sampling.bank import Bank, Formula, composition_place, title_stems
from batchwright.original.sampling.prior import ALIKE, Kriging, Parameters, Prior, kriging, listing_of, prior_for

sys.path.insert(0, str(Path(__file__).parents[3] / "benchmarks"))
from fit_prior import fit

CONTENT = {  # kcal, fat, saturated, carbohydrate, fiber, sugars, protein, cholesterol, sodium, calcium, iron, potassium
    "flour": (364, 1, 0.2, 76, 2.7, 0.3, 10, 0, 2, 15, 4.6, 107),
    "sugar": (387, 0, 0, 100, 0, 100, 0, 0, 1, 1, 0, 2),
    "butter": (717, 81, 51, 0, 0, 0, 1, 215, 600, 24, 0, 24),
    "salt": (0, 0, 0, 0, 0, 0, 0, 0, 38758, 24, 0, 8),
}


def invented(count: int = 30) -> list[Formula]:
    """Formulas of our own in two sorts: crisps bake to a fifth less and are rich, puffs lose nothing and are lean."""
    random = np.random.default_rng(7)
    names = tuple(CONTENT)
    place = composition_place(
        np.array([CONTENT[name] for name in names], dtype=float).T, np.array([12.0, 0.0, 16.0, 0.0])
    )
    found = []
    for at in range(count):
        rich = at % 2 == 0
        amounts = np.array([100.0, 45.0 if rich else 8.0, 50.0 if rich else 10.0, 1.0]) * np.exp(
            random.normal(0, 0.1, 4)
        )
        title = f"{'crisp' if rich else 'puff'} number {at}"
        loss = float(np.clip(random.normal(0.2, 0.02), 0, 1)) if rich else 0.0
        sort = "crisps" if rich else "puffs"
        shares = amounts / amounts.sum()
        found.append(Formula(names, names, place, title_stems(title), sort, shares, loss, f"family {at}"))
    return found


@pytest.fixture(scope="module")
def fitted() -> tuple[list[Formula], Parameters]:
    known = invented()
    return known, fit(known[:-2])


def test_refit_tells_the_two_sorts_apart(fitted: tuple[list[Formula], Parameters]) -> None:
    """Formulas that were not shown are foretold to a fifth of each amount, far better than by the mean of all."""
    known, parameters = fitted
    method = Kriging(Bank(known[:-2]), parameters)
    for formula in known[-2:]:
        mean, sd = method.log_shares(formula)
        real = np.log(formula.shares)
        assert np.abs(mean - real).max() < 0.35
        assert (np.abs(mean - real) < 4 * sd).all()
        blind = np.mean([np.log(f.shares) for f in known[:-2]], axis=0)
        assert np.abs(mean - real).mean() < 0.5 * np.abs(blind - real).mean()


def test_refit_learns_the_loss(fitted: tuple[list[Formula], Parameters]) -> None:
    """A crisp loses about a fifth, a puff nothing."""
    known, parameters = fitted
    method = Kriging(Bank(known[:-2]), parameters)
    crisp, puff = method.loss(known[-2]), method.loss(known[-1])
    assert crisp[0] < 0.3
    assert crisp[1] == pytest.approx(0.2, abs=0.03)
    assert puff[0] > 0.7


def test_kriging_at_a_known_point_without_noise() -> None:
    """With next to no noise the centre at a formula of the bank is its own share (equation 2.25, noise 0)."""
    known = invented(10)
    weights = np.full(len(ALIKE), 0.1)
    kinds = dict.fromkeys(CONTENT, 0.0)
    small, one = dict.fromkeys(CONTENT, 1e-9), dict.fromkeys(CONTENT, 1.0)
    parameters = Parameters(
        weights, np.array([0.5, 1.3, 0.6, 0.6]), kinds, one, small, np.ones(6), np.ones(6), np.zeros(3)
    )
    varied = [Formula(f.names, f.kinds, f.place + 0.01 * at, (f"word{at}",), f.sort, f.shares, 0.0, f.family)
              for at, f in enumerate(known)]  # fmt: skip
    mean, sd = Kriging(Bank(varied), parameters).log_shares(varied[3])
    assert mean == pytest.approx(np.log(varied[3].shares), abs=1e-4)
    assert sd == pytest.approx(np.full(4, np.sqrt(1e-3)), rel=0.2)  # the floor


def problem(kinds: tuple[str, ...]) -> Problem:
    n = len(kinds)
    zeros, dry = np.zeros((1, n)), np.zeros(n)
    names = tuple(f"thing {at}" for at in range(n))
    return Problem(
        names, (0,) * n, ("whole",), ("fat_g",), zeros, zeros, zeros, zeros, dry, dry, dry, (), (), kinds=kinds
    )


def test_unknown_kind_is_wide() -> None:
    """A kind the bank never met gets a centre of its own and a factor of several either way, no failure."""
    prior = prior_for(problem(("flour", "moon dust")))
    assert isinstance(prior, Prior)
    assert np.isfinite(prior.mean).all()
    assert prior.sd[1] > 1.0


def test_families_can_be_left_out() -> None:
    """The bank without a family holds fewer formulas and may answer otherwise."""
    whole = kriging()
    family = whole.bank.known[0].family
    less = kriging(frozenset([family]))
    assert len(less.bank.known) < len(whole.bank.known)
    assert family not in {f.family for f in less.bank.known}


def test_salt_is_foretold_as_little() -> None:
    """Salt in the shipped bank is a minor ingredient: its centre lies below 3 % in a list of flour, sugar and salt."""
    prior = prior_for(problem(("flour", "sugar", "salt")))
    assert np.exp(prior.mean[2]) < 0.03
    assert prior.mean[0] > prior.mean[2]


def test_listing_without_kinds() -> None:
    """A task without kinds is still a listing."""
    assert listing_of(problem(())).kinds == ()
