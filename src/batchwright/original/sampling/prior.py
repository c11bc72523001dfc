"""How such foods are usually made: the prior of the likely range, from the whole ingredient list.

Log shares of one kind of ingredient are a Gaussian process over (formula, ingredient): two are alike when the lists,
the ingredients' own composition, the sort of food and the words of its name are alike (kriging: Rasmussen and Williams
2006, chapter 2, equations 2.25 and 2.26). Printed order never enters here; it bounds the region that is sampled. The
water a food loses is a lump at none plus a normal part, both averaged over the foods alike. Parameters are fitted to
the bank by `benchmarks/fit_prior.py` and stand in `data/prior_parameters.csv`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from batchwright.base.tables import rows
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.sampling.bank import STEPS, Bank, Listing, composition_place, formulas

ALIKE = ("flat", "same", "sort", "sort_same", "list", "list_same", "content", "content_list", "stems", "stems_content",
         "count_content", "kinds", "kinds_content")  # fmt: skip
LENGTHS = ("list_length", "content_length", "count_length", "kinds_length")
LOSS_WEIGHTS = ("names", "kinds", "stems", "sort", "count", "water")
NO_LOSS = 0.002  # fractions below this count as no loss
UNKNOWN_SD = 1.3  # of the log share of an ingredient whose kind the bank does not know: a factor 3.7 (common practice)


@dataclass(frozen=True)
class Parameters:
    """What the fit found. `weights` in the order of ALIKE, `lengths` of LENGTHS; per kind a mean, a scale, a noise."""

    weights: Floats
    lengths: Floats
    mean: dict[str, float]
    scale: dict[str, float]
    noise: dict[str, float]
    none_weights: Floats
    loss_weights: Floats
    loss_shape: Floats  # log pseudo-counts of "none" and of "how much", log factor of the spread


@dataclass(frozen=True, slots=True)
class Prior:
    """Centre and spread of each leaf's natural log share (n,), tails as Student's t with `nu` degrees of freedom.

    Loss of a part: none with chance `no_loss`, else normal with `loss_mean`, `loss_sd` [fraction of the part's mass].
    """

    mean: Floats
    sd: Floats
    nu: float
    no_loss: float
    loss_mean: float
    loss_sd: float
    notes: tuple[str, ...] = field(default=())


@cache
def parameters() -> Parameters:
    """Return the fitted parameters of `data/prior_parameters.csv`."""
    found: dict[str, dict[str, float]] = {}
    for row in rows("prior_parameters"):
        found.setdefault(row["group"], {})[row["name"]] = float(row["value"])
    return Parameters(
        np.array([found["weight"][name] for name in ALIKE]),
        np.array([found["length"][name] for name in LENGTHS]),
        found["mean"],
        found["scale"],
        found["noise"],
        np.array([found["none"][name] for name in LOSS_WEIGHTS]),
        np.array([found["loss"][name] for name in LOSS_WEIGHTS]),
        np.array([found["loss_shape"][name] for name in ("none_count", "loss_count", "loss_factor")]),
    )


def alike_parts(lists: dict[str, Floats], same: Floats, content: Floats, lengths: Floats) -> list[Floats]:
    """Return the covariances that ALIKE names, all of one shape.

    lists: similarities of the two formulas; same: 1 where the ingredient is the same; content: squared distance of the
    two ingredients' places; lengths: of LENGTHS.
    """
    near = np.exp(-(1.0 - 0.5 * (lists["names"] + lists["kinds"])) / lengths[0])
    close = np.exp(-content / (2.0 * lengths[1] ** 2))
    many = np.exp(-lists["count"] / (2.0 * lengths[2] ** 2))
    kin = np.exp(-(1.0 - lists["kinds"]) / lengths[3])
    return [np.ones_like(near), same, lists["sort"], lists["sort"] * same, near, near * same, close, close * near,
            lists["stems"], lists["stems"] * close, many * close, kin, kin * close]  # fmt: skip


def squared_distance(one: Floats, other: Floats) -> Floats:
    """Return the squared distances (a, b) between places (a, d) and (b, d)."""
    cross = one @ other.T
    return np.asarray(np.maximum((one**2).sum(1)[:, None] + (other**2).sum(1)[None] - 2.0 * cross, 0.0))


class Kriging:
    """A bank with the parameters laid over it; each kind's equations are solved once, when first asked for."""

    def __init__(self, bank: Bank, fitted: Parameters) -> None:
        self.bank = bank
        self.fitted = fitted
        self._solved: dict[str, tuple[Floats, Floats]] = {}

    def _block(self, kind: str) -> tuple[Floats, Floats]:
        """Return the inverse covariance of a kind's rows and its product with their residuals."""
        if kind not in self._solved:
            bank, at = self.bank, self.bank.rows_of[kind]
            same = (bank.name_of[at][:, None] == bank.name_of[at][None]).astype(float)
            content = squared_distance(bank.place[at], bank.place[at])
            parts = alike_parts(bank.alike_within(bank.formula_of[at]), same, content, self.fitted.lengths)
            covariance = self.fitted.scale[kind] * sum(w * p for w, p in zip(self.fitted.weights, parts, strict=True))
            covariance[np.diag_indices(len(at))] += self.fitted.noise[kind]
            inverse = np.linalg.inv(covariance)
            self._solved[kind] = inverse, inverse @ (bank.log_share[at] - self.fitted.mean[kind])
        return self._solved[kind]

    def log_shares(self, listing: Listing) -> tuple[Floats, Floats]:
        """Return centre and spread (n,) of the log shares of a listing's leaves."""
        bank, fitted = self.bank, self.fitted
        mean = np.full(len(listing.names), np.log(0.3 / max(len(listing.names), 1)))
        variance = np.full(len(listing.names), UNKNOWN_SD**2)
        lists = bank.alike(listing)
        for kind in set(listing.kinds) & set(bank.kinds):
            at, leaves = bank.rows_of[kind], [i for i, k in enumerate(listing.kinds) if k == kind]
            inverse, solved = self._block(kind)
            own = np.array([bank.names.get(listing.names[i], -1) for i in leaves])
            same = (own[:, None] == bank.name_of[at][None]).astype(float)
            content = squared_distance(listing.place[leaves], bank.place[at])
            spread = {key: np.broadcast_to(value[bank.formula_of[at]], same.shape) for key, value in lists.items()}
            parts = alike_parts(spread, same, content, fitted.lengths)
            cross = fitted.scale[kind] * sum(w * p for w, p in zip(fitted.weights, parts, strict=True))
            mean[leaves] = fitted.mean[kind] + cross @ solved
            own_variance = fitted.scale[kind] * fitted.weights.sum() + fitted.noise[kind]
            variance[leaves] = own_variance - ((cross @ inverse) * cross).sum(axis=1)
        return mean, np.sqrt(np.maximum(variance, 1e-3))

    def loss(self, listing: Listing) -> tuple[float, float, float]:
        """Return the chance of no loss, and centre and spread of the loss where there is one."""
        lists = self.bank.alike(listing)
        lists["count"] = -lists["count"]
        table = np.array([lists[name] for name in LOSS_WEIGHTS])
        return loss_average(table, self.bank.loss, self.fitted)


def loss_average(table: Floats, losses: Floats, fitted: Parameters) -> tuple[float, float, float]:
    """Return (chance of none, centre, spread) from similarities (6, formulas) and the losses there (formulas,)."""
    none = losses < NO_LOSS
    pulls = fitted.none_weights @ table
    weight = np.exp(pulls - pulls.max())
    few = np.exp(fitted.loss_shape[0])
    chance = float((weight @ none + few * none.mean()) / (weight.sum() + few))
    pulls = np.where(none, -np.inf, fitted.loss_weights @ table)
    weight = np.exp(pulls - pulls.max())
    few = np.exp(fitted.loss_shape[1])
    centre, spread = losses[~none].mean(), losses[~none].var()
    total = weight.sum() + few
    mean = float((weight @ losses + few * centre) / total)
    variance = (weight @ (losses - mean) ** 2 + few * (spread + (mean - centre) ** 2)) / total
    return float(np.clip(chance, 0.01, 0.99)), mean, float(np.sqrt(variance * np.exp(fitted.loss_shape[2]) + 1e-4))


@cache
def kriging(without: frozenset[str] = frozenset()) -> Kriging:
    """Return the shipped bank, less the families named, under the shipped parameters."""
    return Kriging(Bank([f for f in formulas() if f.family not in without]), parameters())


def listing_of(problem: Problem) -> Listing:
    """Return a decoding task's list as the bank sees it."""
    place = {key: at for at, key in enumerate(problem.nutrients)}
    content = np.array([problem.typical[place[key]] if key in place else np.zeros(problem.n) for key in STEPS])
    kinds = problem.kinds or ("other",) * problem.n
    names = problem.shelf_names or problem.names
    return Listing(names, kinds, composition_place(content, problem.water_typical), problem.title_words, problem.sort)


def prior_for(problem: Problem, without: Collection[str] = (), method: Kriging | None = None) -> Prior:
    """Return the prior of a decoding task.

    without: families of the bank to leave out (cross-validation). method: another fitted bank than the shipped one.
    """
    known = method or kriging(frozenset(without))
    listing = listing_of(problem)
    mean, sd = known.log_shares(listing)
    no_loss, loss_mean, loss_sd = known.loss(listing)
    return Prior(mean, sd, 8.0, no_loss, loss_mean, loss_sd)
