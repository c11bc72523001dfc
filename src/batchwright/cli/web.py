"""`batchwright web`: the book in a browser, on this computer or for the network at hand."""

from __future__ import annotations

import argparse
import json
import sys
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path

from batchwright.actions.opened import opened
from batchwright.web.serve import PORT, THIS_MACHINE, Place, app_for, first_address, place_to_serve, server_for

OPENED_AFTER_S = 1.0  # the browser is opened once the server answers


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `web` takes."""
    parser.add_argument("--book", metavar="FILE", default="", help="file or postgresql://user@host/name of the book")
    parser.add_argument("--port", type=int, default=PORT, help=f"port to serve at ({PORT})")
    parser.add_argument("--share", action="store_true", help="let invited devices on this network in, over TLS")
    parser.add_argument("--plain", action="store_true", help="with --share: without TLS, for devices that refuse it")
    parser.add_argument("--json", action="store_true", help="print where it is served as one line of JSON")
    parser.add_argument("--no-open", action="store_true", help="print the address, open no browser")


def run(args: argparse.Namespace) -> int:
    """Serve the book until interrupted; return 0."""
    book = opened(args.book)
    try:
        folder = Path(book.place).parent if "://" not in book.place else Path.cwd()
        place = place_to_serve(args.port, args.share, args.plain, folder)
        app = app_for(book, place)
        address = first_address(app, place)
        if args.json:
            print(json.dumps({"book": book.place, "address": address, "shared_at": place.shared_at,
                              "fingerprint": place.fingerprint}), flush=True)  # fmt: skip
        else:
            print(said_of(book.place, place, address), flush=True)
        if not args.no_open and sys.stdout.isatty():
            threading.Timer(OPENED_AFTER_S, webbrowser.open, (address,)).start()
        with suppress(KeyboardInterrupt):
            server_for(app, place).run()
        if not args.json:
            print("\nClosed. Everything is kept in the book.")
    finally:
        book.close()
    return 0


def said_of(lies_in: str, place: Place, address: str) -> str:
    """Return what is printed at the start: where the book lies, how to come in, and what to be careful of."""
    said = [f"The book lies in {lies_in}", f"Open, once, on this computer: {address}"]
    if place.shared_at:
        said.append(f"Invited devices reach it at {place.shared_at} (invite them on the page Book).")
        if THIS_MACHINE in place.shared_at:
            said.append("CAUTION: this computer is on no network now; only its own browser reaches the book.")
    if place.fingerprint:
        said.append("A device asks once whether to trust the book's own certificate. Its fingerprint (SHA-256):")
        said.append(f"  {place.fingerprint}")
    elif place.shared_at:
        said.append("CAUTION: sent in the open (--plain). Anyone on this network can read along, and come in as you. "
                    "Leave --plain out where the devices allow it.")  # fmt: skip
    said.append("Ctrl-C ends it.")
    return "\n".join(said)
