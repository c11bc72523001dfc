"""What is usual of packets beyond the bank of formulas, laid over the prior: common practice, never a demand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from batchwright.original.labels.tree import Node, Tree
from batchwright.original.region.problem import Floats
from batchwright.original.sampling.prior import Prior

INNER = 1.6449  # standard deviations of a normal from its middle to the end of its inner 90 %
WELL_KNOWN = ("salt", "leavening", "yeast", "spice")  # kinds of which the bank holds enough formulas to know better


def with_usual_amounts(prior: Prior, usual: Floats, kinds: Sequence[str]) -> Prior:
    """Return the prior with the usual amounts of minor ingredients (emulsifiers, colours, acids, vitamins ...) in it.

    usual: (n, 2) ends as fractions of the mass as added, nan where nothing is usual: taken as the inner 90 % of a
    log-normal. kinds: n coarse kinds; where the bank knows the kind well, its own centre and spread stay.
    """
    told = np.isfinite(usual).all(axis=1) & ~np.isin(np.asarray(kinds), WELL_KNOWN)
    if not told.any():
        return prior
    low, high = np.log(np.maximum(usual[told], 1e-6)).T
    mean, sd = np.array(prior.mean, dtype=float), np.array(prior.sd, dtype=float)
    mean[told] = (low + high) / 2
    sd[told] = np.maximum((high - low) / (2 * INNER), 0.3)
    return replace(prior, mean=mean, sd=sd)


FALLING = 1.5  # a listed item's share falls as its place in the list to minus this
BANK_DOUBT = 2.5  # packets differ from the bank's formulas by more than those among themselves: factor of the spread
ORDER_SD = 0.75  # of the natural log of a share, where only its place in the list is known: a factor of 2.1
# What stands out from the falling series, on 226 packets that declare percentages: factor of an item's weight in it.
OF_COMPOSITES = (("chocolate", 0.55), ("flavou?ring|seasoning|spice", 0.25), ("", 0.85))  # by words of the name
OF_KINDS = {"fruit": 0.7, "juice": 0.7, "meat": 1.5}
SPLIT_SD = 2.5  # of the natural log of a share in one of several parts that it may not be in at all
# Net loss on the listed mass against the bank's (common practice): factor of its chance, of its middle, of its spread.
LOSS_WITH_FLOUR = (0.6, 0.7, 1.3)  # dough water bakes off, but a list need not name it
LOSS_WITHOUT = (0.1, 0.6, 1.0)  # what is not baked loses little, and percentages are printed of the finished food


def as_packets_print(prior: Prior, tree: Tree) -> Prior:
    """Return the prior with what packets add to it: place in the list, shared parts, little net loss.

    The bank holds household formulas. For a packet its centre is drawn towards a falling series along the list (as
    1 / place^1.5: 1, 0.35, 0.19, 0.13 ...; inside brackets the same, of what the bracket is), by the weight of the two
    spreads; the series is the one nearest to the percentages that 226 packets declare. A name that may stand in several
    parts is shared among them with a wide spread.
    """
    mean, sd = np.array(prior.mean, dtype=float), np.array(prior.sd, dtype=float) * BANK_DOUBT
    falling = np.full(len(mean), np.nan)
    _fall(tree.nodes, 1.0, falling, [leaf.kind for leaf in tree.leaves])
    for node in tree.nodes:
        places = list(node.places)
        if node.children and not node.item.role and not node.component and len(places) > 1:
            mean[places] += np.log(np.exp(falling[places]).sum() / np.exp(mean[places]).sum())
    bank, order = 1.0 / sd**2, 1.0 / ORDER_SD**2
    mean = (mean * bank + falling * order) / (bank + order)
    sd = np.sqrt(1.0 / (bank + order))
    copies: dict[tuple[str, ...], list[int]] = {}
    for place, leaf in enumerate(tree.leaves):
        copies.setdefault(leaf.path, []).append(place)
    for places in copies.values():
        if len({tree.leaves[place].part for place in places}) > 1:
            mean[places] -= np.log(len(places))
            sd[places] = SPLIT_SD
    floury = any("flour" in leaf.kind for leaf in tree.leaves)
    chance, middle, spread = LOSS_WITH_FLOUR if floury else LOSS_WITHOUT
    no_loss = 1.0 - (1.0 - prior.no_loss) * chance
    loss_mean, loss_sd = prior.loss_mean * middle, prior.loss_sd * spread
    return replace(prior, mean=mean, sd=sd, no_loss=no_loss, loss_mean=loss_mean, loss_sd=loss_sd)


def _fall(nodes: Sequence[Node], whole: float, falling: Floats, kinds: Sequence[str]) -> None:
    """Set the log share of a falling series along a list that makes up `whole`."""
    listed = [node for node in nodes if node.places]
    weights = np.arange(1.0, len(listed) + 1.0) ** -FALLING * [_standing_out(node, kinds) for node in listed]
    for node, weight in zip(listed, weights / weights.sum(), strict=True):
        share = max(whole * float(weight), 1e-6)
        if node.children:
            _fall(node.children, share, falling, kinds)
        falling[[place for place in node.places if not np.isfinite(falling[place])]] = np.log(share / len(node.places))


def _standing_out(node: Node, kinds: Sequence[str]) -> float:
    """Return the factor of an item's weight in a falling series, for what it is."""
    if node.children:
        name = node.item.name.casefold()
        return next(factor for words, factor in OF_COMPOSITES if re.search(words, name))
    return OF_KINDS.get(kinds[node.places[0]], 1.0)
