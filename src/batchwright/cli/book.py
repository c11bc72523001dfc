"""`batchwright book`: copies of the book, one file to send or keep, and whether it is whole."""

from __future__ import annotations

import argparse

from batchwright.actions.copies import backup, check, export_to, import_from, restore
from batchwright.cli.terminal import print_json

BOOK = "file or postgresql://user@host/name; else $BATCHWRIGHT_BOOK, else batchwright-book.sqlite in this folder"
EXPORT_FOR_BACKUP = (
    "On PostgreSQL the backup is the export: every rebuild with its history and pictures, but not who may come in.\n"
    "For a copy of the whole database use its own pg_dump."
)
DAMAGED = 1  # what a shell gets where `check` finds something wrong


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `book` takes."""
    doing = parser.add_subparsers(title="what to do", metavar="WHAT", dest="what", required=True)
    for word, said, takes_file in (
        ("backup", "write a copy beside the book, in use or not; ten are kept", ""),
        ("export", "write the book, or one rebuild of it, into one file", "file to write (.zip)"),
        ("import", "take an exported file into the book, beside what is there", "file to read (.zip)"),
        ("restore", "make a new book from a backup or an exported file", "backup or exported file"),
        ("check", "see whether the book is whole", ""),
    ):
        place = doing.add_parser(word, help=said, description=said[0].upper() + said[1:] + ".")
        if takes_file:
            place.add_argument("file", metavar="FILE", help=takes_file)
        place.add_argument("--book", metavar="BOOK", default="", help=BOOK)
        if word == "export":
            place.add_argument("--rebuild", metavar="N", type=int, default=None, help="only this rebuild")
        place.add_argument("--json", action="store_true", help="print what was done as JSON")


def run(args: argparse.Namespace) -> int:
    """Do it; return 0, or 1 where `check` finds something wrong."""
    if args.what == "check":
        found = check(args.book)
        if args.json:
            print_json(found.to_json())
        else:
            held = ", ".join(f"{count} {kind}{'' if count == 1 else 's'}" for kind, count in found.counts.items())
            print(f"{found.place}: {held}")
            print("\n".join(found.faults) if found.faults else "Whole: nothing wrong was found.")
        return DAMAGED if found.faults else 0
    if args.what == "import":
        taken = import_from(args.file, args.book)
        done: dict[str, object] = {"rebuilds": list(taken)}
        said = f"Taken in: {len(taken)} rebuild{'' if len(taken) == 1 else 's'}."
    else:
        place = {"backup": lambda: str(backup(args.book)),
                 "export": lambda: str(export_to(args.file, args.book, args.rebuild)),
                 "restore": lambda: restore(args.file, args.book)}[args.what]()  # fmt: skip
        done, said = {"file": place}, f"Written: {place}"
        if args.what == "backup" and place.endswith(".zip"):
            said += f"\n{EXPORT_FOR_BACKUP}"
    if args.json:
        print_json(done)
    else:
        print(said)
    return 0
