"""Sure ranges of labels with known compositions: python benchmarks/sure_ranges.py CASES.jsonl OUT.jsonl

Writes one answer per label in the form of those files (fractions: min and max the sure range, likely
the middle of it scaled to a sum of 1, low and high the ends again) and prints the time per label.
"""

from __future__ import annotations

import json
import sys
import time

from batchwright.original.bench_form import problem_from_case
from batchwright.original.region.bounds import sure_bounds
from batchwright.original.region.strain import nearest


def main() -> None:
    """Read, bound, write."""
    source, target = sys.argv[1:3]
    relaxed, walls, processor = 0, [], time.process_time()
    with open(source, encoding="utf-8") as cases, open(target, "w", encoding="utf-8") as answers:
        for line in cases:
            case = json.loads(line)
            started = time.perf_counter()
            problem = problem_from_case(case)
            found = sure_bounds(problem)
            if not found.feasible:
                relaxed += 1
                found = sure_bounds(nearest(problem))
            walls.append(1e3 * (time.perf_counter() - started))
            middle = (found.low + found.high) / 2.0
            middle = middle / middle.sum()
            ingredients = [
                {"name": name, "low": low, "likely": likely, "high": high, "min": low, "max": high}
                for name, low, likely, high in zip(
                    problem.names, found.low.tolist(), middle.tolist(), found.high.tolist(), strict=True
                )
            ]
            answers.write(json.dumps({"id": case["id"], "ms": walls[-1], "ingredients": ingredients}) + "\n")
    count = len(walls)
    spent = 1e3 * (time.process_time() - processor) / count
    print(f"{count} labels, {relaxed} relaxed; wall {sum(walls) / count:.1f} ms, processor {spent:.1f} ms per label")


if __name__ == "__main__":
    main()
