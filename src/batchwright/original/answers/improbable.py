"""Labels that some formula satisfies, but none like those such foods are made by: the slip that would explain it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from math import log

import numpy as np

from batchwright.original.answers.suspects import check_words, joined, serving_slips, single_slips
from batchwright.original.region.problem import Problem
from batchwright.original.region.slip import Suspicion
from batchwright.original.sampling.plausible import Lean, lean
from batchwright.original.sampling.prior import Prior

# Natural log of the odds of the label mended, its slip included, against the label as printed. Among 741 consistent
# labels, the prior of each from other families, the most is 2.0 (benchmarks/planted_faults.py prints it).
FAR = 2.5
# Where the composition is only known within bounds it may be off by more: of 931 packets with a panel two reach this.
FAR_IN_DOUBT = 6.0
CLOSE = 2.0  # slips less likely than the first by more than this are not named beside it
AT_EASE = 4.0  # a label that strains its prior no more than this is not looked at further
MENDED = 5.0  # a slip that explains a label leaves one like others: nineteen in twenty strain their prior less than so
WORTH = 1.0  # a figure or the order whose removal eases the label by less is none to suspect
MANY_ITEMS = 30  # longer lists are not looked at


@dataclass(frozen=True, slots=True)
class Improbable:
    """Label lines that can all be right, but hardly are.

    lines: those the likeliest slip sits in; check: what to look at, in words; odds: natural log of how much likelier
    the label is with that slip mended [> FAR]; slips: every slip that would explain it, the likeliest first.
    """

    lines: tuple[str, ...]
    check: str
    odds: float
    slips: tuple[Suspicion, ...]


def improbable(
    problem: Problem, prior: Prior, serving_lines: Collection[str] | None = None, far: float | None = None
) -> Improbable | None:
    """Return the slip that would explain a label which is possible but far from usual; None where there is none.

    prior: how such foods are usually made; serving_lines: the panel lines given per serving (absent: all); far: the
    natural log of the odds from which on the slip is named [-, any] (absent: FAR, FAR_IN_DOUBT where the composition is
    not exact). An impossible label gives None: see `smallest_conflict`.
    Some 2 ms where the label is at ease, some 50 ms where it is looked at.
    """
    if far is None:
        far = FAR if np.array_equal(problem.low, problem.high) else FAR_IN_DOUBT
    if problem.n > MANY_ITEMS or not problem.panel:
        return None
    now = lean(problem, prior)
    if now is None or now.strain < AT_EASE:
        return None
    every = frozenset(figure.line for figure in problem.panel)
    slips = [*single_slips(problem, _worth_a_look(problem, prior, now)), *serving_slips(problem, every, serving_lines)]
    found = []
    for slip in slips:
        mended = lean(slip.mended, prior)
        if mended is not None and mended.strain <= MENDED:
            score = log(slip.chance) + now.doubt - mended.doubt
            found.append(Suspicion(slip.kind, slip.lines, slip.check, 0.0, score, slip.mended))
    ranked = sorted(joined(found), key=lambda one: -one.score)
    if not ranked or ranked[0].score < far:
        return None
    close = [one for one in ranked if one.score >= ranked[0].score - CLOSE]
    words = f"possible, but far from how such foods are made: {check_words(close)}"
    return Improbable(ranked[0].lines, words, ranked[0].score, tuple(ranked))


def _worth_a_look(problem: Problem, prior: Prior, now: Lean) -> frozenset[str]:
    """Return the panel lines without which the label is more at ease, and the order lines where order strains it."""
    eased = set()
    for figure in problem.panel:
        without = lean(replace(problem, panel=tuple(one for one in problem.panel if one is not figure)), prior)
        if without is None or now.strain - without.strain >= WORTH:
            eased.add(figure.line)
    order = {row.line for row in problem.rows if row.family == "order"}
    without = lean(replace(problem, rows=tuple(row for row in problem.rows if row.family != "order")), prior)
    if order and (without is None or now.strain - without.strain >= WORTH):
        eased |= order
    return frozenset(eased)
