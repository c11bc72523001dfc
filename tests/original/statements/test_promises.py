"""What the reader promises of any text: it answers, it loses nothing, it is quick, and a text too long is refused."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.original.statements.records import Statement
from batchwright.original.statements.statement import LONGEST, read_statement
from tests.clock import within

PIECES = st.sampled_from(
    [
        "sugar",
        "salt",
        "palm",
        "rye flour",
        "E471",
        "500",
        "emulsifier",
        "raising agents",
        "contains 2% or less of",
        "less than 1% of",
        "and/or",
        "and",
        "or",
        "with",
        "one or more of",
        "may contain",
        "contains",
        "milk",
        "wheat",
        "12%",
        "0,5 %",
        "min. 30%",
        "(",
        ")",
        "[",
        "]",
        "{",
        "}",
        ",",
        ";",
        ":",
        ".",
        "\n",
        "*",
        "**",
        "_",
        "†",
        "-",
        "–",
        "•",
        "/",
        "&",
        "&amp;",
        "&lt;",
        "Ã©",
        "<b>",
        "</b>",
        "to preserve freshness",
        "an emulsifier",
        "Filling:",
        "Ingredients:",
        "made on equipment that",
        "cocoa solids: 30% minimum",
        "*organic",
        "S. thermophilus",
        "vitamin C",
        "yellow 5",
        "0il",
        "wheatflour",
        "100%",
        "in varying proportions",
        "soy",
        "natural and artificial flavors",
        "°/o",
        "'",
        '"',
        "é",
        "日本",
        "😀",
        "\x1e",
        "\x00",
        "\xad",
        "\u200b",
        "1/2 of 1%",
    ]
)
TEXTS = st.lists(PIECES, max_size=40).flatmap(
    lambda pieces: st.lists(st.sampled_from(["", " ", "  "]), min_size=len(pieces), max_size=len(pieces)).map(
        lambda blanks: "".join(piece + blank for piece, blank in zip(pieces, blanks, strict=True))
    )
)


def check(text: str) -> None:
    read = read_statement(text)
    assert read.uncovered() == []
    for item in read.walk():
        assert 0 <= item.start <= item.end <= len(text)
        for start, end, _ in item.spans:
            assert 0 <= start <= end <= len(text)
        for child in item.children:
            assert item.start <= child.start
            assert child.end <= item.end
    for repair in read.repairs:
        assert 0 <= repair.start <= repair.end <= len(text)
    assert Statement.from_json(json.loads(json.dumps(read.to_json()))) == read


@given(TEXTS)
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_list_like_texts_lose_nothing(text: str) -> None:
    check(text)


@given(st.text(max_size=200))
@settings(max_examples=200, deadline=None)
def test_any_text_loses_nothing(text: str) -> None:
    check(text)


def test_a_lost_word_is_seen() -> None:
    read = read_statement("rye flour, salt")
    shorter = Statement(read.text, read.ingredients[:1], repairs=read.repairs)
    assert shorter.uncovered() == [(11, 15)]


def test_words_of_names_stand_in_the_names() -> None:
    text = "Plum cake (plums 40%, rye flour, butter (cream, salt)), honey, contains 2% or less of: cinnamon."
    for item in read_statement(text).walk():
        start, end = item.name_span
        assert text[start:end].lower() == item.name


HOSTILE = [
    "(", ")", "()", "(a", "(a,", "[(", ",", " ", "\n", "a", "a ", "and ", "a/b/", ". contains ",
    "2% or less of ", "less than ", "1,", "1.", "a 1% ", "a*, ", ".*a ", "**a", "_a", "<b>", "&amp;", "-a\n",
    "E471, ", "a: ", "emulsifier: ", "may contain ", "(a) b ", "a with b ", "cocoa solids ", "one or more of ",
    "palm or shea oil, ", "emulsifier (", "Ã¢", "S. ", "oil (palm, sugar, ", "\u200b",
    "a for b to preserve freshness ", "organic, ", "made on equipment that ", "wheat", "0i1l5",
]  # fmt: skip


@pytest.mark.parametrize("piece", HOSTILE)
def test_longest_text_is_read_within_two_seconds(piece: str) -> None:
    text = (piece * (LONGEST // len(piece) + 1))[:LONGEST]
    with within(2.0):
        read = read_statement(text)
    assert read.uncovered() == []


def test_a_megabyte_is_refused_at_once() -> None:
    with within(0.1), pytest.raises(InputError) as refusal:
        read_statement("sugar, " * 150_000)
    assert refusal.value.faults[0].field == "statement"


def test_four_hundred_items_are_read_quickly() -> None:
    text = ", ".join(f"spice blend {number} (salt, garlic powder, lovage {number})" for number in range(400))
    with within(2.0):
        read = read_statement(text)
    assert len(read.ingredients) == 400
    assert sum(1 for _ in read.leaves()) == 1200


def test_a_name_right_as_printed_is_not_mended() -> None:
    text = "wheat f1our, 5alt, sugar (palm oil, 5alt"
    mended, right = read_statement(text), read_statement(text, ("5alt",))
    assert [leaf.item.name for leaf in mended.leaves()].count("salt") == 2
    assert [leaf.item.name for leaf in right.leaves()].count("5alt") == 2
    assert {repair.kind for repair in mended.repairs} == {"letters read wrong", "bracket closed"}
    assert [repair.before for repair in right.repairs] == ["wheat f1our", ""]  # what else is mended stays mended
    assert right.uncovered() == []
