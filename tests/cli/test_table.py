"""Tables and bars: one axis, line, bar and dot; digits that the range deserves; any width."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batchwright.base.estimate import Estimate
from batchwright.base.shown import nice_axis_max, shown_number, shown_range, shown_sure_range
from batchwright.cli import table
from batchwright.cli.table import DRAWN, PLAIN, estimate_bar, estimate_table, fitted, shown_width, text_table

FLOUR = Estimate(38.2, 34.1, 41.3, 30.2, 45.0)
SALT = Estimate(0.42, 0.35, 0.5, 0.2, 0.7)
OIL = Estimate(9.3, 8.8, 9.9)


@pytest.fixture(autouse=True)
def drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table, "marks", lambda: DRAWN)


def test_bar_is_line_bar_and_dot() -> None:
    assert estimate_bar(Estimate(50, 40, 60, 20, 80), 100, 10) == "  ├─━●━─┤ "


def test_bar_without_sure_ends_is_bar_and_dot_alone() -> None:
    assert estimate_bar(Estimate(50, 40, 60), 100, 10) == "    ━●━   "


def test_bar_in_plain_letters() -> None:
    assert estimate_bar(Estimate(50, 40, 60, 20, 80), 100, 10, PLAIN) == "  |-=o=-| "


def test_rows_share_one_axis() -> None:
    lines = estimate_table([("flour", FLOUR), ("sugar", FLOUR), ("salt", SALT)], width=100).splitlines()
    assert lines[1].index("●") == lines[2].index("●")
    assert lines[3].index("●") < lines[1].index("●")
    assert lines[0].rstrip().endswith("50")


@pytest.mark.parametrize(("value", "width", "shown"), [
    (38.24, 7.2, "38"), (0.003, 0.001, "<0.01"), (9.31, 1.1, "9.3"), (0.421, 0.15, "0.42"),
    (-0.001, 5, "0"), (0.0, 0.0, "0"),
])  # fmt: skip
def test_digits(value: float, width: float, shown: str) -> None:
    assert shown_number(value, width) == shown


def test_range_digits() -> None:
    assert shown_range(34.1, 41.3) == "34–41"
    assert shown_range(0.35, 0.5) == "0.35–0.50"
    assert shown_range(0.0, 0.5) == "0–0.5"
    assert shown_range(0.001, 0.002) == "<0.01"
    assert shown_range(12.0, 12.0) == "12.00"


@given(st.floats(0, 100), st.floats(0, 100))
def test_sure_range_is_never_printed_narrower_than_it_is(one: float, other: float) -> None:
    low, high = sorted((one, other))
    ends = [float(end) for end in shown_sure_range(low, high).split("–")]
    assert ends[0] <= low + 1e-6
    assert ends[1] >= high - 1e-6


def test_sure_range_keeps_a_round_end() -> None:
    assert shown_sure_range(30.0, 45.0000000001) == "30–45"


def test_absent_sure_range_is_blank() -> None:
    line = estimate_table([("palm oil", OIL)], width=100).splitlines()[1]
    assert "8.8–9.9" in line
    assert "├" not in line


@pytest.mark.parametrize("width", [40, 50, 64, 80, 100, 200])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    rows = [("a very long printed name of an ingredient, as some packets have it", FLOUR), ("salt", SALT)]
    text = estimate_table(rows, width=width, notes=["pinned by fat 7 g and the order of the list " * 3, ""])
    assert max(shown_width(line) for line in text.splitlines()) <= width


@given(st.text(max_size=40), st.integers(1, 30))
def test_fitted_is_exactly_as_wide(text: str, width: int) -> None:
    assert shown_width(fitted(text, width)) == width


@given(st.floats(1e-3, 1e5))
def test_axis_holds_the_largest_and_is_not_wasted(largest: float) -> None:
    end = nice_axis_max(largest)
    assert largest <= end * (1 + 1e-6)
    assert end <= largest * 2.0 + 1e-9


def test_heading_rows_have_no_figures() -> None:
    lines = estimate_table([("Shell", None), ("  flour", FLOUR)], width=80).splitlines()
    assert lines[1] == "Shell"


def test_notes_one_per_row() -> None:
    with pytest.raises(ValueError, match="one per row"):
        estimate_table([("flour", FLOUR)], notes=["a", "b"])


def test_text_table() -> None:
    assert text_table(("name", "g"), (("flour", "300"), ("salt", "2")), right=(1,)) == (
        "name     g\nflour  300\nsalt     2"
    )
    with pytest.raises(ValueError, match="2 cells"):
        text_table(("name", "g"), (("flour",),))
