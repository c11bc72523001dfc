"""Traces: leaves of so little mass that they move nothing else; drawn beside the walk, which is far quicker without."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from batchwright.original.region.problem import Floats, Problem, Row
from batchwright.original.sampling.prior import Prior

MOST_USUAL = 0.011  # fraction: a leaf that usually stays below 1.1 % of the mass counts as a trace
HEAVY_KINDS = ("salt", "leavening", "yeast", "spice", "sugar", "syrup", "starch")  # they move sodium, sugars, starch


def trace_places(problem: Problem, usual: Floats) -> NDArray[np.int64]:
    """Return the places of leaves to draw beside the walk: usually under 1.1 %, in no printed percentage, not all."""
    printed = [row for row in problem.rows if row.family in ("quid", "measured", "standard")]
    named = {place for row in printed for place in row.coefficients}
    small = np.nan_to_num(usual[:, 1], nan=1.0) <= MOST_USUAL
    found = [p for p in np.flatnonzero(small) if problem.kinds[p] not in HEAVY_KINDS and int(p) not in named]
    return np.array(found if len(found) < problem.n - 1 else [], dtype=np.int64)


def without_traces(problem: Problem, prior: Prior, traces: NDArray[np.int64]) -> tuple[Problem, Prior]:
    """Return task and prior less the traces; order that ran through a trace is kept between its neighbours."""
    kept = np.setdiff1d(np.arange(problem.n), traces)
    place_of = {int(old): new for new, old in enumerate(kept)}
    place_of |= {problem.n + part: len(kept) + part for part in range(problem.m)}
    gone = set(traces.tolist())
    before_of: dict[frozenset[int], dict[int, float]] = {}
    rows: list[Row] = []
    for row in problem.rows:
        if row.family != "order":
            factors = {place_of[p]: f for p, f in row.coefficients.items() if p not in gone}
            if factors:
                rows.append(replace(row, coefficients=factors))
            continue
        before = {p: f for p, f in row.coefficients.items() if f > 0}
        after = {p: f for p, f in row.coefficients.items() if f < 0}
        if gone.issuperset(before):  # the item before is a trace: the one before that bounds what follows
            before = before_of.get(frozenset(before), {})
        if gone.issuperset(after):
            before_of[frozenset(after)] = before
            continue
        if before:
            factors = {place_of[p]: f for p, f in (before | after).items() if p not in gone}
            rows.append(replace(row, coefficients=factors))
    keys = ("typical", "spread", "low", "high")
    smaller = replace(
        problem,
        names=tuple(problem.names[p] for p in kept),
        part_of=tuple(problem.part_of[p] for p in kept),
        water_typical=problem.water_typical[kept],
        water_low=problem.water_low[kept],
        water_high=problem.water_high[kept],
        rows=tuple(rows),
        kinds=tuple(problem.kinds[p] for p in kept),
        shelf_names=tuple(problem.shelf_names[p] for p in kept),
        **{key: getattr(problem, key)[:, kept] for key in keys},
    )
    return smaller, replace(prior, mean=prior.mean[kept], sd=prior.sd[kept])


def with_traces(
    problem: Problem, prior: Prior, traces: NDArray[np.int64], shares: Floats, finished: Floats, seed: int
) -> tuple[Floats, Floats]:
    """Return draws (N, n), (N, m) of the whole task from those of the task without traces.

    A trace is drawn log-normal from the prior, not above the item before it or its cap; the rest makes room for it.
    """
    random = np.random.default_rng(seed)
    kept = np.setdiff1d(np.arange(problem.n), traces)
    whole = np.zeros((len(shares), problem.n))
    whole[:, kept] = shares
    drawn = np.exp(prior.mean[traces] + prior.sd[traces] * random.standard_normal((len(shares), len(traces))))
    whole[:, traces] = np.minimum(drawn, 2.0 * MOST_USUAL)
    for row in problem.rows:
        places = list(row.coefficients)
        if row.family == "order":
            after = [p for p in places if row.coefficients[p] < 0]
            if set(after) <= set(traces.tolist()):
                most = whole[:, [p for p in places if row.coefficients[p] > 0]].sum(axis=1) - row.low
                total = np.maximum(whole[:, after].sum(axis=1), 1e-12)
                whole[:, after] *= np.minimum(1.0, most / total)[:, None]
        elif len(places) == 1 and places[0] in traces and row.coefficients[places[0]] > 0:
            whole[:, places[0]] = np.minimum(whole[:, places[0]], row.high / row.coefficients[places[0]])
    room = 1.0 - whole[:, traces].sum(axis=1)
    whole[:, kept] *= room[:, None]
    part_of = np.asarray(problem.part_of)
    masses = finished * room[:, None]
    for place in traces:
        masses[:, part_of[place]] += whole[:, place]
    return whole, masses
