"""What is certain of a label, and draws of what is likely: both from one region."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from batchwright.base.estimate import Estimate
from batchwright.original.answers.conflicts import doubt_about
from batchwright.original.answers.long_list import draws_by_order, is_long, order_ends
from batchwright.original.answers.usual import as_packets_print, with_usual_amounts
from batchwright.original.labels.label import Assembly
from batchwright.original.panels.records import PER_SERVING
from batchwright.original.records import SIDES, Conflict, Pin
from batchwright.original.region.bounds import ratio_bounds, region, region_ends
from batchwright.original.region.pinned import pins
from batchwright.original.region.problem import Floats, Problem
from batchwright.original.region.strain import fits, nearest
from batchwright.original.sampling.prior import Prior, prior_for
from batchwright.original.sampling.sampler import sample, seed_of
from batchwright.original.sampling.tolerance import as_packets_are
from batchwright.original.sampling.traces import trace_places, with_traces, without_traces

METHOD = "sure: linear programming over every label line; likely: sampling of the same region"
RECHECK = "the figures named: a missed digit, kJ read as kcal, the serving weight, a swapped pair"
MOST_TRIED = 40  # unknowns up to which the smallest contradiction is searched, beyond it an irreducible one
# A label is suspected only beyond more room than the likely range takes: few real packets are to be (1 in 200 was).
SUSPECT_USED, SUSPECT_LOTS, SUSPECT_BANK = 1.3, 5.0, 1.5
LIKELY = (0.01, 0.5, 0.99)  # of packets the nominal 98 % of the draws is nearest to the honest 90 %, still short of it
# Shares of packets: nearer ends of the draws, and room beyond them for what no composition table knows of a lot. Both
# from packets that declare percentages: what covers 85 to 90 % in every third of the list at the least width.
SHARES_LIKELY = (0.033, 0.5, 0.967)
ROOM = 0.013  # fraction of the food
ROOM_OF_LIKELIEST = 2.0  # and at most this many times the likeliest share, so that traces stay traces


@dataclass(frozen=True, slots=True)
class Sampled:
    """Draws (N, n) of shares and (N, m) of finished mass, as fractions of the whole mass as added.

    `possible`: some formula satisfies every line, so that likely ends are held within the sure ones.
    """

    shares: Floats
    finished: Floats
    possible: bool


def possible_problem(problem: Problem) -> tuple[Problem, bool]:
    """Return a task that at least one formula satisfies, and whether it is the task itself.

    Where no formula satisfies every line, the task is relaxed as little as makes one possible.
    """
    if fits(region(problem)):
        return problem, True
    try:
        return nearest(problem), False
    except ValueError:  # percentages or part weights that no list can have: what is printed and weighed gives way
        kept = tuple(row for row in problem.rows if row.family in ("order", "group"))
        return nearest(replace(problem, rows=kept)), False


def conflicts_of(assembly: Assembly, possible: bool) -> tuple[Conflict, ...]:
    """Return the smallest set of lines that contradict each other, with what to re-check.

    Of a possible label: the lines of the one slip without which it would be far likelier, if there is such a slip.
    """
    served = [panel for panel in assembly.panels if panel.basis == PER_SERVING]
    lines = {line for panel in served for _, _, line in panel.per_100g().values()}
    tries = 400 if assembly.problem.n <= MOST_TRIED else 0
    serving_lines = lines if possible else lines or None
    ways = [leaf.match.how for leaf in assembly.tree.leaves]
    loose = as_packets_are(assembly.problem, ways, SUSPECT_USED, SUSPECT_LOTS)
    found = doubt_about(assembly.problem, _prior_without_order(assembly), tries, serving_lines, loose)
    if found is None:
        return () if possible else (Conflict((), RECHECK),)
    return (Conflict(found.lines, found.check or RECHECK),)


def _prior_without_order(assembly: Assembly) -> Prior:
    """Return how such foods are usually made, whatever the printed order: what an order is judged by."""
    prior = prior_for(assembly.problem)
    return with_usual_amounts(replace(prior, sd=SUSPECT_BANK * prior.sd), assembly.usual, assembly.problem.kinds)


def sure_ends(problem: Problem, assembly: Assembly) -> tuple[Floats, Floats, Floats | None]:
    """Return the exact ends of every unknown and then every printed top-level item, and the corners they stand at."""
    if is_long(problem):
        leaf_high, top_high = order_ends(assembly.tree, problem)
        high = np.concatenate([leaf_high, top_high])
        return np.zeros(len(high)), high, None
    members: list[Sequence[int]] = [(place,) for place in range(problem.n)]
    members += [node.places for node in assembly.tree.nodes]
    finished = np.eye(problem.n + problem.m)[problem.n :]  # its corners too: the walk starts from both
    answer, _ = region_ends(region(problem), np.concatenate([indicators(members, problem), finished]))
    low, high = (np.clip(end[: len(members)], 0.0, 1.0) for end in (answer.low, answer.high))
    return low, high, answer.corners


def pins_of(problem: Problem) -> list[tuple[Pin, ...]]:
    """Return, for every leaf, the label lines that hold its two ends."""
    if is_long(problem):
        return [()] * problem.n
    wanted = [(place, side) for place in range(problem.n) for side in SIDES]
    lines = pins(problem, wanted)
    named = [tuple(Pin(line, side) for line in held) for (_, side), held in zip(wanted, lines, strict=True)]
    return [named[2 * place] + named[2 * place + 1] for place in range(problem.n)]


def draws_of(problem: Problem, assembly: Assembly, corners: Floats | None) -> Sampled:
    """Return draws from the region under the prior, with the room that packets at large take.

    problem: a task that some formula satisfies. The figures of the panel are those printed, never the relaxed ones: in
    the likely range they are a likelihood, so that a label that contradicts itself still gets a range and no point.
    """
    prior = as_packets_print(prior_for(problem), assembly.tree)
    prior = with_usual_amounts(prior, assembly.usual, problem.kinds)
    possible = problem is assembly.problem
    if is_long(problem):
        return Sampled(*draws_by_order(assembly.tree, problem, prior, seed_of(problem)), possible)
    ways = [leaf.match.how for leaf in assembly.tree.leaves]
    loose = as_packets_are(replace(problem, panel=assembly.problem.panel), ways)
    traces = trace_places(loose, assembly.usual)
    if not len(traces):
        found = sample(loose, prior, corners)
        return Sampled(found.shares, found.finished, possible)
    smaller, its_prior = without_traces(loose, prior, traces)
    found = sample(smaller, its_prior)
    both = with_traces(loose, prior, traces, found.shares, found.finished, seed_of(loose))
    return Sampled(*both, possible)


def indicators(members: Sequence[Sequence[int]], problem: Problem) -> Floats:
    """Return rows (r, N) that add up the unknowns at the given places."""
    rows = np.zeros((len(members), problem.n + problem.m))
    for row, places in enumerate(members):
        rows[row, list(places)] = 1.0
    return rows


def estimates(values: Floats, low: Floats, high: Floats, possible: bool, shares: bool = False) -> list[Estimate]:
    """Return estimates in percent from draws (N, r) and sure ends (r,), all fractions.

    shares: the values are shares of the food, whose likely range is set from packets (SHARES_LIKELY, ROOM).

    possible: a likely end is held within the sure ones; else (the nearest answer to a label that contradicts itself)
    the sure ends make room for it.
    """
    found = []
    ends = SHARES_LIKELY if shares else LIKELY
    quantiles = np.quantile(values, ends, axis=0) if len(values) else np.full((3, len(low)), np.nan)
    if shares:
        room = np.minimum(ROOM, ROOM_OF_LIKELIEST * quantiles[1])
        quantiles[0] = np.maximum(quantiles[0] - room, 0.0)
        quantiles[2] = np.minimum(quantiles[2] + room, 1.0)
        quantiles[1] = np.clip(quantiles[1], quantiles[0], quantiles[2])
    for column in range(values.shape[1]):
        sure = [100.0 * float(end[column]) if np.isfinite(end[column]) else None for end in (low, high)]
        three = [100.0 * float(value) for value in quantiles[:, column]]
        if sure[0] is not None and sure[1] is not None:
            sure[0] = max(sure[0], 0.0)  # rounding of the solver
            if possible:
                three = [min(max(value, sure[0]), max(sure[0], sure[1])) for value in three]
            else:
                sure = [min(sure[0], three[0]), max(sure[1], three[2])]
        found.append(Estimate(three[1], three[0], three[2], sure[0], sure[1], "%", METHOD))
    return found


def finished_percent(problem: Problem, draws: Sampled, weights: Floats, added_high: Floats) -> list[Estimate]:
    """Return sums of shares (r, N) in percent of the finished food; added_high: (r,) their sure upper ends as added."""
    if is_long(problem):
        low, high = np.zeros(len(weights)), np.minimum(added_high / (1.0 - problem.loss_max), 1.0)
    else:
        low, high = ratio_ends(problem, weights, whole_row(problem))
    values = draws.shares @ weights[:, : problem.n].T / draws.finished.sum(axis=1)[:, None]
    return estimates(values, low, high, draws.possible, shares=True)


def whole_row(problem: Problem) -> Floats:
    """Return the row (N,) that adds up the finished mass."""
    whole = np.zeros(problem.n + problem.m)
    whole[problem.n :] = 1.0
    return whole


def ratio_ends(problem: Problem, tops: Floats, bottom: Floats) -> tuple[Floats, Floats]:
    """Return the exact ends of ratios; open ends (0, infinite) for a list too long for them."""
    if is_long(problem):
        return np.zeros(len(np.atleast_2d(tops))), np.full(len(np.atleast_2d(tops)), np.inf)
    return ratio_bounds(problem, tops, bottom)
