"""Decoding: what a packaged food is made of, from its label and whatever was weighed of it."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.original.answers.long_list import NOTE, is_long
from batchwright.original.answers.makeup import classes_of_original, composition_of_original
from batchwright.original.answers.mix import (
    FAT_KINDS,
    FLOUR_KINDS,
    SUGAR_KINDS,
    Mix,
    dough_water_per_flour,
    one_formula,
)
from batchwright.original.answers.narrow import measurements, narrow_next
from batchwright.original.answers.ranges import (
    LIKELY,
    Sampled,
    conflicts_of,
    draws_of,
    estimates,
    finished_percent,
    indicators,
    possible_problem,
    ratio_ends,
    sure_ends,
    whole_row,
)
from batchwright.original.answers.shares import match_way, of_kind, shares_of
from batchwright.original.labels.file import LabelFile
from batchwright.original.labels.label import Assembly, assemble
from batchwright.original.records import Answer, Named, Narrowing
from batchwright.original.region.bounds import bounds_of
from batchwright.original.region.one_fitting import nearest_fitting
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.statements.records import Item


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
    problem, possible = possible_problem(assembly.problem)
    conflicts = conflicts_of(assembly, possible)
    added_low, added_high, corners = sure_ends(problem, assembly)
    draws = draws_of(problem, assembly, corners)
    leaves, items = shares_of(assembly, problem, draws, added_low, added_high)
    loss = _loss(problem, draws)
    waters = [
        dough_water_per_flour(f"{label.name} {label.sort}", assembly.tree, part, label.baked)
        for part in range(problem.m)
    ]
    ranges = [(low, high) for _, low, high in waters]
    dough_water = _dough_water(assembly, problem, draws, ranges)
    centre = draws.shares.mean(axis=0), draws.finished.mean(axis=0)
    piece = None if assembly.teardown is None else assembly.teardown.piece_mass_g
    formula, said = one_formula(assembly.tree, *nearest_fitting(problem, *centre), ranges, mix, piece)
    notes = list(assembly.notes)
    notes += [
        f"{assembly.tree.part_names[part]}: dough water usual for {sort}, {100 * low:.0f}-{100 * high:.0f} % of flour"
        for part, (sort, low, high) in enumerate(waters)
        if high > 0.0
    ]
    exact = np.array_equal(problem.low, problem.high)
    if is_long(problem):
        notes.append(NOTE)
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
        consistent=possible,
        conflicts=conflicts,
        repairs=tuple(repair.to_json() for repair in assembly.statement.repairs),
        notes=tuple(dict.fromkeys([*notes, doubt] if doubt else notes)),
        seconds=time.perf_counter() - started,
        doubt=doubt,
        composition=composition_of_original(assembly, problem, draws),
        classes=classes_of_original(assembly, problem, draws, added_high[: problem.n]),
    )


def top_items(label: LabelFile) -> tuple[Assembly, list[tuple[str, Estimate, str]]]:
    """Return the printed top-level items of a label with their percent of the finished food and how they were matched.

    As `decode`, without leaves, pins, ratios and advice: what a batch of labels asks for. The sure ends make room for
    the likely ones here: packets at large do not hold to what is printed on them.
    """
    assembly = assemble(label)
    problem, _ = possible_problem(assembly.problem)
    _, added_high, corners = sure_ends(problem, assembly)
    draws = replace(draws_of(problem, assembly, corners), possible=False)
    members = [node.places for node in assembly.tree.nodes]
    weights = indicators(members, problem)
    estimates = finished_percent(problem, draws, weights, added_high[problem.n :])
    how = [match_way([assembly.tree.leaves[place] for place in places]) for places in members]
    names = [_as_printed(assembly, node.item) for node in assembly.tree.nodes]
    return assembly, list(zip(names, estimates, how, strict=True))


def _as_printed(assembly: Assembly, item: Item) -> str:
    """Return the item's name as it stands in the text, its lower-case name where it was put together."""
    start, end = item.name_span
    return assembly.statement.text[start:end].strip() or item.name


def _loss(problem: Problem, draws: Sampled) -> Estimate:
    """Return the net loss on the listed mass as added."""
    if is_long(problem):
        low, high = np.array([1.0 - problem.loss_max]), np.ones(1)
    else:
        low, high = bounds_of(problem, whole_row(problem)[None, :])
    return estimates(1.0 - draws.finished.sum(axis=1)[:, None], 1.0 - high, 1.0 - low, draws.possible)[0]


def _dough_water(
    assembly: Assembly, problem: Problem, draws: Sampled, ranges: Sequence[tuple[float, float]]
) -> Estimate:
    """Return water added and baked off, of the listed mass: usual water per flour times the flour of each part."""
    low, high = np.zeros(len(draws.shares)), np.zeros(len(draws.shares))
    for part, (least, most) in enumerate(ranges):
        floury = [p for p in of_kind(assembly.tree.leaves, FLOUR_KINDS) if assembly.tree.leaves[p].part == part]
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
    flour = indicators([of_kind(tree.leaves, FLOUR_KINDS)], problem)[0]
    found = []
    pairs: list[tuple[str, Floats, Floats]] = []
    for name, kinds in (("fat : flour", FAT_KINDS), ("sugar : flour", SUGAR_KINDS)):
        pairs.append((name, indicators([of_kind(tree.leaves, kinds)], problem)[0], flour))
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
        low, high = ratio_ends(problem, top, bottom)
        values = (unknowns @ top / np.maximum(below, 1e-9))[:, None]
        estimate = estimates(values, low, high, draws.possible)[0]
        found.append(Named(name, estimate.scaled(0.01, "")))
    return tuple(found)


def _parts(problem: Problem, draws: Sampled) -> tuple[Named, ...]:
    """Return each part's share of the finished food, where there is more than one."""
    if problem.m < 2:
        return ()
    tops = np.zeros((problem.m, problem.n + problem.m))
    tops[:, problem.n :] = np.eye(problem.m)
    low, high = ratio_ends(problem, tops, tops.sum(axis=0))
    values = draws.finished / draws.finished.sum(axis=1)[:, None]
    return tuple(map(Named, problem.part_names, estimates(values, low, high, draws.possible)))


def _narrowing(assembly: Assembly, problem: Problem, draws: Sampled) -> tuple[Narrowing, ...]:
    """Return the measurements that would narrow the shares as added most."""
    widths = 100.0 * np.diff(np.quantile(draws.shares, (LIKELY[0], LIKELY[2]), axis=0), axis=0)[0]
    servings = [panel.serving_g for panel in assembly.panels if panel.serving_g]
    taken = [key.split("_")[0] for entries in assembly.label.measured.values() for key in entries]
    weighed = any(row.family == "part" for row in problem.rows)
    offered = measurements(problem, draws.shares, draws.finished, servings[0] if servings else None, weighed, taken)
    return narrow_next(100.0 * draws.shares, widths, offered)
