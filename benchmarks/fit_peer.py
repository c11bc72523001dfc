"""`fit` beside a general modelling library on the same task in the same run: time, and that the optimum agrees.

    python benchmarks/fit_peer.py [--only N]

Invented formulas of 20 ingredients with 12 targets each. Ours: reading off the composition, the task, the solution and
the answer in words' raw material, all included; and the solver alone. Theirs: the same task written for PuLP and solved
by the CBC that comes with it, and written for scipy's milp. PuLP is left out with a word where it is not installed.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from batchwright.base.estimate import Estimate
from batchwright.formula.axes import class_group
from batchwright.formula.fitting.fit import fit, program_of, value_of
from batchwright.formula.fitting.lines import bench_of
from batchwright.formula.fitting.records import Rules, Target
from batchwright.formula.fitting.solver import Program, solve
from batchwright.formula.fitting.targets import class_target, composition_target, mass_target, sweetness_target
from batchwright.formula.records import Formula, Line, Part

try:
    import pulp
except ImportError:
    pulp = None

ITEMS = {"wheat flour": 250, "whole wheat flour": 50, "rolled oats": 60, "butter": 110, "sunflower oil": 20,
         "sugar": 90, "brown sugar": 80, "honey": 20, "egg": 100, "milk, whole": 60, "whole milk powder": 15,
         "almonds": 40, "walnuts": 35, "raisins": 40, "semisweet chocolate": 60, "cocoa powder": 15, "corn starch": 15,
         "desiccated coconut": 25, "peanut butter": 30, "water": 20}  # fmt: skip
KEYS = ("fat_g", "saturated_fat_g", "sugars_g", "protein_g", "fiber_g", "salt_g", "starch_g")
REACH = 0.05  # relative: half the width of every target


def task(seed: int) -> tuple[Formula, list[Target], Rules]:
    """Return a formula and 12 targets that another mix of the same ingredients meets."""
    random = np.random.default_rng(seed)
    lines = []
    for name, grams in ITEMS.items():
        amount = round(grams * random.uniform(0.7, 1.3), 1) if name != "egg" else grams
        lines.append(Line(f"{amount} g {name}", name, Estimate(amount, amount, amount, unit="g")))
    formula, rules = Formula("Bench biscuits", (Part("", tuple(lines)),)), Rules(steps={"semisweet chocolate": 10})
    bench = bench_of(formula, rules)
    other = bench.start * random.uniform(0.7, 1.3, len(lines))
    flour = [class_group(each.ingredient_class) == "flour" for each in bench.candidates]
    other[flour] = bench.start[flour]
    groups = [class_group(bench.candidates[at].ingredient_class) for at in (3, 5, 11)]
    shapes: list[Callable[[float, float], Target]] = [
        *(lambda low, high, key=key: composition_target(bench, key, low, high) for key in KEYS),
        *(lambda low, high, group=group: class_target(bench, group, low, high) for group in groups),
        lambda low, high: sweetness_target(bench, low / 100.0, high / 100.0),
        lambda low, high: mass_target(bench, low, high),
    ]
    targets = []
    for shape in shapes:
        value = value_of(shape(1.0, 2.0), other)
        targets.append(shape((1 - REACH) * value, (1 + REACH) * value))
    return formula, targets, rules


def by_pulp(program: Program) -> float:
    """Return the least cost of change by PuLP."""
    n = range(len(program.start))
    model = pulp.LpProblem("fit", pulp.LpMinimize)
    grams = [pulp.LpVariable(f"x{i}", program.low[i], program.high[i]) for i in n]
    up = [pulp.LpVariable(f"u{i}", 0) for i in n]
    down = [pulp.LpVariable(f"d{i}", 0) for i in n]
    mark = [pulp.LpVariable(f"z{i}", cat="Binary") for i in n]
    model += pulp.lpSum(program.touch[i] * mark[i] + program.per_gram[i] * (up[i] + down[i]) for i in n)
    for i in n:
        model += grams[i] - up[i] + down[i] == program.start[i]
        model += up[i] <= max(program.high[i] - program.start[i], 0.0) * mark[i]
        model += down[i] <= max(program.start[i] - program.low[i], 0.0) * mark[i]
        if program.step[i] > 0:
            count = pulp.LpVariable(f"k{i}", 0, int(program.high[i] // program.step[i]), cat="Integer")
            model += grams[i] == program.start[i] * (1 - mark[i]) + program.step[i] * count
            model += count <= (program.high[i] // program.step[i]) * mark[i]
    for rows, lows, highs in ((program.rules, program.rules_low, program.rules_high),
                              (program.rows, program.rows_low, program.rows_high)):  # fmt: skip
        for row, low, high in zip(rows, lows, highs, strict=True):
            total = pulp.lpSum(row[i] * grams[i] for i in n if row[i])
            if np.isfinite(low):
                model += total >= low
            if np.isfinite(high):
                model += total <= high
    model.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=0.0, threads=1))
    return float(pulp.value(model.objective)) if pulp.LpStatus[model.status] == "Optimal" else float("inf")


def by_milp(program: Program) -> float:
    """Return the least cost of change by scipy's milp; unknowns x, up, down, mark, count."""
    n = len(program.start)
    eye, none = np.eye(n), np.zeros((n, n))
    most = np.where(program.step > 0, program.high // np.where(program.step > 0, program.step, 1.0), 0.0)
    stepped = program.step > 0
    ups, downs = np.maximum(program.high - program.start, 0), np.maximum(program.start - program.low, 0)
    rows = np.vstack([program.rules, program.rows])
    limits = [
        LinearConstraint(np.hstack([eye, -eye, eye, none, none]), program.start, program.start),
        LinearConstraint(np.hstack([none, eye, none, -np.diag(ups), none]), -np.inf, 0),
        LinearConstraint(np.hstack([none, none, eye, -np.diag(downs), none]), -np.inf, 0),
        LinearConstraint(np.hstack([rows, np.zeros((len(rows), 4 * n))]),
                         np.concatenate([program.rules_low, program.rows_low]),
                         np.concatenate([program.rules_high, program.rows_high])),
    ]  # fmt: skip
    if stepped.any():
        steps = np.hstack([eye, none, none, np.diag(program.start), -np.diag(program.step)])[stepped]
        limits.append(LinearConstraint(steps, program.start[stepped], program.start[stepped]))
        limits.append(LinearConstraint(np.hstack([none, none, none, -np.diag(most), eye])[stepped], -np.inf, 0))
    low = np.concatenate([program.low, np.zeros(4 * n)])
    high = np.concatenate([program.high, np.full(2 * n, np.inf), np.ones(n), most])
    cost = np.concatenate([np.zeros(n), program.per_gram, program.per_gram, program.touch, np.zeros(n)])
    whole = np.concatenate([np.zeros(3 * n), np.ones(n), stepped.astype(float)])
    found = milp(cost, constraints=limits, bounds=Bounds(low, high), integrality=whole, options={"mip_rel_gap": 0.0})
    return float(found.fun) if found.success else float("inf")


def timed(work: Callable[[], object]) -> tuple[object, float]:
    """Return what a piece of work gives and the milliseconds it takes."""
    began = time.perf_counter()
    found = work()
    return found, 1e3 * (time.perf_counter() - began)


def main() -> int:
    """Time all on the same tasks, print medians, ratios and whether the optima agree."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", type=int, default=20)
    given = parser.parse_args()
    peers: dict[str, Callable[[Program], float]] = {"scipy milp": by_milp}
    if pulp is not None:
        peers["PuLP with CBC"] = by_pulp
    whole, ours = [], []
    theirs: dict[str, list[float]] = {name: [] for name in peers}
    worst = dict.fromkeys(peers, 0.0)
    fit(*task(0))  # the shelf is read once per process
    for seed in range(given.only):
        formula, targets, rules = task(seed)
        whole.append(timed(lambda asked=(formula, targets, rules): fit(*asked))[1])
        program = program_of(formula, targets, rules)
        found, taken = timed(lambda program=program: solve(program))
        ours.append(taken)
        for name, peer in peers.items():
            cost, taken = timed(lambda peer=peer, program=program: peer(program))
            theirs[name].append(taken)
            worst[name] = max(worst[name], abs(float(cost) - found.change) / max(found.change, 1e-9))  # type: ignore
    middle = statistics.median
    print(f"fit, {len(ITEMS)} ingredients and 12 targets, {given.only} tasks, medians")
    print(f"  fit, all included {middle(whole):.0f} ms (slowest {max(whole):.0f}), its solver {middle(ours):.0f} ms")
    for name, taken in theirs.items():
        ratio = middle([other / own for other, own in zip(taken, ours, strict=True)])
        agree = f"optima agree to {worst[name]:.1e} of the cost"
        print(f"  {name}: {middle(taken):.0f} ms, {ratio:.1f} times ours; {agree}")
    if pulp is None:
        print("  PuLP is not installed: left out")
    return 0 if all(gap < 1e-4 for gap in worst.values()) else 1


if __name__ == "__main__":
    raise SystemExit(main())
