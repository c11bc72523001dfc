"""Decoding: what a packaged food is made of, from its label and whatever was weighed of it."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.original.bounds import bounds_of, ratio_bounds
from batchwright.original.conflicts import smallest_conflict
from batchwright.original.label import Assembly, assemble
from batchwright.original.label_file import LabelFile
from batchwright.original.label_tree import Leaf
from batchwright.original.mix import (
    FAT_KINDS,
    FLOUR_KINDS,
    SUGAR_KINDS,
    Mix,
    dough_water_per_flour,
    one_formula,
)
from batchwright.original.narrow import measurements, narrow_next
from batchwright.original.pinned import pins
from batchwright.original.prior import prior_for
from batchwright.original.problem import Floats, Problem
from batchwright.original.records import SIDES, Answer, Conflict, Named, Narrowing, Pin, Share
from batchwright.original.sampler import sample
from batchwright.original.strain import nearest
from batchwright.original.usual import with_usual_amounts

METHOD = "sure: linear programming over every label line; likely: sampling of the same region"
ENRICHED = "standard: enrichment of flour"
RECHECK = "the figures named: a missed digit, kJ read as kcal, the serving weight, a swapped pair"
LIKELY = (0.05, 0.5, 0.95)  # the ends and the middle of the likely range


@dataclass(frozen=True, slots=True)
class Sampled:
    """Draws (N, n) of shares and (N, m) of finished mass, as fractions of the whole mass as added."""

    shares: Floats
    finished: Floats


def decode(label: LabelFile, mix: Mix | None = None) -> Answer:
    """Return what a label says its food is made of.

    label: what the cook entered (see `label_from_text`); every part of it may be missing, the answer is then wider.
    mix: what the formula is scaled to. Shares are of the listed ingredients as added; the bake loss is the net loss on
    that mass; water added and baked off, which lists need not name, is a range beside.
    Raises InputError for figures that cannot be. A label that no formula fits gets its smallest contradiction and the
    nearest answer, with `consistent` False.
    """
    started = time.perf_counter()
    assembly = assemble(label)
    problem, conflicts = consistent_problem(assembly.problem)
    draws = _draws(problem, assembly)
    leaves, items = _shares(assembly, problem, draws)
    loss = _loss(problem, draws)
    waters = [
        dough_water_per_flour(f"{label.name} {label.sort}", assembly.tree, part, label.baked)
        for part in range(problem.m)
    ]
    ranges = [(low, high) for _, low, high in waters]
    dough_water = _dough_water(assembly, problem, draws, ranges)
    centre = draws.shares.mean(axis=0), draws.finished.mean(axis=0)
    piece = None if assembly.teardown is None else assembly.teardown.piece_g
    formula, said = one_formula(assembly.tree, *centre, ranges, mix, piece)
    notes = list(assembly.notes)
    notes += [
        f"{assembly.tree.part_names[part]}: dough water usual for {sort}, {100 * low:.0f}-{100 * high:.0f} % of flour"
        for part, (sort, low, high) in enumerate(waters)
        if high > 0.0
    ]
    exact = np.array_equal(problem.low, problem.high)
    doubt = "" if exact else "sure ranges hold for every composition within two spreads"
    return Answer(
        name=label.name,
        ingredients=leaves,
        items=items,
        bake_loss_percent=loss,
        dough_water_percent=dough_water,
        ratios=_ratios(assembly, problem, draws),
        parts=_parts(problem, draws),
        one_formula=formula,
        mix=said,
        narrow_next=_narrowing(assembly, problem, draws),
        consistent=not conflicts,
        conflicts=conflicts,
        repairs=tuple(repair.to_json() for repair in assembly.statement.repairs),
        notes=tuple(dict.fromkeys([*notes, doubt] if doubt else notes)),
        seconds=time.perf_counter() - started,
        doubt=doubt,
    )


def top_items(label: LabelFile) -> tuple[Assembly, list[tuple[str, Estimate, str]]]:
    """Return the printed top-level items of a label with their percent of the finished food and how they were matched.

    As `decode`, without leaves, pins, ratios and advice: what a batch of labels asks for.
    """
    assembly = assemble(label)
    problem, _ = consistent_problem(assembly.problem)
    draws = _draws(problem, assembly)
    members = [node.places for node in assembly.tree.nodes]
    weights = _indicators(members, problem)
    estimates = _finished_percent(problem, draws, weights)
    how = [_match_way([assembly.tree.leaves[place] for place in places]) for places in members]
    names = [node.item.name for node in assembly.tree.nodes]
    return assembly, list(zip(names, estimates, how, strict=True))


def consistent_problem(problem: Problem) -> tuple[Problem, tuple[Conflict, ...]]:
    """Return a task that at least one formula satisfies, and the contradictions there were.

    The task itself, with no conflict, where some formula satisfies every line; else the smallest set of lines that
    contradict each other with what to re-check, and the task relaxed as little as makes it possible.
    """
    found = smallest_conflict(problem)
    if found is None:
        return problem, ()
    if not found.lines:  # percentages or part weights no list can have: what is weighed and printed gives way
        kept = tuple(row for row in problem.rows if row.family in ("order", "group"))
        problem = replace(problem, rows=kept)
    return nearest(problem), (Conflict(found.lines, found.check or RECHECK),)


def _pins(problem: Problem) -> list[tuple[Pin, ...]]:
    """Return, for every leaf, the label lines that hold its two ends."""
    wanted = [(place, side) for place in range(problem.n) for side in SIDES]
    lines = pins(problem, wanted)
    named = [tuple(Pin(line, side) for line in held) for (_, side), held in zip(wanted, lines, strict=True)]
    return [named[2 * place] + named[2 * place + 1] for place in range(problem.n)]


def _draws(problem: Problem, assembly: Assembly) -> Sampled:
    """Return draws from the region under the prior, what is usual of minor ingredients included."""
    found = sample(problem, with_usual_amounts(prior_for(problem), assembly.usual, problem.kinds))
    return Sampled(np.asarray(found.shares), np.asarray(found.finished))


def _indicators(members: Sequence[Sequence[int]], problem: Problem) -> Floats:
    """Return rows (r, N) that add up the unknowns at the given places."""
    rows = np.zeros((len(members), problem.n + problem.m))
    for row, places in enumerate(members):
        rows[row, list(places)] = 1.0
    return rows


def _estimates(values: Floats, low: Floats, high: Floats) -> list[Estimate]:
    """Return estimates in percent from draws (N, r) and sure ends (r,), all fractions; a likely end stays within."""
    found = []
    quantiles = np.quantile(values, LIKELY, axis=0) if len(values) else np.full((3, len(low)), np.nan)
    for column in range(values.shape[1]):
        ends = [float(low[column]), float(high[column])]
        sure = [100.0 * end if np.isfinite(end) else None for end in ends]
        three = [100.0 * float(value) for value in quantiles[:, column]]
        if sure[0] is not None and sure[1] is not None:
            three = [min(max(value, sure[0]), max(sure[0], sure[1])) for value in three]
        found.append(Estimate(three[1], three[0], three[2], sure[0], sure[1], "%", METHOD))
    return found


def _finished_percent(problem: Problem, draws: Sampled, weights: Floats) -> list[Estimate]:
    """Return sums of shares (r, N) in percent of the finished food."""
    whole = np.zeros(problem.n + problem.m)
    whole[problem.n :] = 1.0
    low, high = ratio_bounds(problem, weights, whole)
    values = draws.shares @ weights[:, : problem.n].T / draws.finished.sum(axis=1)[:, None]
    return _estimates(values, low, high)


def _shares(assembly: Assembly, problem: Problem, draws: Sampled) -> tuple[tuple[Share, ...], tuple[Share, ...]]:
    """Return the shares of every leaf (enrichment behind its flour) and of every printed top-level item."""
    tree, n = assembly.tree, problem.n
    members: list[Sequence[int]] = [(place,) for place in range(n)] + [node.places for node in tree.nodes]
    weights = _indicators(members, problem)
    added_low, added_high = bounds_of(problem, weights)
    pinned = _pins(problem)
    sums = draws.shares @ weights[:, :n].T
    added = _estimates(sums, added_low, added_high)
    finished = _finished_percent(problem, draws, weights)
    flour = _indicators([_of_kind(tree.leaves, FLOUR_KINDS)], problem)[0]
    bakers: list[Estimate | None] = [None] * len(members)
    flour_sums = draws.shares @ flour[:n]
    if flour.any() and float(np.median(flour_sums)) > 0.01:
        low, high = ratio_bounds(problem, weights, flour)
        bakers = list(_estimates(sums / np.maximum(flour_sums, 1e-9)[:, None], low, high))
    shares: list[Share] = []
    for place, leaf in enumerate(tree.leaves):
        part = tree.part_names[leaf.part]
        triple = added[place], finished[place], bakers[place]
        fixed = [one for one in tree.derived if one.of == place]
        if fixed:
            kept_low, kept_high = 1.0 - sum(one.high for one in fixed), 1.0 - sum(one.low for one in fixed)
            triple = tuple(_times(one, kept_low, kept_high) for one in triple)  # type: ignore[assignment]
        told = pinned[place]
        untold = not told or (added_low[place] <= 1e-6 and added_high[place] >= 1.0 - 1e-6)
        how, chosen = leaf.match.how, leaf.match.ingredient
        shares.append(Share(leaf.name, leaf.path, part, how, chosen, *triple, told, untold))
        by_standard = tuple(Pin(ENRICHED, side) for side in SIDES)
        for one in fixed:
            triple = tuple(_times(each, one.low, one.high) for each in (added[place], finished[place], bakers[place]))  # type: ignore[assignment]
            shares.append(Share(one.name, one.path, part, one.match.how, one.match.ingredient, *triple, by_standard))
    printed = []
    for row, node in enumerate(tree.nodes, start=n):
        inside = [tree.leaves[place] for place in node.places]
        chosen = inside[0].match.ingredient if len({leaf.name for leaf in inside}) == 1 else None
        triple = added[row], finished[row], bakers[row]
        printed.append(Share(node.item.name, node.path, "whole", _match_way(inside), chosen, *triple))
    return tuple(shares), tuple(printed)


def _times(estimate: Estimate | None, low: float, high: float) -> Estimate | None:
    """Return an estimate times a factor that lies between low and high."""
    if estimate is None:
        return None
    sure = (estimate.sure_low, estimate.sure_high)
    ends = [None if end is None else end * factor for end, factor in zip(sure, (low, high), strict=True)]
    middle = (low + high) / 2
    return Estimate(estimate.likely * middle, estimate.low * low, estimate.high * high, ends[0], ends[1],
                    estimate.unit, estimate.method)  # fmt: skip


def _match_way(leaves: Sequence[Leaf]) -> str:
    """Return how an item was matched: the weakest way among its leaves."""
    order = ("name", "synonym", "stripped", "head", "spelling", "class", "unknown")
    ways = [leaf.match.how for leaf in leaves] or ["unknown"]
    return max(ways, key=lambda way: order.index(way) if way in order else len(order))


def _of_kind(leaves: Sequence[Leaf], kinds: Sequence[str]) -> tuple[int, ...]:
    """Return the places of leaves of some kinds."""
    return tuple(place for place, leaf in enumerate(leaves) if leaf.kind in kinds)


def _loss(problem: Problem, draws: Sampled) -> Estimate:
    """Return the net loss on the listed mass as added."""
    whole = np.zeros((1, problem.n + problem.m))
    whole[0, problem.n :] = 1.0
    low, high = bounds_of(problem, whole)
    return _estimates(1.0 - draws.finished.sum(axis=1)[:, None], 1.0 - high, 1.0 - low)[0]


def _dough_water(
    assembly: Assembly, problem: Problem, draws: Sampled, ranges: Sequence[tuple[float, float]]
) -> Estimate:
    """Return water added and baked off, of the listed mass: usual water per flour times the flour of each part."""
    low, high = np.zeros(len(draws.shares)), np.zeros(len(draws.shares))
    for part, (least, most) in enumerate(ranges):
        floury = [p for p in _of_kind(assembly.tree.leaves, FLOUR_KINDS) if assembly.tree.leaves[p].part == part]
        flour = draws.shares[:, floury].sum(axis=1)
        low, high = low + least * flour, high + most * flour
    spread = high - low
    inner = np.quantile(low + 0.05 * spread, 0.05), np.quantile(high - 0.05 * spread, 0.95)
    ends = [100.0 * float(end) for end in inner]
    middle = 100.0 * float(np.median((low + high) / 2))
    return Estimate(middle, ends[0], ends[1], None, None, "%", "usual water per flour of this sort of food",
                    ("trade_practice",), ("common practice, not from the label",) if ends[1] > 0 else ())  # fmt: skip


def _ratios(assembly: Assembly, problem: Problem, draws: Sampled) -> tuple[Named, ...]:
    """Return the ratios cooks think in, with joint ranges: to the flour as added, parts as finished."""
    n, tree = problem.n, assembly.tree
    flour = _indicators([_of_kind(tree.leaves, FLOUR_KINDS)], problem)[0]
    found = []
    pairs: list[tuple[str, Floats, Floats]] = []
    for name, kinds in (("fat : flour", FAT_KINDS), ("sugar : flour", SUGAR_KINDS)):
        pairs.append((name, _indicators([_of_kind(tree.leaves, kinds)], problem)[0], flour))
    if problem.m > 1:
        largest = int(draws.finished.mean(axis=0).argmax())
        for part in range(problem.m):
            if part != largest:
                one, other = np.zeros(n + problem.m), np.zeros(n + problem.m)
                one[n + part], other[n + largest] = 1.0, 1.0
                pairs.append((f"{problem.part_names[part]} : {problem.part_names[largest]}", one, other))
    unknowns = np.hstack([draws.shares, draws.finished])
    for name, top, bottom in pairs:
        below = unknowns @ bottom
        if not top.any() or not bottom.any() or float(np.median(below)) < 0.01:
            continue
        low, high = ratio_bounds(problem, top, bottom)
        values = (unknowns @ top / np.maximum(below, 1e-9))[:, None]
        estimate = _estimates(values, low, high)[0]
        found.append(Named(name, estimate.scaled(0.01, "")))
    return tuple(found)


def _parts(problem: Problem, draws: Sampled) -> tuple[Named, ...]:
    """Return each part's share of the finished food, where there is more than one."""
    if problem.m < 2:
        return ()
    tops = np.zeros((problem.m, problem.n + problem.m))
    tops[:, problem.n :] = np.eye(problem.m)
    low, high = ratio_bounds(problem, tops, tops.sum(axis=0))
    values = draws.finished / draws.finished.sum(axis=1)[:, None]
    return tuple(map(Named, problem.part_names, _estimates(values, low, high)))


def _narrowing(assembly: Assembly, problem: Problem, draws: Sampled) -> tuple[Narrowing, ...]:
    """Return the measurements that would narrow the shares as added most."""
    widths = 100.0 * np.diff(np.quantile(draws.shares, (LIKELY[0], LIKELY[2]), axis=0), axis=0)[0]
    servings = [panel.serving_g for panel in assembly.panels if panel.serving_g]
    taken = [key.split("_")[0] for entries in assembly.label.measured.values() for key in entries]
    weighed = any(row.family == "part" for row in problem.rows)
    offered = measurements(problem, draws.shares, draws.finished, servings[0] if servings else None, weighed, taken)
    return narrow_next(100.0 * draws.shares, widths, offered)

