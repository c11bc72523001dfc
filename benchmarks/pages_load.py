"""How long a page takes with 1,000 rebuilds in the book, each as full as the demonstration's, and decodes running.

    python benchmarks/pages_load.py [--rebuilds 1000] [--requests 200] [--book postgresql://user@host/name]

The rebuilds are the demonstration's food and recipes under names of their own, their answers kept as they are once a
page was looked at. Each page is then asked for from a server process, one request after another, of a different rebuild
each time, while another browser keeps one worker decoding labels that no one saw before. Printed for each page: its
size, and the time from sending the request to the last byte (half, 95 of 100, all of the requests were quicker), the
processor time the server itself took for each request, and its start; then how long a changed label takes to its answer
on the page, from the last key. The book must be new; without --book it is a file in a temporary folder.
"""

from __future__ import annotations

import argparse
import http.client
import json
import multiprocessing
import socket
import statistics
import tempfile
import threading
import time
import tomllib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import uvicorn
from sqlalchemy import insert

from batchwright import __version__
from batchwright.actions.answers import AnswerDesk, own_formula, own_tables, work_digest
from batchwright.actions.bench import named, pasted_document
from batchwright.actions.demo import FOOD, RECIPES, demo_text
from batchwright.actions.demo_book import BRIEF
from batchwright.actions.opened import opened
from batchwright.store import tables
from batchwright.store.text import document_text
from batchwright.web.app import make_app
from batchwright.web.guard import Bucket, cookie_name, csrf_of, token_hash
from batchwright.web.original_form import fields_from_document

MARK = "QQQ"  # stands in every name for the number of the rebuild
TOKEN = "benchmark"
LABELS = 20  # how many changed labels are asked for
AFTER_KEY_S, AGAIN_S = 0.2, 0.5  # how long the page waits after the last key, and before it asks again (book.js)
CLOCK_TICKS = 100  # of /proc/PID/stat in a second (Linux, sysconf(SC_CLK_TCK))
PAGES = ("/", "/rebuilds/{r}/original", "/rebuilds/{r}/formula", "/rebuilds/{r}/formula/{f}",
         "/rebuilds/{r}/formula/{f}/measures", "/rebuilds/{r}/formula/{f}/card", "/rebuilds/{r}/formula/{f}/versions",
         "/rebuilds/{r}/history/{o}", "/book", "/api/rebuilds/{r}/original/answer")  # fmt: skip


def numbered(document: Any, number: int) -> Any:
    """Return a document with the rebuild's number in its names."""
    return json.loads(json.dumps(document).replace(MARK, f"{number:05d}"))


def fill(place: str, count: int) -> list[tuple[int, int, int]]:
    """Fill a new book; return (rebuild, original, first formula) of each."""
    book = opened(place, workers=0)
    desk = AnswerDesk(book.book, workers=0)
    original = tomllib.loads(demo_text(f"{FOOD}.toml"))
    original["food"]["name"] += f" {MARK}"
    formulas = [pasted_document(demo_text(name)) for name in RECIPES]
    formulas = [{**each, "name": f"{named(each)} {MARK}"} for each in formulas]
    answer = desk.of(original)
    band, plain = answer["band"], [own_formula(each) for each in formulas]
    asked: list[tuple[str, list[Any]]] = [("answer", [own_tables(original), ""]), ("compare", [band, plain, [], 3])]
    asked += [("compare", [band, [each], [], 3]) for each in plain]
    asked += [(work, [each, ""]) for each in plain for work in ("measures", "card")]
    found = [desk._found(work, given, "", 600.0) for work, given in asked]
    numbers = []
    for number in range(count):
        things = [("brief", "Brief", BRIEF), ("original", "Original", numbered(original, number))]
        things += [("formula", named(each), numbered(each, number)) for each in formulas]
        rebuild = book.book.new_rebuild(f"{FOOD} {number}", things, "Benchmark").id
        rows = [{"digest": work_digest(work, numbered(given, number)), "program": __version__,
                 "document": document_text(numbered(kept, number)), "made": datetime.now(UTC).isoformat()}
                for (work, given), kept in zip(asked, found, strict=True)]  # fmt: skip
        with book.book.engine.begin() as connection:
            connection.execute(insert(tables.answer), rows)
        kinds = {kind: book.book.things(rebuild, kind)[0].id for kind in ("original", "formula")}
        numbers.append((rebuild, kinds["original"], kinds["formula"]))
    book.devices.add("Benchmark", "keeper", None, token_hash(TOKEN))
    book.close()
    return numbers


def serve(place: str, port: int) -> None:
    """Serve the book as `batchwright web` does, without its limit of requests from one address."""
    book = opened(place)
    app = make_app(book, [f"127.0.0.1:{port}"], general=Bucket(1e9, 1e9))
    uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning", access_log=False,
                                  timeout_keep_alive=600)).run()


class Browser:
    """One connection that stays open."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.headers = {"cookie": f"{cookie_name(f'127.0.0.1:{port}', False)}={TOKEN}",
                        "origin": f"http://127.0.0.1:{port}"}  # fmt: skip

    def ask(self, path: str, body: Any = None) -> tuple[int, int]:
        """Ask for a page; return status and size [bytes]."""
        headers, data = self.headers, None
        if isinstance(body, str):
            headers, data = {**headers, "content-type": "application/x-www-form-urlencoded"}, body
        elif body is not None:
            headers, data = {**headers, "content-type": "application/json"}, json.dumps(body)
        self.connection.request("GET" if data is None else "POST", path, data, headers)
        answer = self.connection.getresponse()
        return answer.status, len(answer.read())


def decode_all_the_while(port: int, stop: threading.Event, done: list[float]) -> None:
    """Ask for the answer to a label no one saw before, again and again."""
    document = tomllib.loads(demo_text(f"{FOOD}.toml"))
    browser = Browser(port)
    while not stop.is_set():
        document["food"]["name"] = f"never seen {time.monotonic_ns()}"
        begun = time.perf_counter()
        browser.ask("/api/decode", {"document": document})
        done.append(time.perf_counter() - begun)


def changed_labels(browser: Browser, numbers: list[tuple[int, int, int]]) -> list[float]:
    """Return how long after the last key the answer to a changed label stood on the page, label by label [s].

    A figure of the panel is typed anew each time, as the page sends it: a moment after the last key, asked again where
    it is not worked out yet.
    """
    document, took = tomllib.loads(demo_text(f"{FOOD}.toml")), []
    for at in range(LABELS):
        rebuild = numbers[at * max(1, len(numbers) // LABELS) % len(numbers)][0]
        document["panel"]["serving_g"] = 29.5 + at / 50
        form = {**fields_from_document(document), "csrf": csrf_of(TOKEN)}
        begun = time.perf_counter()
        time.sleep(AFTER_KEY_S)
        while (status := browser.ask(f"/rebuilds/{rebuild}/original/answer", urlencode(form))[0]) == 204:
            time.sleep(AGAIN_S)
        assert status == 200, status
        took.append(time.perf_counter() - begun)
    return sorted(took)


def processor_s(pid: int) -> float:
    """Return the processor time a process has taken, without its children [s]; 0 where the system does not say."""
    stat = Path(f"/proc/{pid}/stat")
    if not stat.exists():
        return 0.0
    fields = stat.read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / CLOCK_TICKS


def measured(place: str, numbers: list[tuple[int, int, int]], requests: int) -> None:
    """Start the server, ask for every page, print what it took."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    begun = time.perf_counter()
    server = multiprocessing.get_context("spawn").Process(target=serve, args=(place, port))
    server.start()
    while socket.socket().connect_ex(("127.0.0.1", port)):
        time.sleep(0.02)
    print(f"server start, with this file's own imports: {time.perf_counter() - begun:.2f} s, "
          f"{processor_s(server.pid or 0):.2f} s of it processor time")  # fmt: skip
    stop, decodes = threading.Event(), list[float]()
    other = threading.Thread(target=decode_all_the_while, args=(port, stop, decodes), daemon=True)
    browser = Browser(port)
    browser.ask("/rebuilds/1/original")
    other.start()
    while not decodes:
        time.sleep(0.05)
    print(f"{'page':42} {'kB':>6} {'p50':>6} {'p95':>6} {'max':>6}  processor ms of the server itself")
    step = max(1, len(numbers) // requests)
    for page in PAGES:
        times, sizes, before = [], [], processor_s(server.pid or 0)
        for at in range(requests):
            rebuild, original, formula = numbers[at * step % len(numbers)]
            path = page.format(r=rebuild, o=original, f=formula)
            start = time.perf_counter()
            status, size = browser.ask(path)
            times.append(1000 * (time.perf_counter() - start))
            sizes.append(size)
            assert status == 200, (path, status)
        own = 1000 * (processor_s(server.pid or 0) - before) / requests
        times.sort()
        print(f"{page:42} {max(sizes) / 1000:6.1f} {statistics.median(times):6.1f} "
              f"{times[int(0.95 * (len(times) - 1))]:6.1f} {times[-1]:6.1f}  {own:.1f}", flush=True)  # fmt: skip
    took = changed_labels(browser, numbers)
    print(f"a changed label answered on the page: {statistics.median(took):.2f} s in the middle, "
          f"{took[-1]:.2f} s at most")  # fmt: skip
    stop.set()
    other.join()
    print(f"{len(decodes)} decodes meanwhile, each {statistics.median(decodes):.2f} s in the middle")
    server.terminate()
    server.join()


def main() -> None:
    """Fill a book and measure."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rebuilds", type=int, default=1000)
    parser.add_argument("--requests", type=int, default=200)
    parser.add_argument("--book", default="", help="a new book: postgresql://user@host/name, or a file")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = args.book or str(Path(folder) / "book.sqlite")
        begun = time.perf_counter()
        numbers = fill(place, args.rebuilds)
        print(f"{args.rebuilds} rebuilds with their answers, written in {time.perf_counter() - begun:.0f} s")
        try:
            measured(place, numbers, args.requests)
        finally:
            for server in multiprocessing.active_children():
                server.terminate()


if __name__ == "__main__":
    main()
