"""Whether the advice "measure this next" is right: python benchmarks/narrowing.py CASES.jsonl TRUTH.jsonl EXACT.jsonl

CASES and TRUTH are records of the benchmark form; EXACT holds the same foods with the composition their panels were
made from (the same file as CASES where those are exact). On each of COUNT foods (--count, default 100, spread over the
file) every measurement that is offered is made from the truth and the food is decoded again. Printed: how often the
measurement named first is the best or within 10 % of the best by the mean likely width, and how far the width it
promised is from the width it gives. The bank's formulas of the same family are left out of the prior.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from batchwright.original.answers.narrow import (
    EU_STEPS,
    FAT_RING_ERROR_G,
    MOISTURE_ERROR_G,
    SERVING_CHANGE,
    US_STEPS,
    measurements,
    narrow_next,
)
from batchwright.original.batch_form import LIKELY_ENDS, sure_ranges
from batchwright.original.bench_form import problem_from_case
from batchwright.original.panels.rounding import print_amount, printed_interval
from batchwright.original.region.bounds import sure_bounds
from batchwright.original.region.problem import Floats, PanelRow, Problem
from batchwright.original.sampling.prior import prior_for
from batchwright.original.sampling.sampler import Draws, sample

FAIR = 1.1  # times the best width: as good as the best
READING_SPREADS = 2.0  # a reading is entered with two standard deviations to each side


def decoded(problem: Problem, family: str) -> tuple[Draws, Floats]:
    """Return draws of a task and the likely width of every share [points]."""
    _, _, problem, corners = sure_ranges(problem)
    draws = sample(problem, prior_for(problem, {family}), corners)
    ends = np.quantile(draws.shares, LIKELY_ENDS, axis=0)
    return draws, 100.0 * (ends[1] - ends[0])


def readings(measure: str, exact: Problem, shares: Floats, loss: float, serving_g: float) -> list[PanelRow]:
    """Return what a measurement reads of the true food, as rows beside the panel."""
    whole = 1.0 - loss
    if measure.startswith("moisture"):
        water = (float(shares @ exact.water_typical) - 100.0 * loss) / whole
        error = READING_SPREADS * MOISTURE_ERROR_G
        return [PanelRow("water_g", max(0.0, water - error), water + error, measure)]
    true = dict(zip(exact.nutrients, exact.typical @ shares / whole, strict=True))
    if measure.startswith("fat ring"):
        error = READING_SPREADS * FAT_RING_ERROR_G
        return [PanelRow("fat_g", max(0.0, true["fat_g"] - error), true["fat_g"] + error, measure)]
    if "serving size" in measure:
        scheme, steps, factor = "US", US_STEPS, SERVING_CHANGE * serving_g / 100.0
    else:
        scheme, steps, factor = "EU", EU_STEPS, 1.0
    rows = []
    for key in steps:
        if key not in true:
            continue
        amount = max(0.0, true[key] * factor)
        if key == "sodium_mg" and scheme == "EU":  # printed as salt [g]
            salt = printed_interval(scheme, "salt_g", print_amount(scheme, "salt_g", amount / 400.0))
            low, high = 400.0 * salt.low, 400.0 * salt.high
        else:
            interval = printed_interval(scheme, key, print_amount(scheme, key, amount))
            low, high = interval.low, interval.high
        rows.append(PanelRow(key, min(low, amount) / factor, max(high, amount) / factor, measure))
    return rows


def looked_at(case: Mapping[str, Any], told: Mapping[str, Any], exact_case: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    """Return (measure, width promised, width found) for every measurement offered, in the order of the advice."""
    problem, exact = problem_from_case(case), problem_from_case(exact_case)
    draws, width = decoded(problem, told["family"])
    shares = np.array([told["shares"][name] for name in exact.names])
    offered = measurements(problem, draws.shares, draws.finished, case["serving_g"], True)
    advice = narrow_next(100.0 * draws.shares, width, offered)
    found = []
    for step in advice:
        rows = readings(step.measure, exact, shares, told["water_loss"], case["serving_g"])
        after = replace(problem, panel=(*problem.panel, *rows))
        if not sure_bounds(after).feasible:
            continue
        _, width = decoded(after, told["family"])
        found.append((step.measure, step.width_expected, float(width.mean())))
    return found


def main() -> None:
    """Measure, decode again, compare."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("cases", type=Path)
    parser.add_argument("truth", type=Path)
    parser.add_argument("exact", type=Path)
    parser.add_argument("--count", type=int, default=100)
    given = parser.parse_args()
    cases, truths, exacts = (
        [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
        for path in (given.cases, given.truth, given.exact)
    )
    fair, off, named, ratios = [], [], Counter[str](), []
    for place in np.linspace(0, len(cases) - 1, given.count).astype(int):
        found = looked_at(cases[place], truths[place], exacts[place])
        if not found:
            continue
        best = min(width for _, _, width in found)
        named[found[0][0]] += 1
        fair.append(found[0][2] <= FAIR * best)
        off += [abs(promised - width) / width for _, promised, width in found]
        ratios += [promised / width for _, promised, width in found]
    print(f"{len(fair)} foods, {len(off)} measurements made")
    print(f"named first: best or within 10 % of it in {100.0 * np.mean(fair):.0f} %")
    print(f"width promised: off by {100.0 * np.mean(off):.0f} % on average; promised / found {np.median(ratios):.2f}")
    print("named first:", ", ".join(f"{measure} {count}" for measure, count in named.most_common()))


if __name__ == "__main__":
    main()
