"""`make bench`: accuracy on known formulas, time beside other people's solvers.

    python benchmarks/run.py FOLDER

FOLDER holds cases_dev.jsonl, truth_dev.jsonl and the same two with _noise, in the benchmark form.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from batchwright.base.threads import on_one_thread


def main() -> int:
    """Run the benchmarks one after the other, each on one thread; return 0 where all ran."""
    if len(sys.argv) != 2 or not (Path(sys.argv[1]) / "cases_dev.jsonl").exists():
        print("Give a folder with cases_dev.jsonl, truth_dev.jsonl and the two with _noise: make bench BENCH=folder")
        return 2
    on_one_thread()
    here, folder = Path(__file__).parent, Path(sys.argv[1])
    for kind in ("", "_noise"):
        cases, truth = folder / f"cases_dev{kind}.jsonl", folder / f"truth_dev{kind}.jsonl"
        print(f"\n{'compositions in doubt' if kind else 'compositions exact'}: four folds by family", flush=True)
        subprocess.run([sys.executable, here / "accuracy.py", cases, truth], check=True)
        subprocess.run([sys.executable, here / "peers.py", cases], check=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
