"""The one picture of an estimate: places on its axis, its words, its two kinds."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from batchwright.base.estimate import Estimate
from batchwright.web.ranges import axis_svg, ghost_svg, range_svg, range_words

SUGAR = Estimate(24.0, 19.0, 30.0, 12.0, 41.0)


def numbers(svg: str, tag: str, name: str) -> list[float]:
    return [float(each.get(name, "").rstrip("%")) for each in ElementTree.fromstring(svg).iter(tag)
            if each.get(name, "").endswith("%")]  # fmt: skip


def test_places() -> None:
    svg = range_svg("sugar", SUGAR, 50.0)
    assert numbers(svg, "circle", "cx") == [48.0]
    assert numbers(svg, "rect", "x") + numbers(svg, "rect", "width") == [38.0, 22.0]
    assert sorted({*numbers(svg, "line", "x1"), *numbers(svg, "line", "x2")}) == [24.0, 82.0, 100.0]


def test_words() -> None:
    assert range_words("sugar", SUGAR) == "sugar: likely 24 %, between 19 and 30; surely 12 to 41"
    assert range_words("salt", Estimate(2.0, 2.0, 2.0)) == "salt: likely 2.00 %"
    assert 'aria-label="sugar: likely 24 %' in range_svg("sugar", SUGAR, 50.0)


def test_the_two_kinds_differ_in_shape() -> None:
    assert 'class="range original"' in range_svg("sugar", SUGAR, 50.0)
    assert 'class="range ours"' in range_svg("sugar", SUGAR, 50.0, ours=True)


def test_names_are_escaped() -> None:
    svg = range_svg('"><script>', SUGAR, 50.0)
    assert "<script>" not in svg
    ElementTree.fromstring(svg)


@given(
    st.lists(st.floats(-10, 1e4), min_size=5, max_size=5).map(sorted), st.floats(0.01, 1e4)
)
def test_any_range_stays_on_its_axis(ends: list[float], axis_max: float) -> None:
    sure_low, low, likely, high, sure_high = ends
    svg = range_svg("x", Estimate(likely, low, high, sure_low, sure_high), axis_max)
    for place in re.findall(r'(?:x|x1|x2|cx)="(-?[\d.]+)%?"', svg):
        assert 0.0 <= float(place) <= 100.0


def test_axis_and_ghost() -> None:
    assert [each.text for each in ElementTree.fromstring(axis_svg(40)).iter("text")] == ["0", "20", "40 %"]
    ghost = ghost_svg(10, 20, 30)
    assert "aria-hidden" in ghost
    assert "aria-label" not in ghost
    ElementTree.fromstring(ghost)
