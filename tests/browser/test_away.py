"""The computer is gone from the network: pages opened before are read from this device's copy, and nothing is lost."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, expect

from batchwright.actions.opened import Opened, opened
from batchwright.web.app import make_app
from batchwright.web.guard import token_hash
from batchwright.web.pages.joining import new_secret
from tests.browser.conftest import Shown
from tests.browser.test_accessibility import ALL_RULES, violations
from tests.web.served import plenty

KEPT = """async () => (await Promise.all((await caches.keys()).map(async (name) =>
  (await (await caches.open(name)).keys()).map((each) => new URL(each.url).pathname)))).flat()"""


class Computer:
    """A server that can be switched off and on again at the same address."""

    def __init__(self, place: Path) -> None:
        self.held: Opened = opened(str(place), workers=0)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.base = f"http://127.0.0.1:{self.port}"

    def on(self) -> None:
        app = make_app(self.held, [f"127.0.0.1:{self.port}"], general=plenty(), entering=plenty())
        config = uvicorn.Config(app, host="127.0.0.1", port=self.port, log_level="error", timeout_graceful_shutdown=1)
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.02)

    def off(self) -> None:
        self.server.should_exit = True
        self.thread.join(15)


@pytest.fixture
def computer(tmp_path: Path, chromium: Browser) -> Iterator[tuple[Computer, Shown]]:
    made = Computer(tmp_path / "away.sqlite")
    made.on()
    token = new_secret()
    made.held.devices.add("Ada", "keeper", None, token_hash(token))
    for name in ("Shore biscuits", "Never opened"):
        things = [("brief", "Brief", {}), ("original", "Original", {"label": {"text": "wheat flour, sugar, butter."}})]
        made.held.book.new_rebuild(name, things, "Ada")
    yield made, Shown(made.held, made.base, chromium, token)
    made.off()
    made.held.close()


def visited(shown: Shown, *paths: str) -> Page:
    """Return a page that opened some addresses, each of them kept by now; the last is shown."""
    page = shown.context().new_page()
    page.set_default_timeout(15_000)
    for path in paths:
        page.goto(shown.base + path)
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.wait_for_function(f"async (path) => (await ({KEPT})()).includes(path)", arg=path)
    page.wait_for_function(f"async () => (await ({KEPT})()).includes('/static/book.js')")
    return page


def test_a_reload_shows_the_copy_and_sends_later(computer: tuple[Computer, Shown]) -> None:
    made, shown = computer
    page = visited(shown, "/", "/rebuilds/1/original")
    thing = made.held.book.things(1, "original")[0].id
    made.off()
    page.reload()
    expect(page.locator(".away")).to_have_text(re.compile(r"The computer is away\. This is the page as of \d\d:\d\d\."))
    expect(page.locator(".away")).to_be_in_viewport()
    expect(page.locator("h1.sentence")).to_contain_text("flour")
    assert page.evaluate("getComputedStyle(document.querySelector('main')).maxWidth") != "none"  # its look is kept too
    page.get_by_role("link", name="Rebuilds").click()  # another page opened before
    expect(page.locator(".away")).to_be_visible()
    page.get_by_role("link", name="Shore biscuits").click()
    page.fill("#f-panel0-fat-g", "7")
    page.get_by_role("button", name="Keep and work it out").click()
    expect(page.locator("#lost")).to_contain_text("kept on this device")
    page.reload()  # and once more, on its way
    assert page.input_value("#f-panel0-fat-g") == "7"
    made.on()
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g')?.defaultValue === '7'")
    assert [one.document.get("panels") for one in made.held.book.history(thing)] == [[{"fat_g": "7"}], None]
    assert page.locator(".away").count() == 0
    page.context.close()


def test_a_copy_of_the_first_page_begins_something_new(computer: tuple[Computer, Shown]) -> None:
    """A paste into a copy is a paste of its own, though the page was sent from before."""
    made, shown = computer
    page = visited(shown, "/")
    page.get_by_label("Paste the packet's words").fill("Ingredients: oats, honey.")
    page.get_by_role("button", name="See what it is made of").click()
    page.wait_for_url("**/original")
    made.off()
    page.get_by_role("link", name="Rebuilds").click()
    expect(page.locator(".away")).to_be_visible()
    page.get_by_label("Paste the packet's words").fill("Ingredients: rye flour, salt.")
    page.get_by_role("button", name="See what it is made of").click()
    expect(page.locator("#lost")).to_contain_text("kept on this device")
    made.on()
    page.wait_for_url("**/rebuilds/4/original")
    assert page.input_value("#f-label-text") == "Ingredients: rye flour, salt."
    page.context.close()


def test_a_page_never_opened_says_so_and_the_computer_back_is_noticed(computer: tuple[Computer, Shown]) -> None:
    made, shown = computer
    page = visited(shown, "/")
    made.off()
    page.goto(shown.base + "/rebuilds/2/original")
    expect(page.locator("h1")).to_have_text("The computer is away.")
    assert violations(page, ALL_RULES) == []
    page.get_by_role("link", name="Back to the rebuilds").click()
    expect(page.locator(".away")).to_be_visible()
    assert violations(page, ALL_RULES) == []
    made.on()
    expect(page.locator(".away")).to_have_count(0, timeout=30_000)
    page.context.close()


def test_a_computer_that_takes_the_question_and_never_answers(computer: tuple[Computer, Shown]) -> None:
    made, shown = computer
    page = visited(shown, "/", "/rebuilds/1/original")
    made.off()
    with socket.socket() as silent:
        silent.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        silent.bind(("127.0.0.1", made.port))
        silent.listen()
        page.goto(shown.base + "/", timeout=30_000)
        expect(page.locator(".away")).to_be_visible()
        expect(page.locator(".list a").first).to_be_visible()
    page.context.close()


def test_who_is_shut_out_keeps_no_copy(computer: tuple[Computer, Shown]) -> None:
    made, shown = computer
    page = visited(shown, "/", "/rebuilds/1/original")
    made.off()
    made.held.devices.shut_out(made.held.devices.all()[0].id)
    page.reload()
    expect(page.locator(".away")).to_be_visible()  # no one could tell this device yet
    made.on()
    expect(page.locator("main")).to_contain_text("has not come in yet", timeout=30_000)
    assert {path for path in page.evaluate(KEPT) if not path.startswith("/static/")} == set()
    made.off()
    page.goto(shown.base + "/rebuilds/1/original")
    expect(page.locator("h1")).to_have_text("The computer is away.")
    assert "flour" not in page.inner_text("body")
    page.context.close()


def test_what_is_sent_is_never_kept_and_coming_in_anew_begins_empty(computer: tuple[Computer, Shown]) -> None:
    _, shown = computer
    page = visited(shown, "/", "/book")
    page.get_by_role("button", name="Make an invitation").click()
    address = page.locator(".address").inner_text()
    kept = page.evaluate(KEPT)
    assert {path for path in kept if not path.startswith("/static/")} == {"/", "/book"}
    assert "join/" not in page.evaluate("async () => (await (await caches.match('/book')).text())")
    page.goto(address)
    page.wait_for_function(f"async () => (await ({KEPT})()).every((path) => path.startsWith('/static/'))")
    page.context.close()
