"""Lists too long for exact ranges in the time a cook waits: what the order and the caps alone guarantee."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from batchwright.original.labels.rows import EU_FREE_ORDER
from batchwright.original.labels.tree import Node, Tree
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.sampling.prior import Prior

MOST_EXACT = 60  # unknowns up to which every end is a linear program
NOTE = "the list is very long: its ranges rest on order, caps and what is usual, wider than the panel would make them"


def is_long(problem: Problem) -> bool:
    """Tell whether a task has too many unknowns for exact ends."""
    return problem.n > MOST_EXACT


def order_ends(tree: Tree, problem: Problem) -> tuple[Floats, Floats]:
    """Return upper ends (n,) of the unknowns and (T,) of the printed top-level items, as fractions as added.

    The k-th item of a descending list is at most 1/k of it (2 points more, where a minor item may be out of order); an
    item that stands in a capped row alone at most its cap. Lower ends are 0. True whatever the panel says.
    """
    leaf_high = np.ones(problem.n)
    top_high = np.ones(len(tree.nodes))
    _descend(tree.nodes, 1.0, leaf_high, top_high)
    for row in problem.rows:
        if len(row.coefficients) == 1 and np.isfinite(row.high):
            ((place, factor),) = row.coefficients.items()
            if factor > 0 and place < problem.n:
                leaf_high[place] = min(leaf_high[place], row.high / factor)
    for place, node in enumerate(tree.nodes):
        if node.places:
            top_high[place] = min(top_high[place], float(leaf_high[list(node.places)].sum()))
    return leaf_high, top_high


def _descend(siblings: Sequence[Node], whole: float, leaf_high: Floats, high: Floats | None = None) -> None:
    """Lower the upper ends of the items of one list that makes up at most `whole`."""
    ordered = 0
    for place, node in enumerate(siblings):
        end = whole
        if node.item.max_percent is None and node.item.kind != "component" and node.places:
            ordered += 1
            end = min(whole, whole / ordered + (EU_FREE_ORDER if ordered > 1 else 0.0))
        if high is not None:
            high[place] = end
        for unknown in node.places:
            leaf_high[unknown] = min(leaf_high[unknown], end)
        if node.children and node.item.ordered and not node.item.one_of:
            _descend(node.children, end, leaf_high)


def draws_by_order(tree: Tree, problem: Problem, prior: Prior, seed: int, count: int = 1000) -> tuple[Floats, Floats]:
    """Return draws (count, n) of shares and (count, m) of finished mass from the prior, set in the printed order.

    The panel is not looked at: for lists beyond what is walked in the time a cook waits.
    """
    random = np.random.default_rng(seed)
    shares = np.exp(prior.mean + np.minimum(prior.sd, 2.0) * random.standard_normal((count, problem.n)))
    ordered = [node for node in tree.nodes if node.places and node.item.max_percent is None]
    ordered = [node for node in ordered if node.item.kind != "component"] or [tree.nodes[0]]
    sums = np.stack([shares[:, list(node.places)].sum(axis=1) for node in ordered], axis=1)
    falling = -np.sort(-sums, axis=1)
    for place, node in enumerate(ordered):
        shares[:, list(node.places)] *= (falling[:, place] / sums[:, place])[:, None]
    shares /= shares.sum(axis=1, keepdims=True)
    loss = np.clip(prior.loss_mean + prior.loss_sd * random.standard_normal(count), 0.0, problem.loss_max)
    water = np.minimum(1.0, shares @ problem.water_high / 100.0)
    loss = np.where(random.random(count) < prior.no_loss, 0.0, np.minimum(loss, water))
    part_of = np.asarray(problem.part_of)
    masses = np.stack([shares[:, part_of == part].sum(axis=1) for part in range(problem.m)], axis=1)
    return shares, masses * (1.0 - loss)[:, None]
