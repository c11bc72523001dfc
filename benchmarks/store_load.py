"""How long the book takes to answer with a thousand full rebuilds in it.

python benchmarks/store_load.py [--rebuilds 1000] [--requests 200] [--book postgresql://user@host/name, an empty one]

Each rebuild is the demonstration's: brief, original, three formulas with three versions each, a picture, a kept answer.
Shown for each thing the pages ask of the book: the middle and the slowest of twenty requests [ms], over rebuilds taken
at random, in one thread and with eight at once. Server time of whole pages is another benchmark's.
"""

from __future__ import annotations

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from batchwright.actions.book import kept_thing, things_of
from batchwright.actions.demo_book import fill_demo_book
from batchwright.store.backup import back_up
from batchwright.store.book import Book
from batchwright.store.checking import check_book
from batchwright.store.devices import Devices
from batchwright.store.exchange import export_book, import_book
from batchwright.store.opening import open_engine
from batchwright.store.pictures import Pictures

VERSIONS = 3
PICTURE_BYTES = 200_000  # a phone's photo after it was made smaller and written anew
ANSWER = {"answer": "oats " * 6000}  # 30 kB, as an answer of ten ingredients
TOGETHER = 8


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return how long a piece of work took [s] and what it gave."""
    begun = time.perf_counter()
    done = work()
    return time.perf_counter() - begun, done


def fill(engine: Any, rebuilds: int, folder: Path) -> list[int]:
    """Fill a book; return the numbers of its rebuilds."""
    book = Book(engine)
    first = fill_demo_book(book)
    for thing in book.things(first.id, "formula"):
        document = dict(book.heads(thing.id)[0].document)
        for n in range(1, VERSIONS):
            book.save(thing.id, None, {**document, "pasted": f"{document['pasted']}\n{n}"}, "Ana")
    Pictures(engine).add(first.id, "front", random.Random(1).randbytes(PICTURE_BYTES), "image/jpeg", (1200, 900))
    one = export_book(engine, folder / "one.zip", first.id)
    numbers = [first.id]
    while len(numbers) < rebuilds:
        numbers += import_book(engine, one)
    for number in numbers:
        book.keep_answer(f"{number:064d}", "benchmark", ANSWER)
        Devices(engine).add(f"of {number}", "guest", number, f"{number:064d}")
    return numbers


def questions(engine: Any) -> dict[str, Callable[[int], Any]]:
    """Return what the pages ask of a book, by the number of a rebuild."""
    book, devices, pictures = Book(engine), Devices(engine), Pictures(engine)

    def page_of_formulas(number: int) -> None:
        devices.by_token(f"{number:064d}")
        book.rebuild(number)
        kept_thing(book, number, "original")
        things_of(book, number, "formula")
        book.kept_answer(f"{number:064d}")

    def formula(number: int) -> int:
        return book.things(number, "formula")[0].id

    return {
        "who is at the door": lambda n: devices.by_token(f"{n:064d}"),
        "list of rebuilds": lambda _: book.rebuilds(),
        "the first thirty rebuilds": lambda _: book.rebuilds(most=30),
        "the original": lambda n: kept_thing(book, n, "original"),
        "all formulas with their newest": lambda n: things_of(book, n, "formula"),
        "history of a formula": lambda n: book.history(formula(n)),
        "a kept answer": lambda n: book.kept_answer(f"{n:064d}"),
        "pictures of a rebuild": lambda n: pictures.of(n),
        "all that the page of formulas asks": page_of_formulas,
        "a save": lambda n: book.save(formula(n), None, {"n": n}, "Ana"),
        "undo": lambda n: book.undo(book.save(formula(n), None, {"n": n}, "Ana").revision.thing_id, "Ana"),
    }


def main() -> None:
    """Fill, ask, and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rebuilds", type=int, default=1000)
    parser.add_argument("--requests", type=int, default=200)
    parser.add_argument("--book", default="")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        engine = open_engine(args.book or str(folder / "book.sqlite"))
        took, numbers = timed(lambda: fill(engine, args.rebuilds, folder))
        print(f"{engine.dialect.name}: {len(numbers)} rebuilds filled in {took:.0f} s")
        print(f"{'what the pages ask':36} {'median ms':>10} {'p95 ms':>8} {'p95 ms, 8 at once':>18}")
        chance = random.Random(1)
        for name, ask in questions(engine).items():
            chosen = [chance.choice(numbers) for _ in range(args.requests)]
            alone = sorted(timed(lambda ask=ask, n=n: ask(n))[0] * 1000 for n in chosen)  # type: ignore[misc]
            with ThreadPoolExecutor(TOGETHER) as pool:
                many = sorted(pool.map(lambda n, ask=ask: timed(lambda: ask(n))[0] * 1000, chosen))  # type: ignore[misc]
            at = int(0.95 * len(alone))
            print(f"{name:36} {statistics.median(alone):10.1f} {alone[at]:8.1f} {many[at]:18.1f}")
        took, copy = timed(lambda: back_up(engine) if not args.book else None)
        if copy:
            print(f"backup: {took:.1f} s, {copy.stat().st_size / 1e6:.0f} MB")
        took, file = timed(lambda: export_book(engine, folder / "all.zip"))
        print(f"export: {took:.1f} s, {file.stat().st_size / 1e6:.0f} MB")
        other = open_engine(str(folder / "other.sqlite"))
        print(f"import into a file: {timed(lambda: import_book(other, file))[0]:.1f} s")
        took, (counts, faults) = timed(lambda: check_book(engine))
        print(f"check: {took:.1f} s, {counts}, {len(faults)} faults")
        other.dispose()
        engine.dispose()


if __name__ == "__main__":
    main()
