"""What the pages say of fields, of what holds a range, and of times."""

from __future__ import annotations

import pytest

from batchwright.web.view import field_name, held, moment


@pytest.mark.parametrize(
    ("field", "name"),
    [("panel0.fat_g", "Panel, fat"), ("panel1.saturated_fat_g", "Panel 2, saturated fat"), ("label.text",
     "The ingredient list"), ("match:sugr", "“sugr”"), ("panel0.serving_g", "Panel, a serving"), ("nothing", "")],
)  # fmt: skip
def test_a_field_is_named_as_on_its_page(field: str, name: str) -> None:
    assert field_name(field) == name


def test_what_holds_a_range_is_said_in_words() -> None:
    assert held("least: weighed: pastry 51 to 63 % of the piece, fat 28 g (panel 2), order, 5 more; most: order") == [
        ("No less, because of", "the weight of the pastry 51 to 63 % of the piece, fat 28 g (panel 2), "
                                "its place in the list and 5 more"),
        ("No more, because of", "its place in the list"),
    ]  # fmt: skip
    assert held("most: sodium 160 mg (panel 2)") == [("No more, because of", "sodium 160 mg (panel 2)")]
    assert held("") == []


def test_a_time_can_be_put_into_that_of_the_kitchen() -> None:
    when = "2026-03-01T10:20:30.000000+00:00"
    assert str(moment(when)) == f'<time datetime="{when}">2026-03-01 10:20 UTC</time>'
