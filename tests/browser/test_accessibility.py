"""Every page held to the accessibility engine's rules in a real browser: both sizes, light and dark."""

from __future__ import annotations

from pathlib import Path

import axe_playwright_python
import pytest
from playwright.sync_api import Page

from tests.browser.conftest import DESK, OPEN_ALL, OPEN_MAIN, PAGES, PHONE, Shown

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text()
ALL_RULES = """{runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
  rules: {"target-size": {enabled: true}}}"""


def violations(page: Page, rules: str) -> list[str]:
    """Return what the accessibility engine finds wrong on a page."""
    page.evaluate(AXE)
    found = page.evaluate(f"axe.run(document, {rules})")
    assert len(found["passes"]) >= 1
    return [f"{each['id']}: {node['target']} {node.get('failureSummary', '')[:300]}"
            for each in found["violations"] for node in each["nodes"]]  # fmt: skip


@pytest.mark.parametrize(("size", "scheme"), [(PHONE, "light"), (DESK, "dark")], ids=["phone-light", "desk-dark"])
def test_accessibility(demo: Shown, size: dict[str, int], scheme: str) -> None:
    context = demo.context(size, color_scheme=scheme)
    page = context.new_page()
    found = {}
    for name, path in PAGES.items():
        page.goto(demo.base + path)
        page.evaluate(OPEN_ALL if name == "book" else OPEN_MAIN)
        found[name] = violations(page, ALL_RULES)
    context.close()
    assert {name: wrong for name, wrong in found.items() if wrong} == {}
