"""Kill a program that writes into a book, at random moments, a thousand times: is anything lost that it said was kept?

`make torture`, or: python benchmarks/torture.py [--kills 1000] [--book postgresql://...] [--seed 1]

Each round begins a writer as a process of its own. It opens the book (every tenth time a new one, or one of an older
version, so that making and migrating are cut short too) and writes without a pause: saves, new things, pictures, undo,
settling, answers, now and then a backup. After each write that returned it says so through a pipe. It is then killed
with SIGKILL at a random moment, and the book is opened anew, checked row by row, and asked for everything ever said.
Lost writes and books that do not open must both be 0.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import alembic.command  # noqa: F401  (before the fork: a writer then begins at once)
from sqlalchemy import select

from batchwright.base.errors import InputError
from batchwright.store import tables as t
from batchwright.store.backup import back_up
from batchwright.store.book import Book
from batchwright.store.checking import check_book
from batchwright.store.engine import reading
from batchwright.store.opening import open_engine
from batchwright.store.pictures import Pictures

OLDER = Path(__file__).parents[1] / "tests" / "store" / "books"
LONGEST_S = 0.4  # a writer lives up to this long: opening takes a tenth or two of it, the rest is writing
NEW_BOOK_EVERY = 10


@dataclass
class Tally:
    """What was done and what went wrong."""

    kills: int = 0
    books: int = 0
    writes: int = 0
    while_opening: int = 0
    lost: list[str] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)

    def words(self) -> str:
        """Return it in one line."""
        found = f"{len(self.lost)} lost, {len(self.broken)} times a book broken"
        return (f"{self.kills} kills ({self.while_opening} while opening or migrating), {self.books} books, "
                f"{self.writes} acknowledged writes: {found}")  # fmt: skip


def write_on(place: str, seed: int, say: Callable[[str, Any], None]) -> None:
    """Open a book and write into it for ever, saying each write that was kept."""
    chance = random.Random(seed)
    engine = open_engine(place)
    book, pictures = Book(engine), Pictures(engine)
    say("opened", 0)
    rebuild = book.new_rebuild("Tortured slab", [("formula", "Mix", {"n": 0})], "writer")
    say("rebuild", rebuild.id)
    thing_id = book.things(rebuild.id)[0].id
    while True:
        n, kind = chance.random(), chance.randrange(12)
        document = {"n": n, "words": "oats " * chance.randrange(800)}
        if kind < 6:
            say("revision", [book.save(thing_id, None, document, "writer", key=str(n)).revision.id, n])
        elif kind == 6:
            data = chance.randbytes(chance.randrange(1, 60_000))
            say("picture", pictures.add(rebuild.id, "p", data, "image/png", (1, 1)).id)
        elif kind == 7:
            say("revision", [book.new_thing(rebuild.id, "formula", "Other", document, "writer").revision.id, n])
        elif kind == 8:
            say("revision", [book.save(thing_id, None, document, "writer").revision.id, n])
            saved = book.undo(thing_id, "writer").revision
            say("revision", [saved.id, saved.document["n"]])
        elif kind == 9:
            root = book.history(thing_id)[-1].id
            say("revision", [book.save(thing_id, root, document, "other").revision.id, n])
            say("revision", [book.settle(thing_id, book.heads(thing_id)[0].id, "writer", document).revision.id, n])
        elif kind == 10:
            book.keep_answer(f"{n}", "torture", document)
            say("answer", f"{n}")
        elif chance.random() < 0.3 and engine.dialect.name == "sqlite":
            say("backup", str(back_up(engine)))


def killed_writer(place: str, seed: int, lives_s: float) -> list[tuple[str, Any]]:
    """Let a writer live for a while, kill it, and return what it said it kept."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(inlet)
        try:
            write_on(place, seed, lambda what, value: _say(outlet, what, value))
        except BaseException as error:
            _say(outlet, "failed", repr(error)[:500])
        os._exit(1)
    os.close(outlet)
    time.sleep(lives_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(inlet, "rb") as pipe:
        lines = pipe.read().split(b"\n")[:-1]  # a line cut short was not said
    return [tuple(json.loads(line)) for line in lines]


def _say(outlet: int, what: str, value: Any) -> None:
    os.write(outlet, json.dumps([what, value]).encode() + b"\n")


def torture(kills: int, place: str = "", seed: int = 1, folder: Path | None = None) -> Tally:
    """Kill writers and look what is left; place: a PostgreSQL address, empty for files in a folder."""
    chance, tally = random.Random(seed), Tally()
    with tempfile.TemporaryDirectory(dir=folder) as own:
        at, said = place, list[tuple[str, Any]]()
        for n in range(kills):
            if not place and n % NEW_BOOK_EVERY == 0:
                at, said = str(Path(own) / f"book{n}.sqlite"), []
                older = sorted(OLDER.glob("v*.sql"))
                begin = (n // NEW_BOOK_EVERY) % (len(older) + 1)
                if begin < len(older):
                    _older_book(older[begin], at)
                tally.books += 1
            told = killed_writer(at, seed * 1_000_000 + n, chance.random() * LONGEST_S)
            tally.kills += 1
            tally.while_opening += not told
            said += told
            tally.writes += sum(what not in ("opened", "failed") for what, _ in told)
            tally.broken += [f"round {n}: the writer says {value}" for what, value in told if what == "failed"]
            _look(at, said, tally, n)
    return tally


def _older_book(dump: Path, at: str) -> None:
    with sqlite3.connect(at) as old:
        old.executescript(dump.read_text(encoding="utf-8"))
    old.close()


def _look(at: str, said: list[tuple[str, Any]], tally: Tally, n: int) -> None:
    """Open what is left, check it, and look for everything that was said."""
    try:
        engine = open_engine(at)
        faults = check_book(engine)[1]
        with reading(engine) as connection:
            revisions = {row.id: json.loads(row.document).get("n")
                         for row in connection.execute(select(t.revision.c.id, t.revision.c.document))}  # fmt: skip
            there = {"rebuild": set(connection.execute(select(t.rebuild.c.id)).scalars()),
                     "picture": set(connection.execute(select(t.picture.c.id)).scalars()),
                     "answer": set(connection.execute(select(t.answer.c.digest)).scalars())}  # fmt: skip
        engine.dispose()
    except InputError as error:
        tally.broken.append(f"round {n}: {error}")
        return
    tally.broken += [f"round {n}: {fault}" for fault in faults]
    for what, value in said:
        if what == "revision" and revisions.get(value[0]) != value[1]:
            tally.lost.append(f"round {n}: revision {value}")
        elif what in there and value not in there[what]:
            tally.lost.append(f"round {n}: {what} {value}")


def main() -> int:
    """Run and report; 1 where anything was lost or broken."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--book", default="", help="postgresql://user@host/name, an empty database; else files")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=None, help="where the files lie, for instance on another disk")
    args = parser.parse_args()
    begun = time.monotonic()
    tally = torture(args.kills, args.book, args.seed, args.folder)
    print(f"{tally.words()} ({time.monotonic() - begun:.0f} s)")
    print("\n".join([*tally.lost[:20], *tally.broken[:20]]), end="")
    return 1 if tally.lost or tally.broken else 0


if __name__ == "__main__":
    sys.exit(main())
