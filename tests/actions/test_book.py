"""What the pages ask of the book: beginning, saving only what changed, things of their own rebuild."""

from __future__ import annotations

import pytest

from batchwright.actions import book as actions
from batchwright.base.errors import InputError
from batchwright.store.book import Book


def test_a_rebuild_begins_with_what_was_pasted(book: Book) -> None:
    rebuild, room = actions.begin_rebuild(book, "Sugar, wheat flour, palm oil, salt", "Ana")
    assert room == "original"
    assert rebuild.name.startswith("Sugar, ")
    kept = actions.kept_thing(book, rebuild.id, "original")
    assert kept.heads[0].document["label"]["text"] == "Sugar, wheat flour, palm oil, salt"
    assert actions.kept_thing(book, rebuild.id, "brief").heads[0].document == actions.BRIEF
    named, _ = actions.begin_rebuild(book, "", "Ana", "Rye thins")
    assert named.name == "Rye thins"
    assert actions.kept_thing(book, named.id, "original").heads[0].document == {}
    assert actions.listed_rebuilds(book) == (named, rebuild)
    assert actions.listed_rebuilds(book, most=1, skip=1) == (rebuild,)


def test_what_did_not_change_is_not_written(book: Book) -> None:
    rebuild, _ = actions.begin_rebuild(book, "", "Ana", "Rye thins")
    kept = actions.kept_thing(book, rebuild.id, "original")
    head = kept.heads[0]
    assert actions.save_thing(book, kept.thing.id, head.id, {}, "Ana").revision == head
    changed = actions.save_thing(book, kept.thing.id, head.id, {"label": {"text": "Rye"}}, "Ana").revision
    actions.save_thing(book, kept.thing.id, head.id, {}, "Ben")
    assert len(actions.history_of(book, kept.thing.id)) == 3, "an old page sent again is another's words, and kept"
    settled = actions.settle_thing(book, kept.thing.id, changed.id, "Ana")
    assert actions.kept_thing(book, rebuild.id, "original").heads == (settled.revision,)
    assert actions.step_back(book, kept.thing.id, "Ana").revision.document == {}
    assert actions.step_forward(book, kept.thing.id, "Ana").revision.document == {"label": {"text": "Rye"}}


def test_a_thing_is_asked_for_in_its_own_rebuild(book: Book) -> None:
    mine, _ = actions.begin_rebuild(book, "", "Ana", "Rye thins")
    other, _ = actions.begin_rebuild(book, "", "Ana", "Oat slab")
    formula = actions.new_thing(book, mine.id, "formula", "First", {"n": 1}, "Ana").revision
    assert actions.thing_of(book, mine.id, formula.thing_id).heads[0] == formula
    with pytest.raises(InputError, match="of this rebuild"):
        actions.thing_of(book, other.id, formula.thing_id)
    assert [kept.heads for kept in actions.things_of(book, mine.id, "formula")] == [(formula,)]
    actions.remove_thing(book, formula.thing_id)
    assert actions.things_of(book, mine.id, "formula") == ()
    with pytest.raises(InputError):
        actions.kept_thing(book, 99, "original")


def test_a_rebuild_is_renamed_and_set_aside(book: Book) -> None:
    rebuild, _ = actions.begin_rebuild(book, "", "Ana", "Rye thins")
    actions.change_rebuild(book, rebuild.id, {"name": "Rye, salted"}, "Ana")
    assert actions.the_rebuild(book, rebuild.id).name == "Rye, salted"
    actions.change_rebuild(book, rebuild.id, {"name": " ", "set_aside": "yes"}, "Ana")
    assert actions.listed_rebuilds(book) == ()
    assert actions.listed_rebuilds(book, set_aside=True)[0].name == "Rye, salted"
    actions.change_rebuild(book, rebuild.id, {"set_aside": "no"}, "Ana")
    assert len(actions.listed_rebuilds(book)) == 1
