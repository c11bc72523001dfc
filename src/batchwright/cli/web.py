"""`batchwright web`: the book in a browser, on this computer or for the network at hand."""

from __future__ import annotations

import argparse
import sys
import webbrowser
from pathlib import Path

from batchwright.actions.opened import opened
from batchwright.web.serve import PORT, app_for, first_address, place_to_serve, server_for


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `web` takes."""
    parser.add_argument("--book", metavar="FILE", default="", help="file or postgresql://user@host/name of the book")
    parser.add_argument("--port", type=int, default=PORT, help=f"port to serve at ({PORT})")
    parser.add_argument("--share", action="store_true", help="let invited devices on this network in, over TLS")
    parser.add_argument("--plain", action="store_true", help="with --share: without TLS, for devices that refuse it")
    parser.add_argument("--no-open", action="store_true", help="print the address, open no browser")


def run(args: argparse.Namespace) -> int:
    """Serve the book until interrupted; return 0."""
    book = opened(args.book)
    try:
        folder = Path(book.place).parent if "://" not in book.place else Path.cwd()
        place = place_to_serve(args.port, args.share, args.plain, folder)
        app = app_for(book, place)
        address = first_address(app, place)
        print(f"The book lies in {book.place}")
        print(f"Open, once, on this computer: {address}")
        if place.shared_at:
            print(f"Invited devices reach it at {place.shared_at}")
            if place.fingerprint:
                print(f"Its certificate's fingerprint (SHA-256): {place.fingerprint}")
            else:
                print("CAUTION: sent in the open; anyone on this network can read along.")
        print("Ctrl-C ends it.", flush=True)
        if not args.no_open and sys.stdout.isatty():
            webbrowser.open(address)
        server_for(app, place).run()
    finally:
        book.close()
    return 0
