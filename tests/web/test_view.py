"""What the pages say of fields, of what holds a range, and of times."""

from __future__ import annotations

import pytest

from batchwright.formula.fitting.records import Outcome
from batchwright.web.view import field_name, held, miss_words, moment


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


@pytest.mark.parametrize(
    ("outcome", "said"),
    [(Outcome("Filling: salt", "%", 0.0, 0.0791, 0.01, 0.109, 0.0299, True),
      "Filling: salt stays over 0.08\u00a0%, at 0.11\u00a0%. It gave way to all the others."),
     (Outcome("egg (class)", "%", 4.0, 6.0, 2.0, 2.5, 1.5),
      "Egg, as an ingredient stays under 4.0\u00a0%, at 2.5\u00a0%."),
     (Outcome("part: Pastry", "%", None, 60.0, 70.0, 66.0, 6.0), "Pastry stays over 60\u00a0%, at 66\u00a0%.")],
)  # fmt: skip
def test_what_a_fit_could_not_meet_is_said_in_words(outcome: Outcome, said: str) -> None:
    assert miss_words(outcome) == said
