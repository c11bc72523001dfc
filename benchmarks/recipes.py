"""What a cook waits for, in processor time: weighing, writing in cups, fitting; each beside a peer where there is one.

    python benchmarks/recipes.py [--only N]

Weighing is timed in a fresh process, once its imports and tables are read, on lines it has not seen. Writing in cups is
held against every combination on recipes small enough for that. The fit stands beside scipy's milp and, where it is
installed, PuLP with CBC on the same tasks in the same run (`fit_peer.py`). Limits are those the project has set itself.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from itertools import product
from math import inf, isclose, log
from pathlib import Path

from batchwright.actions.formula import weigh_lines, weigh_text
from batchwright.base.estimate import Estimate
from batchwright.base.threads import on_one_thread
from batchwright.formula.kitchen.choice import Asked, Way, moved
from batchwright.formula.kitchen.measures import BATCH_TOLERANCE_FRACTION, write_measures
from batchwright.formula.kitchen.weights import tolerance_fraction, ways_of, weights_of
from batchwright.formula.records import Formula, Line, Part
from batchwright.pantry.measures_conventions import convention_of

SHELF = {
    "all-purpose flour": "wheat flour", "sugar": "sugar", "brown sugar": "brown sugar", "butter": "butter",
    "eggs": "whole egg", "egg yolks": "egg yolk", "baking soda": "sodium bicarbonate", "salt": "salt",
    "vanilla extract": "vanilla extract", "cinnamon": "cinnamon", "cocoa powder": "cocoa powder",
    "whole milk": "milk, whole", "honey": "honey", "rolled oats": "rolled oats", "water": "water",
}  # fmt: skip
GRAMS = (213, 95, 60, 131, 55, 19, 2.1, 3.3, 4.5, 1.1, 22, 41, 33, 77, 18)
FOODS = (*SHELF, "pecans, chopped", "dried apricots", "sour cream", "potato starch", "olive oil", "raisins",
         "grated cheddar", "ground almonds", "maple syrup", "poppy seeds")  # fmt: skip
AMOUNTS = ("1 1/2 cups", "2 Tbsp.", "3/4 cup (100 g)", "1/4 tsp", "2-3", "1 (8-oz) package", "½ c.", "250 g")
LIMITS_MS = {"weigh": 50.0, "lines": 3000.0, "write": 200.0}


def text_of(count: int, first: int = 0) -> str:
    """Return that many ingredient lines, no two alike."""
    return "\n".join(
        f"{AMOUNTS[place % len(AMOUNTS)]} {FOODS[place % len(FOODS)]}, kept for {place} minutes"
        for place in range(first, first + count)
    )


def spent(work: Callable[[], object]) -> float:
    """Return the processor time of a piece of work [ms]."""
    began = time.process_time()
    work()
    return 1e3 * (time.process_time() - began)


def weighed() -> None:
    """Print what 40 lines of a recipe and 2,000 unrelated lines take in this process."""
    weigh_text("1 cup flour")  # start-up: tables and shelf are read
    recipe = f"Bench slices\n\n{text_of(40)}\n\nMethod\n1. Mix.\n2. Bake for 30 minutes at 350 F."
    lines = text_of(2000, 100)
    print(spent(lambda: weigh_text(recipe)), spent(lambda: weigh_lines(lines)))


def line(item: str, mass_g: float) -> Line:
    """Return one line in grams."""
    return Line(f"{mass_g} g {item}", item, Estimate(mass_g, mass_g, mass_g, unit="g"), SHELF[item], "name")


def by_hand(lines: list[Line]) -> float:
    """Return the least that a writing of the lines moves the ratios, every combination tried."""
    asked = []
    for one in lines:
        mass_g = one.grams.likely if one.grams else 0.0
        ways = ways_of(one, weights_of(one, convention_of("spooned")), mass_g, "us")
        near = [Way(way.mass_g, way.cost) for way in ways if 0.75 < way.mass_g / mass_g < 1.33]
        asked.append(Asked(mass_g, tolerance_fraction(one), near))
    weights = [each.tolerance_fraction**-2 for each in asked]
    least = inf
    for taken in product(*(range(len(each.ways)) for each in asked)):
        at = [log(each.ways[way].mass_g / each.mass_g) for each, way in zip(asked, taken, strict=True)]
        shift = sum(w * a for w, a in zip(weights, at, strict=True)) / (sum(weights) + BATCH_TOLERANCE_FRACTION**-2)
        least = min(least, moved(asked, taken, min(max(shift, log(0.9)), log(1.1)), BATCH_TOLERANCE_FRACTION))
    return least


def said(name: str, took: list[float], limit: float) -> None:
    """Print the median and the slowest of some runs beside the limit [ms]."""
    print(f"{name}: {statistics.median(took):.0f} ms (slowest {max(took):.0f}; limit {limit:.0f})", flush=True)


def main() -> int:
    """Time all, print each with its limit; return 0 where the writing agrees with every combination."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", type=int, default=10, help="how many runs of each, and tasks for the fit")
    parser.add_argument("--weighing", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.weighing:
        weighed()
        return 0
    on_one_thread()
    runs = [subprocess.run([sys.executable, __file__, "--weighing"], check=True, capture_output=True, text=True).stdout
            for _ in range(min(5, given.only))]  # fmt: skip
    recipe, lines = zip(*(map(float, run.split()) for run in runs), strict=True)
    said("weigh a recipe of 40 lines, after start-up", list(recipe), LIMITS_MS["weigh"])
    said("weigh 2,000 unrelated lines", list(lines), LIMITS_MS["lines"])

    many = Formula("", (Part("", tuple(map(line, SHELF, GRAMS))),))
    write_measures(many)  # tables are read
    said("write 15 lines in cups and spoons together", [spent(lambda: write_measures(many)) for _ in range(given.only)],
         LIMITS_MS["write"])  # fmt: skip
    few = [line("all-purpose flour", 213), line("butter", 131), line("sugar", 95), line("baking soda", 2.1)]
    write = Formula("", (Part("", tuple(few)),))
    ours = statistics.median(spent(lambda: write_measures(write, "spooned")) for _ in range(given.only))
    found = write_measures(write, "spooned").moved
    began = time.process_time()
    least = by_hand(few)
    theirs = 1e3 * (time.process_time() - began)
    same = isclose(found, least, rel_tol=1e-9)
    print(f"  {len(few)} of them: {ours:.0f} ms; every combination {theirs:.0f} ms, {theirs / ours:.0f} times ours; "
          f"{'the same writing' if same else 'ANOTHER writing is better'}", flush=True)  # fmt: skip
    peers = [sys.executable, str(Path(__file__).with_name("fit_peer.py")), "--only", str(given.only)]
    agreed = subprocess.run(peers, check=False).returncode == 0
    return 0 if same and agreed else 1


if __name__ == "__main__":
    sys.exit(main())
