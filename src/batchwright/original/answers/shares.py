"""Shares of leaves and of printed items, with everything that is said of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.original.answers.mix import FLOUR_KINDS
from batchwright.original.answers.ranges import Sampled, estimates, finished_percent, indicators, pins_of, ratio_ends
from batchwright.original.labels.label import Assembly
from batchwright.original.labels.tree import Leaf
from batchwright.original.records import SIDES, Pin, Share
from batchwright.original.region.problem import Floats, Problem

Triple = tuple[Estimate, Estimate, Estimate | None]  # percent as added, of the finished food, of the flour

ENRICHED = "standard: enrichment of flour"


def shares_of(
    assembly: Assembly, problem: Problem, draws: Sampled, added_low: Floats, added_high: Floats
) -> tuple[tuple[Share, ...], tuple[Share, ...]]:
    """Return the shares of every leaf (enrichment behind its flour) and of every printed top-level item."""
    tree, n = assembly.tree, problem.n
    members: list[Sequence[int]] = [(place,) for place in range(n)] + [node.places for node in tree.nodes]
    weights = indicators(members, problem)
    pinned = pins_of(problem)
    sums = draws.shares @ weights[:, :n].T
    added = estimates(sums, added_low, added_high, draws.possible, shares=True)
    finished = finished_percent(problem, draws, weights, added_high)
    flour = indicators([of_kind(tree.leaves, FLOUR_KINDS)], problem)[0]
    bakers: list[Estimate | None] = [None] * len(members)
    flour_sums = draws.shares @ flour[:n]
    if flour.any() and float(np.median(flour_sums)) > 0.01:
        low, high = ratio_ends(problem, weights, flour)
        bakers = list(estimates(sums / np.maximum(flour_sums, 1e-9)[:, None], low, high, draws.possible))
    split = _in_several_parts(tree.leaves)
    shares: list[Share] = []
    for place, leaf in enumerate(tree.leaves):
        part = tree.part_names[leaf.part]
        triple: Triple = (added[place], finished[place], bakers[place])
        if place in split:
            of_flour = bakers[place]
            triple = (
                _down_to_none(added[place]),
                _down_to_none(finished[place]),
                None if of_flour is None else _down_to_none(of_flour),
            )
        fixed = [one for one in tree.derived if one.of == place]
        if fixed:
            kept_low, kept_high = 1.0 - sum(one.high for one in fixed), 1.0 - sum(one.low for one in fixed)
            triple = _all_times(triple, kept_low, kept_high)
        told = pinned[place]
        untold = not told or bool(added_low[place] <= 1e-6 and added_high[place] >= 1.0 - 1e-6)
        how, chosen = leaf.match.how, leaf.match.ingredient
        shares.append(Share(leaf.name, leaf.path, part, how, chosen, *triple, told, untold))
        by_standard = tuple(Pin(ENRICHED, side) for side in SIDES)
        for one in fixed:
            triple = _all_times((added[place], finished[place], bakers[place]), one.low, one.high)
            shares.append(Share(one.name, one.path, part, one.match.how, one.match.ingredient, *triple, by_standard))
    printed = []
    for row, node in enumerate(tree.nodes, start=n):
        inside = [tree.leaves[place] for place in node.places]
        chosen = inside[0].match.ingredient if len({leaf.name for leaf in inside}) == 1 else None
        triple = added[row], finished[row], bakers[row]
        printed.append(Share(node.item.name, node.path, "whole", match_way(inside), chosen, *triple))
    return tuple(shares), tuple(printed)


def _in_several_parts(leaves: Sequence[Leaf]) -> set[int]:
    """Return the places of leaves that may stand in more than one part."""
    parts: dict[tuple[str, ...], set[int]] = {}
    for leaf in leaves:
        parts.setdefault(leaf.path, set()).add(leaf.part)
    return {place for place, leaf in enumerate(leaves) if len(parts[leaf.path]) > 1}


def _down_to_none(estimate: Estimate) -> Estimate:
    """Return an estimate whose likely range reaches none: nothing says that the ingredient is in this part at all."""
    if (estimate.sure_low or 0.0) > 1e-6:
        return estimate
    return replace(estimate, low=0.0)


def _all_times(triple: Triple, low: float, high: float) -> Triple:
    """Return the three shares of an ingredient times a factor that lies between `low` and `high` [0 or more]."""
    added, finished, of_flour = triple
    baker = None if of_flour is None else times(of_flour, low, high)
    return times(added, low, high), times(finished, low, high), baker


def times(estimate: Estimate, low: float, high: float) -> Estimate:
    """Return an estimate times a factor that lies between `low` and `high` [both 0 or more]."""
    sure = (estimate.sure_low, estimate.sure_high)
    ends = [None if end is None else end * factor for end, factor in zip(sure, (low, high), strict=True)]
    middle = (low + high) / 2
    return Estimate(estimate.likely * middle, estimate.low * low, estimate.high * high, ends[0], ends[1],
                    estimate.unit, estimate.method)  # fmt: skip


def match_way(leaves: Sequence[Leaf]) -> str:
    """Return how an item was matched: the weakest way among its leaves."""
    order = ("name", "synonym", "stripped", "head", "spelling", "class", "unknown")
    ways = [leaf.match.how for leaf in leaves] or ["unknown"]
    return max(ways, key=lambda way: order.index(way) if way in order else len(order))


def of_kind(leaves: Sequence[Leaf], kinds: Sequence[str]) -> tuple[int, ...]:
    """Return the places of leaves of some kinds."""
    return tuple(place for place, leaf in enumerate(leaves) if leaf.kind in kinds)
