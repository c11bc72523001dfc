"""What was typed is never lost: reloads, a lost computer, two tabs, a phone that sends twice."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from batchwright.base.errors import Fault, InputError
from tests.browser.conftest import Shown
from tests.browser.test_accessibility import ALL_RULES, violations

LABEL = "Ingredients: wheat flour, sugar, butter."


def begun(empty: Shown, page: Page) -> int:
    """Begin a rebuild on the page; return the number of its original among the book's things."""
    page.goto(empty.base)
    page.get_by_label("Paste the packet's words").fill(LABEL)
    page.get_by_role("button", name="See what it is made of").click()
    page.wait_for_url("**/original")
    rebuild = int(page.url.split("/rebuilds/")[1].split("/")[0])
    return empty.opened.book.things(rebuild, "original")[0].id


def keep(page: Page) -> None:
    page.get_by_role("button", name="Keep and work it out").click()


def revisions(empty: Shown, thing: int) -> list[dict[str, Any]]:
    """Return the documents of a thing, the newest first."""
    return [dict(one.document) for one in empty.opened.book.history(thing)]


def test_a_reload_brings_the_draft_back(empty: Shown) -> None:
    page = empty.page()
    begun(empty, page)
    page.fill("#f-panel0-fat-g", "1,5")
    page.fill("#f-label-text", LABEL + " salt")
    page.reload()
    assert page.input_value("#f-panel0-fat-g") == "1,5"
    assert page.input_value("#f-label-text") == LABEL + " salt"
    expect(page.locator("#lost")).to_contain_text("not kept yet")
    page.context.close()


def test_kept_is_no_draft_any_more(empty: Shown) -> None:
    page = empty.page()
    begun(empty, page)
    page.fill("#f-panel0-fat-g", "7")
    keep(page)
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g').defaultValue === '7'")
    assert page.evaluate("Object.keys(localStorage).length") == 0
    assert page.locator("#lost").is_hidden()
    page.context.close()


def test_two_tabs_keep_both(empty: Shown) -> None:
    page = empty.page()
    thing = begun(empty, page)
    other = page.context.new_page()
    other.goto(page.url)
    page.fill("#f-panel0-fat-g", "7")
    keep(page)
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g').defaultValue === '7'")
    other.fill("#f-panel0-protein-g", "2")
    keep(other)
    expect(other.locator(".note", has_text="Two people saved this")).to_be_visible()
    heads = [dict(head.document)["panels"][0] for head in empty.opened.book.heads(thing)]
    assert {tuple(head.items()) for head in heads} == {(("fat_g", "7"),), (("protein_g", "2"),)}
    other.locator(".note a").first.click()
    other.get_by_role("button", name="Go on from this one").first.click()
    other.wait_for_url("**/original")
    assert len(empty.opened.book.heads(thing)) == 1
    assert len(revisions(empty, thing)) >= 3
    page.context.close()


def test_a_lost_computer(empty: Shown) -> None:
    page = empty.page()
    thing = begun(empty, page)
    page.context.set_offline(True)
    page.fill("#f-panel0-fat-g", "7")
    expect(page.locator("#lost")).to_contain_text("does not answer")
    keep(page)
    expect(page.locator("#lost")).to_contain_text("kept on this device")
    page.get_by_role("button", name="Keep and work it out").click()  # tapped again by an impatient thumb
    assert page.locator("h1.sentence").is_visible()  # the page stays readable
    assert page.input_value("#f-panel0-fat-g") == "7"
    assert len(revisions(empty, thing)) == 1
    page.context.set_offline(False)
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g').defaultValue === '7'")
    assert [one.get("panels") for one in revisions(empty, thing)] == [[{"fat_g": "7"}], None]
    page.context.close()


def test_a_book_that_cannot_take_it_now_says_why_and_takes_it_later(
    empty: Shown, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = empty.page()
    thing = begun(empty, page)

    def full(*_given: object) -> None:
        raise InputError([Fault("book", "book.sqlite", "a disk with room on it", "The disk is full. Make room.")])

    monkeypatch.setattr(empty.opened.book, "save", full)
    page.fill("#f-panel0-fat-g", "7")
    keep(page)
    expect(page.locator("#lost")).to_contain_text("The disk is full. Make room.")
    assert violations(page, ALL_RULES) == []
    expect(page.locator("#lost")).to_contain_text("kept on this device")
    assert page.input_value("#f-panel0-fat-g") == "7"
    monkeypatch.undo()
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g').defaultValue === '7'")
    assert len(revisions(empty, thing)) == 2
    page.context.close()


def test_an_answer_that_was_lost_is_kept_once(empty: Shown) -> None:
    """The computer kept it, but the phone never heard: it sends again with the same key."""
    page = empty.page(service_workers="block")  # only so does the test see every request
    thing = begun(empty, page)
    heard: list[str] = []

    def lose_the_first(route: Route) -> None:
        if route.request.method == "POST" and not heard:
            heard.append(route.fetch(max_redirects=0).headers.get("location", ""))
            route.abort()
        else:
            route.continue_()

    page.route("**/original", lose_the_first)
    page.fill("#f-panel0-fat-g", "7")
    keep(page)
    page.wait_for_function("() => document.querySelector('#f-panel0-fat-g').defaultValue === '7'")
    assert heard
    assert len(revisions(empty, thing)) == 2
    page.context.close()


def test_a_page_left_while_offline_sends_later(empty: Shown) -> None:
    page = empty.page(service_workers="block")  # only so does the test see every request
    thing = begun(empty, page)
    address = page.url
    page.route("**/*", lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    page.fill("#f-panel0-fat-g", "7")
    keep(page)
    expect(page.locator("#lost")).to_contain_text("kept on this device")
    page.close()
    again = page.context.new_page()  # the same phone, later
    again.goto(address)
    again.wait_for_function("() => document.querySelector('#f-panel0-fat-g').defaultValue === '7'")
    assert len(revisions(empty, thing)) == 2
    page.context.close()


def test_a_begun_rebuild_sent_twice_begins_once(empty: Shown) -> None:
    page = empty.page(service_workers="block")  # only so does the test see every request
    before = len(empty.opened.book.rebuilds())
    lost: list[int] = []

    def lose_the_first(route: Route) -> None:
        if not lost:
            lost.append(route.fetch(max_redirects=0).status)
            route.abort()
        else:
            route.continue_()

    page.route("**/rebuilds", lose_the_first)
    page.get_by_label("Paste the packet's words").fill("Ingredients: oats, honey.")
    page.get_by_role("button", name="See what it is made of").click()
    page.wait_for_url("**/original")
    assert lost == [303]
    assert len(empty.opened.book.rebuilds()) == before + 1
    page.context.close()


def test_typed_words_are_shown_as_words(empty: Shown) -> None:
    page = empty.page()
    hit: list[str] = []
    page.on("dialog", lambda dialog: (hit.append(dialog.message), dialog.dismiss()))
    nasty = 'Ingredients: <img src=x onerror=alert(1)>, "><script>alert(2)</script>.'
    page.get_by_label("Paste the packet's words").fill(nasty)
    page.get_by_role("button", name="See what it is made of").click()
    page.wait_for_url("**/original")
    page.fill("#f-panel0-fat-g", "<script>alert(3)</script>")
    keep(page)
    expect(page.locator("#fault-panel0-fat-g")).to_contain_text("<script>alert(3)</script>")
    assert hit == []
    page.context.close()
