"""How often one planted slip on a consistent label is named.

    python benchmarks/planted_faults.py CASES.jsonl [COUNT] --truth TRUTH.jsonl [--seed S] [--clean] [--verbose]

CASES holds labels with the composition of every ingredient (see batchwright.original.bench_form). Each of COUNT labels
(default 200) gets one slip: a digit lost from a panel figure, the energy in kJ under the heading kcal, a serving weight
ten times too large, or two listed items swapped (any two of different mass if TRUTH is given with --truth, else any).
With TRUTH the prior of each label leaves out the families of its fold (four folds by family). Printed: how often
anything is said, the slip makes the label impossible, is named first, is among the first three, and the time taken;
with --clean only the labels as they are: alarms among all of CASES, the largest odds short of one, and the time.
"""

from __future__ import annotations

import argparse
import json
import random
import time
from collections import defaultdict
from typing import Any

from accuracy import FOLDS, fold_of

from batchwright.original.answers.conflicts import doubt_about
from batchwright.original.answers.improbable import improbable
from batchwright.original.bench_form import PANEL_NAMES, problem_from_case
from batchwright.original.panels.rounding import printed_interval
from batchwright.original.region.problem import Problem
from batchwright.original.sampling.prior import Prior, prior_for

SLIPS = ("digit", "kilojoules", "serving", "swap")


def printed_as(key: str, text: str) -> dict[str, Any]:
    """Return a panel entry with the interval that a printed US figure stands for."""
    interval = printed_interval("US", PANEL_NAMES[key][0], text)
    return {"printed": text, "low": interval.low, "high": interval.high}


def plant(
    case: dict[str, Any], slip: str, luck: random.Random, shares: dict[str, float] | None
) -> tuple[str, set[str]] | None:
    """Change a case in place; return the kind and the lines (or names) at fault, None where the slip cannot be made."""
    panel = case["panel"]
    if slip == "digit":
        keys = [key for key, entry in panel.items() if sum(c.isdigit() for c in entry["printed"]) >= 2]
        if not keys:
            return None
        key = luck.choice(keys)
        text = panel[key]["printed"]
        place = luck.choice([i for i, c in enumerate(text) if c.isdigit()])
        short = (text[:place] + text[place + 1 :]).rstrip(".")
        short = "0" + short if short.startswith(".") else f"{int(short)}" if short.isdigit() else short
        if not short or float(short) == float(text):
            return None
        panel[key] = printed_as(key, short)
        title, unit = PANEL_NAMES[key][1:]
        return "digit", {f"{title} {short} {unit}"}
    if slip == "kilojoules":
        energy = round(float(panel["calories"]["printed"]) * 4.184)
        if not energy:
            return None
        panel["calories"] = printed_as("calories", str(energy))
        return "kilojoules", {f"energy {energy} kcal"}
    if slip == "serving":
        case["serving_g"] *= 10
        return "serving", set()
    items, count = case["ingredients"], case["n_ordered"]
    pairs = [
        (a, b)
        for a in range(count)
        for b in range(a + 1, count)
        if shares is None or shares[items[a]["name"]] > shares[items[b]["name"]]
    ]
    if not pairs:
        return None
    a, b = luck.choice(pairs)
    items[a], items[b] = items[b], items[a]
    return "swap", {items[a]["name"], items[b]["name"]}


class Priors:
    """The prior of each label, from the families of the other folds where those are known."""

    def __init__(self, truths: dict[str, dict[str, Any]]) -> None:
        self.family = {name: record["family"] for name, record in truths.items()}
        known = set(self.family.values())
        self.folds = [frozenset(one for one in known if fold_of(one) == fold) for fold in range(FOLDS)]

    def __call__(self, case: dict[str, Any], problem: Problem) -> Prior:
        """Return the prior of a label."""
        return prior_for(problem, self.folds[fold_of(self.family[case["id"]])] if self.family else ())


def clean_labels(cases: list[dict[str, Any]], priors: Priors) -> None:
    """Print what is said of labels without a slip."""
    said: dict[bool, int] = {True: 0, False: 0}
    odds: list[float] = []
    seconds = []
    for case in cases:
        problem = problem_from_case(case)
        prior = priors(case, problem)
        started = time.process_time()
        found = doubt_about(problem, prior)
        seconds.append(time.process_time() - started)
        if found is not None:
            said[found.possible] += 1
        hardly = improbable(problem, prior, far=-1.0) if found is None else None
        odds += [hardly.odds] if hardly is not None else []
    print(f"clean labels: {len(cases)}, called improbable {said[True]}, impossible {said[False]}")
    print("largest log odds short of an alarm:", *(f"{one:.2f}" for one in sorted(odds, reverse=True)[:8]))
    print(f"time: mean {1e3 * sum(seconds) / len(seconds):.1f} ms, longest {1e3 * max(seconds):.0f} ms")


def main() -> None:
    """Plant, look, count."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("cases")
    parser.add_argument("count", nargs="?", type=int, default=200)
    parser.add_argument("--truth")
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--clean", action="store_true")
    parser.add_argument("--verbose", action="store_true")
    given = parser.parse_args()
    with open(given.cases, encoding="utf-8") as lines:
        cases = [json.loads(line) for line in lines]
    truths: dict[str, dict[str, Any]] = {}
    if given.truth:
        with open(given.truth, encoding="utf-8") as lines:
            truths = {record["id"]: record for record in map(json.loads, lines)}
    priors = Priors(truths)
    if given.clean:
        clean_labels(cases, priors)
        return
    luck = random.Random(given.seed)
    luck.shuffle(cases)
    cases = cases[: given.count]
    alarms = sum(doubt_about(problem, priors(case, problem)) is not None
                 for case, problem in ((case, problem_from_case(case)) for case in cases))  # fmt: skip
    tally: dict[str, list[tuple[bool, bool, bool, bool]]] = defaultdict(list)
    seconds: list[float] = []
    for number, original in enumerate(cases):
        slip = SLIPS[number % len(SLIPS)]
        case = json.loads(json.dumps(original))
        shares = truths[case["id"]]["shares"] if truths else None
        planted = plant(case, slip, luck, shares)
        while planted is None:
            slip = luck.choice(SLIPS)
            planted = plant(case, slip, luck, shares)
        kind, where = planted
        problem = problem_from_case(case)
        prior = priors(case, problem)
        started = time.process_time()
        found = doubt_about(problem, prior)
        seconds.append(time.process_time() - started)
        named = []
        for one in found.slips[:3] if found else ():
            if kind == "swap":
                right = one.kind == "swap" and all(name in one.check for name in where)
            else:
                right = one.kind == kind and (where <= set(one.lines))
            named.append(right)
        impossible = found is not None and not found.possible
        tally[kind].append((found is not None, impossible, named[:1] == [True], any(named)))
        if given.verbose and named[:1] != [True]:
            print(kind, where, "->", found and (found.lines, found.check))
    print(f"clean labels with an alarm: {alarms} of {len(cases)}")
    print(f"{'slip':12s} {'labels':>6s} {'said':>6s} {'impossible':>10s} {'named first':>11s} {'in three':>9s}  [%]")
    tally["all"] = [entry for entries in tally.values() for entry in entries]
    for kind, entries in tally.items():
        shown = [100.0 * sum(entry[i] for entry in entries) / len(entries) for i in range(4)]
        print(f"{kind:12s} {len(entries):6d} {shown[0]:6.1f} {shown[1]:10.1f} {shown[2]:11.1f} {shown[3]:9.1f}")
    mean_ms, longest_ms = 1e3 * sum(seconds) / len(seconds), 1e3 * max(seconds)
    print(f"time per label with a slip: mean {mean_ms:.0f} ms, longest {longest_ms:.0f} ms")


if __name__ == "__main__":
    main()
