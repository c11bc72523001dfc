"""Read many ingredient statements and report failures, lost words, repairs and time.

Run: python benchmarks/statement_reading.py STATEMENTS.jsonl   (one {"id", "statement"} per line)
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter

from batchwright.original.statements.statement import read_statement


def main(path: str) -> int:
    """Print the figures; the exit code is 1 where a statement failed or lost a word."""
    with open(path, encoding="utf-8") as handle:
        records = [json.loads(line) for line in handle if line.strip()]
    read_statement("rye flour, salt")  # load the tables before the clock starts
    kinds: Counter[str] = Counter()
    failed = lost = leaves = 0
    begun = time.process_time()
    for record in records:
        try:
            read = read_statement(record["statement"])
        except Exception as fault:  # the point of the run is to count every kind of failure
            failed += 1
            print(f"{record.get('id')}: {type(fault).__name__}: {fault}")
            continue
        kinds.update(repair.kind for repair in read.repairs)
        leaves += sum(1 for _ in read.leaves())
        stretches = read.uncovered()
        if stretches:
            lost += 1
            print(f"{record.get('id')}: lost {[record['statement'][start:end] for start, end in stretches]}")
    seconds = time.process_time() - begun
    print(f"{len(records)} statements, {leaves} leaves, {failed} failed, {lost} with lost words")
    print(f"{seconds:.2f} s of one core, {seconds / max(len(records), 1) * 1000:.2f} ms each, checks included")
    for kind, count in kinds.most_common():
        print(f"  {count:5d} {kind}")
    return 1 if failed or lost else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1]))
