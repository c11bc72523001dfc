"""How near a decode comes on known formulas: four folds by family, prior and bank fitted to the other three.

    python benchmarks/accuracy.py CASES.jsonl TRUTH.jsonl [--only N] [--out PREDICTIONS.jsonl] [--plain]

Prints error, cover and width over all foods and by category, sure ranges, time and mixing. CASES and TRUTH are records
of the benchmark form. `--plain` uses the numpy walk even where the compiled one is there.
"""

from __future__ import annotations

import argparse
import json
import time
import zlib
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
from fit_prior import fitted, formula_from

from batchwright.original.batch_form import answer_case
from batchwright.original.sampling import sampler, walk
from batchwright.original.sampling.prior import Kriging

FOLDS = 4


def fold_of(family: str) -> int:
    """Return the fold of a family, the same on every machine."""
    return zlib.crc32(family.encode()) % FOLDS


def read(path: Path) -> list[dict[str, Any]]:
    """Return the records of a file with one JSON object per line."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def methods(cases: list[dict[str, Any]], truths: list[dict[str, Any]]) -> list[Kriging]:
    """Return one fitted prior per fold, from the formulas of the other folds."""
    known = [formula_from(case, truth) for case, truth in zip(cases, truths, strict=True)]
    return [fitted([formula for formula in known if fold_of(formula.family) != fold]) for fold in range(FOLDS)]


def main() -> None:
    """Run the folds and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", type=Path)
    parser.add_argument("truth", type=Path)
    parser.add_argument("--only", type=int, default=0, help="so many foods, evenly spread")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--plain", action="store_true")
    given = parser.parse_args()
    if given.plain:
        walk.LIBRARY = Path("nowhere")
    cases, truth = read(given.cases), {record["id"]: record for record in read(given.truth)}
    truths = [truth[case["id"]] for case in cases]
    folds = methods(cases, truths)
    chosen = range(0, len(cases), max(1, len(cases) // given.only)) if given.only else range(len(cases))
    figures: dict[str, list[list[float]]] = defaultdict(list)
    worth, agree, lines = [], [], []
    drawn: list[sampler.Draws] = []
    for at in chosen:
        case, real = cases[at], truths[at]
        started = time.perf_counter()
        answer = answer_case(case, folds[fold_of(real["family"])], drawn)
        ms = 1000 * (time.perf_counter() - started)
        worth += drawn[-1].effective.tolist()
        agree += drawn[-1].agreement.tolist()
        drawn.clear()
        shares = np.array([real["shares"][item["name"]] for item in answer["ingredients"]])
        low, likely, high, least, most = (
            np.array([item[key] for item in answer["ingredients"]]) for key in ("low", "likely", "high", "min", "max")
        )
        inside = (low - 1e-7 <= shares) & (shares <= high + 1e-7)
        sure = (least - 1e-6 <= shares) & (shares <= most + 1e-6)
        row = [100 * np.abs(likely - shares).mean(), inside.mean(), 100 * (high - low).mean(), sure.mean(),
               100 * (most - least).mean(), ms]  # fmt: skip
        figures["all"].append(row)
        figures[case["category"]].append(row)
        lines.append(json.dumps(answer))
    print(f"{'':24s}{'foods':>6s}{'error':>8s}{'cover':>8s}{'width':>8s}{'sure':>8s}{'width':>8s}{'ms':>8s}")
    for name, table in figures.items():
        print(f"{name:24s}{len(table):6d}" + "".join(f"{value:8.3f}" for value in np.mean(table, axis=0)))
    spread = np.quantile(worth, [0.01, 0.1, 0.5])
    print(f"effective draws: 1 % {spread[0]:.0f}, 10 % {spread[1]:.0f}, median {spread[2]:.0f}; "
          f">= 400 in {100 * np.mean(np.array(worth) >= 400):.1f} %; agreement <= 1.01 in "
          f"{100 * np.mean(np.array(agree) <= 1.01):.1f} %")  # fmt: skip
    if given.out:
        given.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
