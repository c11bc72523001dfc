"""Outside values: each check is recorded, and `make published` prints ours, theirs, the difference, the source."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Check = Callable[..., None]
CHECKED: list[tuple[str, float, float, float, str]] = []


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that prints the table."""
    parser.addoption("--show-published", action="store_true", help="print ours, theirs, the difference, the source")


@pytest.fixture
def published() -> Check:
    """Return `check(what, ours, theirs, tolerance, source)`: records the pair, fails where they differ by more."""

    def check(what: str, ours: float, theirs: float, tolerance: float, source: str) -> None:
        CHECKED.append((what, ours, theirs, tolerance, source))
        assert abs(ours - theirs) <= tolerance, f"{what}: ours {ours}, theirs {theirs} +- {tolerance} ({source})"

    return check


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Print the table where it was asked for."""
    if not config.getoption("--show-published", default=False) or not CHECKED:
        return
    terminalreporter.section("ours, theirs, the difference, the tolerance, the source")
    for what, ours, theirs, tolerance, source in CHECKED:
        line = f"{what:<52.52} {ours:>10.4g} {theirs:>10.4g} {ours - theirs:>+10.2g} {tolerance:>8.2g}  {source}"
        terminalreporter.write_line(line)
