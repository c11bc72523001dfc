"""Every page held to a thumb, to paper and to the order of an answer."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import DESK, OPEN_ALL, PAGES, PHONE, Shown

# Every target a finger may go for, with its box; what lies inside another target or in a sentence is left out.
TARGETS = """() => {
  const all = [...document.querySelectorAll("a, button, input, select, textarea, summary, label.button, label.check")];
  const shown = all.filter((each) => {
    const style = getComputedStyle(each), box = each.getBoundingClientRect();
    if (!box.width || !box.height || !each.checkVisibility({ contentVisibilityAuto: true })) return false;
    if (each.closest(".skip, .hidden")) return false;
    if (each.matches("input") && each.closest("label")) return false;
    if (each.matches("a") && style.display === "inline") {
      return each.parentElement.textContent.trim() === each.textContent.trim();
    }
    return true;
  });
  const layer = (each) => each.closest(".benches") ? "benches" : each.closest(".unit-switch > form") ? "units" : "page";
  return shown.map((each) => {
    const box = each.getBoundingClientRect();
    return { what: each.outerHTML.slice(0, 90), main: each.matches(".main, .second"), layer: layer(each),
             left: box.left, top: box.top + scrollY, right: box.right, bottom: box.bottom + scrollY };
  });
}"""


def test_targets(demo: Shown) -> None:
    context = demo.context(PHONE)
    page = context.new_page()
    small, close, wide = [], [], []
    for name, path in PAGES.items():
        page.goto(demo.base + path)
        page.evaluate(OPEN_ALL)
        if page.evaluate("document.documentElement.scrollWidth") > PHONE["width"]:
            wide.append(name)
        found = page.evaluate(TARGETS)
        assert len(found) >= 3, name
        for each in found:
            least = 63.5 if each["main"] else 43.5  # half a pixel for rounding
            if each["bottom"] - each["top"] < least or each["right"] - each["left"] < 43.5:
                small.append((name, each["what"], each["right"] - each["left"], each["bottom"] - each["top"]))
        for place, one in enumerate(found):
            for other in found[place + 1 :]:
                if one["layer"] != other["layer"]:  # one lies over the other: only what is on top can be tapped
                    continue
                apart = max(other["left"] - one["right"], one["left"] - other["right"],
                            other["top"] - one["bottom"], one["top"] - other["bottom"])  # fmt: skip
                if apart < 7.5:
                    close.append((name, one["what"], other["what"], apart))
    context.close()
    assert (wide, small, close) == ([], [], [])


def test_first_screenful_of_a_phone_holds_sentence_and_picture(demo: Shown) -> None:
    page = demo.page("/rebuilds/1/original")
    sentence, picture = page.locator("h1.sentence").bounding_box(), page.locator("svg.range").first.bounding_box()
    assert sentence
    assert picture
    assert sentence["y"] + sentence["height"] < picture["y"]
    assert picture["y"] + picture["height"] < PHONE["height"] - 64  # the benches cover the last row
    page.context.close()


@pytest.mark.parametrize("path", ["/rebuilds/1/original", "/rebuilds/1/formula/3", "/rebuilds/1/formula/3/card"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_prints(demo: Shown, path: str, paper: str) -> None:
    page = demo.page(path, DESK, color_scheme="dark")
    assert len(page.pdf(format=paper)) > 10_000
    page.emulate_media(media="print", color_scheme="dark")
    shown = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert shown == "rgb(255, 255, 255)"
    assert page.locator("main button:visible, main input:visible, nav:visible").count() == 0
    assert page.locator("h1").first.is_visible()
    page.context.close()


def test_the_original_stays_at_the_side(demo: Shown) -> None:
    for path in ("/rebuilds/1/formula", "/rebuilds/1/formula/3", "/rebuilds/1/formula/3/card",
                 "/rebuilds/1/formula/3/measures", "/rebuilds/1/formula/3/versions"):  # fmt: skip
        page = demo.page(path, DESK)
        box = page.locator(".stays svg.range.original").first.bounding_box()
        assert box, path
        assert box["x"] > 600, path
        page.evaluate("scrollTo(0, 600)")
        assert page.locator(".stays svg.range.original").first.bounding_box()["y"] < 800, path  # type: ignore[index]
        page.context.close()


def test_units_change_every_page(demo: Shown) -> None:
    context = demo.context(PHONE)
    page = context.new_page()
    page.goto(demo.base + "/rebuilds/1/formula/3/card")
    assert "310 g" in page.inner_text("main")
    expect(page.locator("main")).to_contain_text("175 °C (350 °F)")
    page.click(".unit-switch summary")
    page.check("input[name=weight][value=oz]")
    page.check("input[name=heat][value=F]")
    page.select_option("#unit-cup", index=1)
    page.click("text=Use these units")
    expect(page.locator(".unit-switch summary")).to_contain_text("oz")
    assert page.url.endswith("/card")
    assert " g " not in page.inner_text("ul.ticks >> nth=0")
    expect(page.locator("main")).to_contain_text("350 °F (175 °C)")
    for path in ("/rebuilds/1/original", "/rebuilds/1/formula/3", "/rebuilds/1/formula/3/measures"):
        page.goto(demo.base + path)
        assert "oz" in page.inner_text("thead >> nth=0"), path
    context.close()
