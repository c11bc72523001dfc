"""Pages in a real browser: the book served from a thread, Debian's Chromium, a keeper who is already in."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from batchwright.actions.demo_book import fill_demo_book
from batchwright.actions.opened import Opened, opened
from batchwright.web.app import make_app
from batchwright.web.guard import token_hash
from batchwright.web.pages.joining import new_secret
from tests.web.served import plenty

CHROMIUM = Path("/usr/bin/chromium")
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 800}

PAGES = {
    "first screen": "/", "set aside": "/?show=aside", "original": "/rebuilds/1/original",
    "baker's percent": "/rebuilds/1/original?show=bakers", "formulas": "/rebuilds/1/formula",
    "formula": "/rebuilds/1/formula/3", "cups": "/rebuilds/1/formula/3/measures", "card": "/rebuilds/1/formula/3/card",
    "versions": "/rebuilds/1/formula/3/versions", "history": "/rebuilds/1/history/2", "book": "/book",
    "picture": "/rebuilds/1/photo", "faults": "/rebuilds/2/original", "two heads": "/rebuilds/3/original",
    "nothing yet": "/rebuilds/4/original", "no recipe yet": "/rebuilds/4/formula",
    "not there": "/rebuilds/999/original",
}  # fmt: skip
OPEN_MAIN = "document.querySelectorAll('main details').forEach((each) => { each.open = true; })"
OPEN_ALL = "document.querySelectorAll('details').forEach((each) => { each.open = true; })"


@dataclass
class Shown:
    """A book on a page: its address, the browser, and a keeper's secret."""

    opened: Opened
    base: str
    browser: Browser
    token: str

    def context(self, size: dict[str, int] | None = None, **options: Any) -> BrowserContext:
        made = self.browser.new_context(viewport=size or PHONE, **options)
        made.set_default_timeout(60_000)
        made.add_cookies([{"name": f"door-{self.base.rsplit(':', 1)[1]}", "value": self.token, "url": self.base}])
        return made

    def page(self, path: str = "/", size: dict[str, int] | None = None, **options: Any) -> Page:
        page = self.context(size, **options).new_page()
        page.goto(self.base + path)
        return page


def _serve(place: Path) -> Iterator[tuple[Opened, str]]:
    held = opened(str(place), workers=0)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = make_app(held, [f"127.0.0.1:{port}"], general=plenty(), entering=plenty())
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield held, f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)
    held.close()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.skip(f"no browser: {CHROMIUM} is not there (Debian's package chromium)")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


def _keeper(held: Opened, base: str, chromium: Browser) -> Shown:
    token = new_secret()
    held.devices.add("Ada", "keeper", None, token_hash(token))
    return Shown(held, base, chromium, token)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[Shown]:
    """The demonstration's book; its pages are looked at, not changed."""
    for held, base in _serve(tmp_path_factory.mktemp("demo") / "demo.sqlite"):
        fill_demo_book(held.book)
        _fill_odd(held)
        yield _keeper(held, base, chromium)


def _fill_odd(held: Opened) -> None:
    """Add what must look right too: faults, a name beyond all measure, what two people saved, and nothing at all."""
    faulty = {"label": {"text": "wheat flour, sugr, zzqqx, hydrogenated vegetable shortening"},
              "panels": [{"fat_g": "7"}, {"fat_g": "banana", "sodium_mg": "-3"}], "teardown": {"pieces_g": ["x", 18.2]}}
    for name, document in (("Faulty", faulty), ("Extraordinarilylongwindedbuckwheatshortbreadwithoutanyblank" * 3,
                                                {"label": {"text": "wheat flour, sugar"}}), ("Empty", {})):  # fmt: skip
        rebuild = held.book.new_rebuild(name, [("brief", "Brief", {}), ("original", "Original", document)], "Ada")
        if len(name) > 60:
            thing = held.book.things(rebuild.id, "original")[0].id
            first = held.book.heads(thing)[0].id
            for who in ("Ada", "Ben"):
                held.book.save(thing, first, {"label": {"text": f"wheat flour, sugar, {who}"}}, who)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[Shown]:
    """A book with nothing in it, to work in."""
    for held, base in _serve(tmp_path_factory.mktemp("empty") / "empty.sqlite"):
        yield _keeper(held, base, chromium)
