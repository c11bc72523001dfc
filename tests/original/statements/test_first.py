"""A statement read end to end: the plainest promises of the reader."""

from __future__ import annotations

from batchwright.original.statements.records import Statement
from batchwright.original.statements.statement import read_statement


def test_nested_list_with_group_and_trailer() -> None:
    read = read_statement(
        "Ingredients: plum filling (plums 40%, sugar, gelling agent (E440)), wheat flour, rye fat, "
        "contains 1.5% or less of: salt, yeast. Contains: wheat."
    )
    assert [item.name for item in read.ingredients] == ["plum filling", "wheat flour", "rye fat", "salt", "yeast"]
    assert read.ingredients[0].children[0].percent == 40
    assert read.ingredients[0].children[2].children[0].e_number == "E440"
    assert [item.max_percent for item in read.ingredients] == [None, None, None, 1.5, 1.5]
    assert read.contains == ("wheat",)
    assert read.uncovered() == []
    assert Statement.from_json(read.to_json()) == read
