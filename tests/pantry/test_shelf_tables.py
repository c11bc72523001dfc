"""The shelf's own tables: every name stands as the look-up makes it, every word has one effect."""

from __future__ import annotations

import pytest

from batchwright.base.tables import rows
from batchwright.pantry.ingredient import classes, load_ingredients, profile
from batchwright.pantry.records import Match
from batchwright.pantry.shelf import profile_of
from batchwright.pantry.shelf_codes import additive
from batchwright.pantry.shelf_index import look
from batchwright.pantry.shelf_spelling import distance_within, mended_word
from batchwright.pantry.shelf_words import canonical, words_of


def _called(row: dict[str, str]) -> str:
    return f"{row['kind']}-{row['ingredient'] or row['names'][:20]}"


@pytest.mark.parametrize("row", rows("shelf_names"), ids=_called)
def test_names_are_written_as_looked_up(row: dict[str, str]) -> None:
    names = row["names"].split("; ")
    assert row["kind"] in {"name", "own", "produce", "prefer", "first", "printed"}
    assert len(names) == len(set(names))
    if row["kind"] != "printed":
        for name in names:
            assert canonical(name.replace("%", " percent ")) == name, name
        assert row["ingredient_class"] in classes()


def test_words_have_one_effect() -> None:
    seen: dict[str, str] = {}
    for row in rows("shelf_words"):
        assert row["effect"] in {"none", "head", "role", "changes", "word", "vague"}
        for word in row["words"].split("; "):
            assert seen.setdefault(word, row["effect"]) == row["effect"], word


def test_every_head_gives_a_class_of_the_pantry() -> None:
    for table in ("shelf_heads", "shelf_forms"):
        for row in rows(table):
            assert row["ingredient_class"] in classes(), row


@pytest.mark.parametrize("row", rows("shelf_codes"), ids=lambda row: str(row["code"]))
def test_every_number_leads_to_a_name(row: dict[str, str]) -> None:
    assert look(words_of(row["name"])) is not None, row["name"]
    found = additive(f"E{row['code']}")
    assert found is not None
    assert found[1] == row["code"]


@pytest.mark.parametrize(("one", "other", "most", "near"), [
    ("lecithin", "lecithln", 1, True), ("sugar", "suagr", 1, True), ("pear", "peas", 1, True),
    ("maltose", "lactose", 2, True), ("maltose", "lactose", 1, False), ("salt", "sal", 1, True),
    ("flour", "flower", 1, False), ("", "ab", 2, True), ("", "abc", 2, False),
])
def test_distance_counts_slips(one: str, other: str, most: int, near: bool) -> None:
    assert distance_within(one, other, most) is near
    assert distance_within(other, one, most) is near


@pytest.mark.parametrize(("word", "meant"), [
    ("lecithln", "lecithin"), ("rnaltodextrin", "maltodextrin"), ("gurn", "gum"), ("glucosse", "glucose"),
    ("pear", None), ("goat", None), ("malt", None), ("lactose", None), ("xq", None), ("zzzzzzzz", None),
])
def test_only_unknown_words_are_mended(word: str, meant: str | None) -> None:
    assert mended_word(word) == meant


def test_every_ingredient_is_found_with_its_own_composition() -> None:
    for name, one in load_ingredients().items():
        found = Match(name, "name", name, one.ingredient_class)
        assert profile_of(found).typical == profile(name).typical, name
