"""What the finished food holds, and how much of each class of ingredient: the band that recipes are held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from batchwright.base.nutrients import SODIUM_PER_SALT
from batchwright.formula.axes import class_group
from batchwright.original.answers.ranges import Sampled, estimates, finished_percent, indicators
from batchwright.original.labels.label import Assembly
from batchwright.original.records import ClassShare, Content
from batchwright.original.region.problem import Floats, PanelRow, Problem
from batchwright.original.sampling.sampler import seed_of
from batchwright.original.sampling.tolerance import as_packets_are

WATER = "water_g"
CONTENTS = {
    WATER: "water", "fat_g": "fat", "saturated_fat_g": "saturated fat", "sugars_g": "sugars",
    "added_sugars_g": "added sugars", "protein_g": "protein", "fiber_g": "fibre", "salt_g": "salt",
}  # fmt: skip
SALT = 1.0 / (1000.0 * SODIUM_PER_SALT)  # g salt per mg sodium
TRIES = 24  # lots tried for each draw until one agrees with the panel
MOST_DRAWS = 2000  # draws looked at: ends of the likely range are then known to a tenth of its width


def composition_of_original(assembly: Assembly, problem: Problem, draws: Sampled) -> tuple[Content, ...]:
    """Return what the finished food holds, g per 100 g, as a whole and for each part where there are several.

    assembly: the label; problem: the task that its draws are of; draws: shares and finished masses. The likely range is
    that of the draws with each ingredient's lots varied, held to what the panel can stand for; the sure ends are the
    printed figure's own interval, absent where no panel prints one.
    """
    ways = [leaf.match.how for leaf in assembly.tree.leaves]
    loose = as_packets_are(assembly.problem, ways)
    held = assembly.problem if draws.possible else loose
    random = np.random.default_rng(seed_of(problem))
    kept = slice(None, None, max(1, len(draws.shares) // MOST_DRAWS))
    draws = replace(draws, shares=draws.shares[kept], finished=draws.finished[kept])
    whole = draws.finished.sum(axis=1)
    found: list[Content] = []
    for key, name in CONTENTS.items():
        amount, doubt = _amounts(loose, key, draws)
        told = _ends(assembly.problem, key)
        amount = _lots(amount, doubt, whole, _ends(held, key), random)
        values = [("", amount.sum(axis=1) / whole, told)]
        if problem.m > 1:
            values += [
                (part, amount[:, at] / np.maximum(draws.finished[:, at], 1e-9), (np.nan, np.nan))
                for at, part in enumerate(problem.part_names)
            ]
        for part, value, (low, high) in values:
            ends = np.array([low]), np.array([high])
            estimate = estimates(np.clip(value, 0.0, 1.0)[:, None], *ends, draws.possible)[0]
            found.append(Content(key, name, part, estimate))
    return tuple(found)


def classes_of_original(
    assembly: Assembly, problem: Problem, draws: Sampled, added_high: Floats
) -> tuple[ClassShare, ...]:
    """Return the share of each class of ingredient (flour, sugar, fat ...) as recipes are compared, the largest first.

    added_high: (n,) sure upper ends of the leaves as added. Sure ends are those of the summed leaves.
    """
    groups: dict[str, list[int]] = {}
    for place, leaf in enumerate(assembly.tree.leaves):
        groups.setdefault(class_group(leaf.match.ingredient_class), []).append(place)
    names, members = list(groups), list(groups.values())
    weights = indicators(members, problem)
    upper = np.minimum(1.0, np.array([added_high[places].sum() for places in members]))
    finished = finished_percent(problem, draws, weights, upper)
    nothing = np.full(len(names), np.nan)
    added = estimates(draws.shares @ weights[:, : problem.n].T, nothing, nothing, draws.possible)
    shares = [ClassShare(*three) for three in zip(names, added, finished, strict=True)]
    return tuple(sorted(shares, key=lambda share: -share.finished_percent.likely))


def _amounts(problem: Problem, key: str, draws: Sampled) -> tuple[Floats, Floats]:
    """Return how much of a nutrient each part holds (N, m) and one spread of its lots, fractions of the mass as added.

    Water is what was added less what was lost.
    """
    part_of = np.asarray(problem.part_of)
    if key == WATER:
        content, spread = problem.water_typical, (problem.water_high - problem.water_low) / 4.0
    else:
        place = problem.nutrients.index("sodium_mg" if key == "salt_g" else key)
        factor = SALT if key == "salt_g" else 1.0
        content, spread = factor * problem.typical[place], factor * problem.spread[place]
    inside = (part_of[:, None] == np.arange(problem.m)).astype(float)
    amount = draws.shares @ (inside * content[:, None] / 100.0)
    doubt = np.sqrt(draws.shares**2 @ (inside * (spread[:, None] / 100.0) ** 2))
    if key == WATER:
        amount -= draws.shares @ inside - draws.finished
    return np.maximum(amount, 0.0), doubt


def _ends(problem: Problem, key: str) -> tuple[float, float]:
    """Return what the panels' figures of the whole food stand for [fraction]; nan where none prints it."""
    figures = [figure for figure in problem.panel if not figure.parts]
    if key == "salt_g":
        met = [(SALT * low, SALT * high) for low, high in _met(figures, "sodium_mg")]
    else:
        met = _met(figures, key)
    if not met:
        return np.nan, np.nan
    low, high = met[0]
    return low / 100.0, high / 100.0 if np.isfinite(high) else np.nan


def _met(figures: Sequence[PanelRow], key: str) -> list[tuple[float, float]]:
    """Return the interval that all figures of a nutrient share; nothing where none is printed or they clash."""
    said = [(figure.low, figure.high) for figure in figures if figure.nutrient == key]
    if not said:
        return []
    low, high = max(low for low, _ in said), min(high for _, high in said)
    return [(low, high)] if low <= high else []


def _lots(
    amount: Floats, doubt: Floats, whole: Floats, ends: tuple[float, float], random: np.random.Generator
) -> Floats:
    """Return amounts (N, m) with the lots of each draw varied so that the whole agrees with the panel.

    The first of TRIES lots that agrees is taken; where none does, any whole amount that the panel can stand for. What
    that moves is shared out by the parts' doubt.
    """
    if not doubt.any():
        return amount
    low = np.where(np.isfinite(ends[0]), ends[0], 0.0) * whole
    high = np.where(np.isfinite(ends[1]), ends[1], 1.0) * whole
    total, square = amount.sum(axis=1), (doubt**2).sum(axis=1)
    tried = total + np.sqrt(square) * random.standard_normal((TRIES, len(total)))
    agrees = (tried >= low) & (tried <= high)
    anywhere = random.uniform(low, high) if np.isfinite(ends).all() else np.clip(total, low, high)
    first = np.take_along_axis(tried, agrees.argmax(axis=0)[None], axis=0)[0]
    wanted = np.where(agrees.any(axis=0), first, anywhere)
    varied = amount + doubt * random.standard_normal(amount.shape)
    share = doubt**2 / np.maximum(square, 1e-300)[:, None]
    return np.asarray(np.maximum(varied + (wanted - varied.sum(axis=1))[:, None] * share, 0.0))
