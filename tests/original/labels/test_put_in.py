"""Brackets that name only what was put into an ingredient leave the ingredient itself an unknown."""

from __future__ import annotations

import pytest

from batchwright.original.labels.file import label_from_mapping
from batchwright.original.labels.label import assemble


def _leaves(statement: str) -> list[tuple[str, ...]]:
    return [leaf.path for leaf in assemble(label_from_mapping({"statement": statement})).tree.leaves]


@pytest.mark.parametrize(
    ("printed", "head"),
    [
        ("cream (contains thickeners (407, 415))", "cream"),
        ("lemon juice (contains preservative (202))", "lemon juice"),
        ("chicken (contains salt, stabiliser (451))", "chicken"),
        ("dates (rice flour)", "dates"),
        ("banana chips (coconut oil, sugar)", "banana chips"),
        ("salt (anti-caking agent (535))", "salt"),
        ("enriched wheat flour (niacin, reduced iron, thiamine mononitrate)", "enriched wheat flour"),
    ],
)
def test_what_was_put_in_does_not_stand_for_the_thing(printed: str, head: str) -> None:
    found = _leaves(f"{printed}, water")
    assert found[0] == (head, head)


@pytest.mark.parametrize(
    "printed",
    [
        "sugar (glucose, fructose)",
        "milk chocolate (sugar, cocoa butter, milk powder)",
        "seasoning (salt, sugar, paprika)",
        "liquid sugar (sugar, water)",
        "pasta (durum wheat semolina, water)",
    ],
)
def test_a_list_of_what_it_is_made_of_stays_a_list(printed: str) -> None:
    head = printed.split(" (")[0]
    assert (head, head) not in _leaves(f"{printed}, water")


def test_made_from_is_where_it_comes_from() -> None:
    """Milk from milk solids is listed, and weighed, as the milk it was made into again."""
    assert _leaves("milk (from milk solids), water, tomatoes (from tomato paste)") == [
        ("milk",),
        ("water",),
        ("tomatoes",),
    ]
