"""Rebuilds, things and revisions: what was kept is given back; two people both keep their words."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.store import book as book_module
from batchwright.store.book import Book
from batchwright.store.checking import check_book, counted

JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**30), 10**30) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec=None)),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(st.characters(codec=None)), inner, max_size=4),
    max_leaves=15,
)  # fmt: skip
DOCUMENTS = st.dictionaries(st.text(st.characters(codec=None)), JSON, max_size=5)


def begun(book: Book, name: str = "Oat slab") -> tuple[int, int]:
    """Return the numbers of a new rebuild and of the one formula in it."""
    rebuild = book.new_rebuild(name, [("formula", "First mix", {"n": 0})], "Ana")
    return rebuild.id, book.things(rebuild.id)[0].id


def all_faults(asked: Callable[[], Any]) -> str:
    with pytest.raises(InputError) as caught:
        asked()
    return str(caught.value)


def test_a_rebuild_is_listed_renamed_and_set_aside(book: Book) -> None:
    first, _ = begun(book, "Oat slab")
    second, _ = begun(book, "Rye thins")
    assert [each.name for each in book.rebuilds()] == ["Rye thins", "Oat slab"]
    book.rename_rebuild(first, "  Oat \n slab\0 with quince ")
    assert [each.name for each in book.rebuilds()] == ["Oat slab with quince", "Rye thins"]
    book.set_rebuild_aside(first, True)
    assert [each.id for each in book.rebuilds()] == [second]
    assert [each.id for each in book.rebuilds(set_aside=True)] == [first]
    assert book.rebuild(first).set_aside
    book.set_rebuild_aside(first, False)
    assert book.rebuild(first).made <= book.rebuild(first).changed


@pytest.mark.parametrize("name", ["", "  \n", "\0", "\ud800"])
def test_a_name_needs_a_letter(book: Book, name: str) -> None:
    rebuild_id, thing_id = begun(book)
    assert "name" in all_faults(lambda: book.rename_rebuild(rebuild_id, name))
    assert "name" in all_faults(lambda: book.rename_thing(thing_id, name))
    assert book.rebuild(rebuild_id).name == "Oat slab"


@pytest.mark.parametrize("number", [0, -1, 999, 2**31, 10**30])
def test_a_number_that_is_not_there_is_a_fault(book: Book, number: int) -> None:
    _, thing_id = begun(book)
    for asked in (book.rebuild, book.thing, book.heads, book.freeze,
                  lambda n: book.rename_rebuild(n, "x"), lambda n: book.rename_thing(n, "x"),
                  lambda n: book.new_thing(n, "formula", "x", {}, "Ana"), lambda n: book.save(n, None, {}, "Ana"),
                  lambda n: book.save(thing_id, n, {}, "Ana"), lambda n: book.settle(thing_id, n, "Ana"),
                  lambda n: book.undo(n, "Ana")):  # fmt: skip
        assert str(number)[:20] in all_faults(lambda asked=asked: asked(number))  # type: ignore[misc]
    assert counted(book.engine) == {"rebuild": 1, "thing": 1, "revision": 1, "picture": 0, "answer": 0}


def test_things_are_kept_apart_by_kind_and_taken_off_without_loss(book: Book) -> None:
    rebuild_id, first = begun(book)
    other, _ = begun(book, "Rye thins")
    second = book.new_thing(rebuild_id, "formula", "Second mix", {"n": 5}, "Ana").revision.thing_id
    book.new_thing(rebuild_id, "brief", "Brief", {}, "Ana")
    assert [each.name for each in book.things(rebuild_id, "formula")] == ["First mix", "Second mix"]
    assert len(book.things(rebuild_id)) == 3
    assert book.rebuilds()[0].id == rebuild_id, "what was changed last stands first"
    book.rename_thing(first, "Mix of March")
    book.remove_thing(second)
    assert [each.name for each in book.things(rebuild_id, "formula")] == ["Mix of March"]
    assert book.thing(second).name == "Second mix"
    assert book.heads(second)[0].document == {"n": 5}
    book.remove_thing(second, removed=False)
    assert len(book.things(rebuild_id, "formula")) == 2
    assert "kind" in all_faults(lambda: book.new_thing(other, "poem", "x", {}, "Ana"))


def test_things_with_heads_is_things_and_heads(book: Book) -> None:
    rebuild_id, first = begun(book)
    root = book.heads(first)[0].id
    second = book.new_thing(rebuild_id, "formula", "Second", {"n": 5}, "Ana").revision.thing_id
    book.remove_thing(book.new_thing(rebuild_id, "formula", "Off", {}, "Ana").revision.thing_id)
    book.new_thing(rebuild_id, "brief", "Brief", {}, "Ana")
    book.save(first, root, {"n": 1}, "Ana")
    book.save(first, root, {"n": 2}, "Ben")
    book.save(second, None, {"n": 6}, "Ana")
    for kind in ("", "formula", "brief", "original"):
        expected = tuple((thing, book.heads(thing.id)) for thing in book.things(rebuild_id, kind))
        assert book.things_with_heads(rebuild_id, kind) == expected
    assert len(book.things_with_heads(rebuild_id, "formula")[0][1]) == 2


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(document=DOCUMENTS)
def test_any_document_comes_back_as_it_was(book: Book, document: dict[str, Any]) -> None:
    thing_id = book.things(1)[0].id if book.rebuilds() else begun(book)[1]
    saved = book.save(thing_id, None, document, "Ana")
    assert saved.revision.document == document
    (head,) = book.heads(thing_id)
    assert head.document == document
    assert list(head.document) == list(document)
    assert book.history(thing_id)[0] == head


@pytest.mark.parametrize("document", [{"a": float("nan")}, {"a": {1, 2}}, {"a": b"x"}, {(1, 2): 3}])
def test_what_json_lacks_is_refused_and_nothing_written(book: Book, document: dict[str, Any]) -> None:
    _, thing_id = begun(book)
    assert "JSON" in all_faults(lambda: book.save(thing_id, None, document, "Ana"))
    deep: dict[str, Any] = {}
    for _ in range(5_000):
        deep = {"in": deep}
    assert "JSON" in all_faults(lambda: book.save(thing_id, None, deep, "Ana"))
    assert len(book.history(thing_id)) == 1


def test_two_people_saving_the_same_thing_both_keep_their_words(book: Book) -> None:
    _, thing_id = begun(book)
    seen = book.heads(thing_id)[0].id
    ana = book.save(thing_id, seen, {"by": "Ana"}, "Ana")
    ben = book.save(thing_id, seen, {"by": "Ben"}, "Ben")
    assert ana.beside == ()
    assert ben.beside == (ana.revision,)
    assert [head.document["by"] for head in book.heads(thing_id)] == ["Ben", "Ana"]
    assert "one newest version" in all_faults(lambda: book.undo(thing_id, "Ana"))
    settled = book.settle(thing_id, ana.revision.id, "Ana")
    assert settled.beside == ()
    assert book.heads(thing_id) == (settled.revision,)
    assert settled.revision.document == {"by": "Ana"}
    assert {each.document.get("by") for each in book.history(thing_id)} == {"Ana", "Ben", None}
    assert book.undo(thing_id, "Ana").revision.document == {"n": 0}, "settling is no step of its own"


def test_words_merged_from_both_take_the_place_of_both(book: Book) -> None:
    _, thing_id = begun(book)
    seen = book.heads(thing_id)[0].id
    ana = book.save(thing_id, seen, {"by": "Ana"}, "Ana")
    book.save(thing_id, seen, {"by": "Ben"}, "Ben")
    book.settle(thing_id, ana.revision.id, "Ana", {"by": "both"})
    assert [head.document for head in book.heads(thing_id)] == [{"by": "both"}]
    assert book.undo(thing_id, "Ana").revision.document == {"by": "Ana"}


def test_what_was_saved_while_one_chose_stays_beside_the_choice(book: Book) -> None:
    _, thing_id = begun(book)
    root = book.heads(thing_id)[0].id
    book.save(thing_id, root, {"by": "Ana"}, "Ana")
    book.save(thing_id, root, {"by": "Ben"}, "Ben")
    seen = [head.id for head in book.heads(thing_id)]
    later = book.save(thing_id, seen[0], {"by": "Ben, later"}, "Ben")
    settled = book.settle(thing_id, seen[1], "Ana", seen_ids=seen)
    assert settled.beside == (later.revision,)
    assert len(book.heads(thing_id)) == 2


def test_a_save_sent_twice_is_one_but_other_words_are_another(book: Book) -> None:
    _, thing_id = begun(book)
    seen = book.heads(thing_id)[0].id
    first = book.save(thing_id, seen, {"n": 1}, "Ana", key="k" * 100)
    assert book.save(thing_id, seen, {"n": 1}, "Ana", key="k" * 100) == first
    later = book.save(thing_id, first.revision.id, {"n": 2}, "Ana", key="other")
    again = book.save(thing_id, seen, {"n": 1}, "Ana", key="k" * 100)
    assert again.revision.id == first.revision.id
    assert again.beside == (later.revision,)
    assert len(book.history(thing_id)) == 3
    book.save(thing_id, later.revision.id, {"n": 3}, "Ana", key="k" * 100)
    assert [each.document["n"] for each in book.history(thing_id)] == [3, 2, 1, 0]


def test_without_a_parent_a_save_follows_the_newest(book: Book) -> None:
    _, thing_id = begun(book)
    for n in (1, 2):
        assert book.save(thing_id, None, {"n": n}, "Ana").beside == ()
    assert [each.parent_id for each in book.history(thing_id)] == [each.id for each in book.history(thing_id)[1:]] + [
        None]  # fmt: skip


def test_a_frozen_revision_stays_and_work_goes_on(book: Book) -> None:
    _, thing_id = begun(book)
    used = book.save(thing_id, None, {"n": 1}, "Ana").revision
    book.freeze(used.id)
    book.save(thing_id, used.id, {"n": 2}, "Ana")
    book.undo(thing_id, "Ana")
    kept = {each.id: each for each in book.history(thing_id)}[used.id]
    assert kept.frozen
    assert kept.document == {"n": 1}
    assert [each.frozen for each in book.history(thing_id)] == [False, False, True, False]


def test_a_parent_of_another_thing_is_refused(book: Book) -> None:
    rebuild_id, thing_id = begun(book)
    other = book.new_thing(rebuild_id, "formula", "Second", {}, "Ana").revision
    assert "revision" in all_faults(lambda: book.save(thing_id, other.id, {"n": 1}, "Ana"))
    assert len(book.heads(thing_id)) == 1


def test_an_answer_is_kept_once(book: Book) -> None:
    assert book.kept_answer("a" * 64) is None
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda n: book.keep_answer("a" * 64, "1", {"n": n}), range(8)))
    assert book.kept_answer("a" * 64) in [{"n": n} for n in range(8)]
    assert counted(book.engine)["answer"] == 1


def test_old_answers_go_but_not_those_a_revision_cites(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    _, thing_id = begun(book)
    monkeypatch.setattr(book_module, "MOST_ANSWERS", 3)
    book.keep_answer("cited", "1", {}, book.heads(thing_id)[0].id)
    for n in range(6):
        book.keep_answer(f"{n}", "1", {"n": n})
    kept = [name for name in ("cited", *map(str, range(6))) if book.kept_answer(name) is not None]
    assert kept == ["cited", "3", "4", "5"]


def test_twenty_at_once_lose_nothing(book: Book) -> None:
    """Twenty clients, each saving four times into its own thing and into one thing of all; 0 errors, 0 lost."""
    clients, times = 20, 4
    rebuild_id, shared = begun(book)
    own = [book.new_thing(rebuild_id, "formula", f"of {n}", {"n": -1}, "x").revision.thing_id for n in range(clients)]
    root = book.heads(shared)[0].id
    begin = threading.Barrier(clients)

    def work(client: int) -> list[int]:
        begin.wait()
        made = []
        for n in range(times):
            made.append(book.save(own[client], None, {"n": n}, f"{client}").revision.id)
            made.append(book.save(shared, root, {"client": client, "n": n}, f"{client}").revision.id)
        return made

    with ThreadPoolExecutor(clients) as pool:
        made = [number for numbers in pool.map(work, range(clients)) for number in numbers]
    assert len(set(made)) == 2 * clients * times
    for client in range(clients):
        assert [each.document["n"] for each in book.history(own[client])] == [*reversed(range(times)), -1]
    words = {(head.document["client"], head.document["n"]) for head in book.heads(shared)}
    assert words == {(client, n) for client in range(clients) for n in range(times)}
    assert check_book(book.engine)[1] == ()


def test_all_settling_at_once_is_no_error(book: Book) -> None:
    _, thing_id = begun(book)
    root = book.heads(thing_id)[0].id
    ids = [book.save(thing_id, root, {"n": n}, "x").revision.id for n in range(8)]
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda keep: book.settle(thing_id, keep, "x"), ids))
    assert len(book.heads(thing_id)) == 1
    assert len(book.history(thing_id)) == 17
    assert check_book(book.engine)[1] == ()
