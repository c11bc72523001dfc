"""The demonstration in a browser: a book of its own, served to this computer until Ctrl-C."""

from __future__ import annotations

import http.client
import re
import socket
import sys
import tempfile
import threading
import time
import webbrowser
from contextlib import suppress
from pathlib import Path

import uvicorn

from batchwright.actions.demo_book import fill_demo_book
from batchwright.actions.opened import opened
from batchwright.web.serve import PORT, app_for, first_address, place_to_serve, server_for

ROOMS = ("original", "formula")
VIEWS = ("", "/measures", "/card", "/versions")
STARTED_WITHIN_S = 20.0


def show_demo_book(port: int = 0) -> int:
    """Serve the demonstration's book; with a terminal until Ctrl-C, else fetch each page once, report, and end.

    port: 0 for the usual one, or a free one where that is taken. Return 0, or 1 where a page could not be fetched.
    """
    with tempfile.TemporaryDirectory(prefix="batchwright-demo-") as folder:
        book = opened(str(Path(folder) / "demo-book.sqlite"))
        try:
            rebuild = fill_demo_book(book.book)
            book.answers.of(next(head for thing in book.book.things(rebuild.id, "original")
                                 for head in book.book.heads(thing.id)).document)  # fmt: skip
            place = place_to_serve(port or _free_port(), share=False, plain=False, folder=Path(folder))
            app = app_for(book, place)
            address = first_address(app, place)
            server = server_for(app, place)
            if sys.stdout.isatty():
                return _until_stopped(server, address)
            formulas = [thing.id for thing in book.book.things(rebuild.id, "formula")]
            return _fetched(server, address, rebuild.id, formulas)
        finally:
            book.close()


def _free_port() -> int:
    """Return the usual port, any free one where it is taken."""
    for wanted in (PORT, 0):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            try:
                probe.bind(("127.0.0.1", wanted))
                return int(probe.getsockname()[1])
            except OSError:
                continue
    return PORT


def has_browser() -> bool:
    """Whether this computer has a browser to open a page in."""
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    return True


def _until_stopped(server: uvicorn.Server, address: str) -> int:
    print(f"The demonstration's book is open. Once, on this computer: {address}")
    print("It is a copy of its own, gone when this ends. Ctrl-C ends it.", flush=True)
    threading.Timer(1.0, webbrowser.open, (address,)).start()
    with suppress(KeyboardInterrupt):
        server.run()
    print("\nClosed.")
    return 0


def _fetched(server: uvicorn.Server, address: str, rebuild_id: int, formulas: list[int]) -> int:
    """Fetch every page once from the running server and say how that went."""
    running = threading.Thread(target=server.run, daemon=True)
    running.start()
    begun = time.monotonic()
    while not server.started and running.is_alive() and time.monotonic() - begun < STARTED_WITHIN_S:
        time.sleep(0.02)
    host = address.split("//")[1].split("/")[0]
    status, cookie, _ = _get(host, address.split(host)[1], "")
    paths = ["/", "/book", *(f"/rebuilds/{rebuild_id}/{room}" for room in ROOMS)]
    paths += [f"/rebuilds/{rebuild_id}/formula/{number}{view}" for number in formulas for view in VIEWS]
    faults = 0
    for path in paths:
        start = time.monotonic()
        status, _, size = _get(host, path, cookie)
        faults += status != 200
        print(f"{status}  {path:36} {size / 1000:6.1f} kB {1000 * (time.monotonic() - start):6.0f} ms")
    server.should_exit = True
    running.join(timeout=10)
    print(f"{len(paths)} pages fetched, {faults} of them faulty.")
    return 1 if faults else 0


def _get(host: str, path: str, cookie: str) -> tuple[int, str, int]:
    """Return the status of a page, the cookie it sets (or the one sent), and its size [bytes]."""
    connection = http.client.HTTPConnection(host, timeout=60)
    try:
        connection.request("GET", path, headers={"cookie": cookie} if cookie else {})
        answer = connection.getresponse()
        found = re.match(r"[^;]+", answer.getheader("set-cookie") or cookie)
        return answer.status, found[0] if found else "", len(answer.read())
    finally:
        connection.close()
