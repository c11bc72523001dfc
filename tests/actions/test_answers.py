"""The desk of answers: worked out once, kept, by workers; the newest question of a page first."""

from __future__ import annotations

import json
import os
import signal
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from batchwright.actions import answers as desk_module
from batchwright.actions.answers import AnswerDesk, own_tables, work_digest
from batchwright.actions.bench import band_from_json, bench_rows, formula_of, pasted_document
from batchwright.actions.compare import Wishes, compare_formulas
from batchwright.actions.demo import FOOD, RECIPES, demo_text
from batchwright.actions.fit import Asked, rules_of
from batchwright.actions.measures import measures_text
from batchwright.actions.original import decode_file
from batchwright.actions.plain_records import from_plain, to_plain
from batchwright.actions.workers import Workers
from batchwright.actions.writeup import make_card
from batchwright.base.errors import Fault, InputError
from batchwright.formula.fitting.toward import fit_toward
from batchwright.store.book import Book
from batchwright.store.opening import open_engine

LABEL = {"label": {"text": "Ingredients: wheat flour, sugar, butter, salt."}}
PATIENCE_S = 120.0  # workers begin by importing; the test machine may be slow and busy


@pytest.fixture
def desk(file_book: Book) -> AnswerDesk:
    """A desk that works in this process."""
    return AnswerDesk(file_book, workers=0)


@pytest.fixture
def file_book(file_place: str) -> Iterator[Book]:
    book = Book(open_engine(file_place))
    yield book
    book.close()


@pytest.fixture
def workers() -> Iterator[Workers]:
    made = Workers(1)
    yield made
    made.close()


def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Count what is worked out in this process."""
    done: list[str] = []
    work_done = desk_module.work_done

    def work(work: str, given: Any) -> Any:
        done.append(work)
        return work_done(work, given)

    monkeypatch.setattr(desk_module, "work_done", work)
    return done


def test_an_answer_is_worked_out_once_and_kept(desk: AnswerDesk, file_book: Book,
                                               monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    done = counted(monkeypatch)
    assert desk.kept(LABEL) is None
    first = desk.of(LABEL)
    assert desk.of({**LABEL, "pictures": [3], "notes": "nice"}) == first == desk.kept(LABEL)
    assert AnswerDesk(file_book, workers=0).within(LABEL) == first
    assert done == ["answer"]
    assert desk.of(LABEL, "500g-flour")["answer"]["mix"] != first["answer"]["mix"]
    desk.of({"label": {"text": LABEL["label"]["text"] + " Cocoa."}})
    assert done == ["answer"] * 3


def test_the_digest_changes_with_what_the_answer_rests_on(monkeypatch: pytest.MonkeyPatch) -> None:
    given = [own_tables(LABEL), ""]
    first = work_digest("answer", given)
    assert work_digest("answer", [own_tables({**LABEL, "food": {}}), ""]) == first  # an empty table says nothing
    assert work_digest("compare", given) != first
    assert work_digest("answer", [{**own_tables(LABEL), "food": {"baked": True}}, ""]) != first
    monkeypatch.setattr(desk_module, "tables_digest", lambda: "other figures")
    assert work_digest("answer", given) != first
    monkeypatch.undo()
    monkeypatch.setattr(desk_module, "__version__", "9.9.9")
    assert work_digest("answer", given) != first


def test_the_answer_is_that_of_the_command_line(desk: AnswerDesk) -> None:
    text = demo_text(f"{FOOD}.toml")
    direct, kept = decode_file(text).to_json(), desk.of(tomllib.loads(text))["answer"]
    assert {key: value for key, value in kept.items() if key != "seconds"} == {
        key: value for key, value in direct.items() if key != "seconds"}  # fmt: skip


def test_what_is_kept_of_recipes_is_what_was_worked_out(desk: AnswerDesk) -> None:
    """Comparison, moves, fit, cups and card come out of the book equal to the last digit, as without a desk."""
    documents = [pasted_document(demo_text(name)) for name in RECIPES]
    band = desk.of(tomllib.loads(demo_text(f"{FOOD}.toml")))["band"]
    locks = [bench_rows(documents[0])[1][0].item]
    for moves in (0, 3):
        formulas = [formula_of(each) for each in documents]
        direct = compare_formulas(band_from_json(band), formulas, Wishes(moves, tuple(locks)))
        for _ in ("worked out", "kept"):
            assert desk.compared(band, documents, locks, moves=moves) == direct
    recipe = documents[0] | {"locks": locks}
    text = formula_of(recipe)
    assert from_plain(type(text), to_plain(text)) == text
    direct_fit = fit_toward(text, band_from_json(band), rules_of(Asked(locks=tuple(locks))))
    kept_fit = desk.fitted(recipe, band)
    assert to_plain(kept_fit) | {"seconds": 0} == to_plain(direct_fit) | {"seconds": 0}
    assert desk.fitted(recipe, band) == kept_fit
    plain = demo_text(RECIPES[0])
    for _ in ("worked out", "kept"):
        assert desk.writing(recipe).to_json() == measures_text(_json(recipe)).to_json()
        assert desk.card(recipe).to_json() == make_card(_json(recipe)).to_json()
    assert desk.card(recipe).name == make_card(plain).name


def _json(document: dict[str, Any]) -> str:
    return json.dumps(formula_of(document).to_json())


def test_faults_are_told_and_not_worked_out_again(desk: AnswerDesk, monkeypatch: pytest.MonkeyPatch) -> None:
    done = counted(monkeypatch)
    faulty = {**LABEL, "panels": [{"basis": "per 100 g", "fat_g": "a dog", "sugars_g": "a cat"}]}
    for _ in range(3):
        with pytest.raises(InputError) as caught:
            desk.of(faulty)
        assert [fault.value for fault in caught.value.faults] == ["a dog", "a cat"]
    assert done == ["answer"]


def test_an_answer_that_cannot_be_kept_is_given_all_the_same(desk: AnswerDesk, file_book: Book,
                                                             monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    def full(*_: object) -> None:
        raise InputError([Fault("book", "book.sqlite", "a disk with room on it")])

    monkeypatch.setattr(file_book, "keep_answer", full)
    assert desk.of(LABEL)["sentence"]
    assert desk.kept(LABEL) is None


def waiting_until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end, "it took too long"
        time.sleep(0.02)


def test_a_worker_gives_the_same_digits_and_its_faults_whole(file_book: Book) -> None:
    """One real worker: late answers are None and come later; equal questions are one; faults keep their fields."""
    desk = AnswerDesk(file_book, workers=1)
    try:
        assert desk.within(LABEL, 0.0, "page") is None  # nothing is worked out in no time
        assert desk.within(LABEL, 0.0, "page") is None
        found = desk.of(LABEL, page="another page")
        inline = AnswerDesk(file_book, workers=0)
        assert {**found["answer"], "seconds": 0} == {**_worked(LABEL), "seconds": 0}
        waiting_until(lambda: desk.kept(LABEL) == found)
        assert desk.within(LABEL, 0.0) == found == inline.within(LABEL)
        with pytest.raises(InputError) as caught:
            desk.of({**LABEL, "panels": [{"fat_g": "a dog"}]})
        assert [(fault.field, fault.value) for fault in caught.value.faults] == [("fat_g", "a dog")]
    finally:
        desk.close()


def _worked(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = desk_module.work_done("answer", [own_tables(document), ""])["answer"]
    return found


def test_a_worker_that_is_killed_is_replaced(file_book: Book) -> None:
    desk = AnswerDesk(file_book, workers=1)
    try:
        desk.of(LABEL)
        assert desk._workers is not None
        assert desk._workers._pool is not None
        for process in list(desk._workers._pool._processes.values()):
            os.kill(process.pid, signal.SIGKILL)
        assert desk.of({"label": {"text": "Ingredients: oats, honey."}})["sentence"]
    finally:
        desk.close()


def blocked(monkeypatch: pytest.MonkeyPatch, workers: Workers) -> tuple[list[Any], threading.Event]:
    """Let work be done by a thread that waits for a sign, and note in which order it is taken up."""
    taken: list[Any] = []
    sign = threading.Event()

    def do(work: str, given: Any) -> Any:
        taken.append(given)
        assert sign.wait(PATIENCE_S)
        return given

    pool: Any = ThreadPoolExecutor(1)
    workers._pool = pool
    monkeypatch.setattr("batchwright.actions.workers.work_done", do)
    return taken, sign


def test_the_newest_question_of_a_page_takes_the_place_of_one_that_waits(
    workers: Workers, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken, sign = blocked(monkeypatch, workers)
    running = workers.ask("page 1", "answer", [0])
    waiting_until(lambda: taken == [[0]])
    older = [workers.ask("page 1", "answer", [number]) for number in (1, 2, 3)]
    other = workers.ask("page 2", "answer", [4])
    another_work = workers.ask("page 1", "compare", [5])
    nobodys = [workers.ask("", "answer", [6]), workers.ask("", "answer", [7])]
    newest = workers.ask("page 1", "answer", [8])
    assert all(future.cancelled() for future in older)
    sign.set()
    futures = [running, other, another_work, *nobodys, newest]
    assert [future.result(PATIENCE_S) for future in futures] == [[0], [4], [5], [6], [7], [8]]
    assert taken == [[0], [4], [5], [6], [7], [8]]


def test_what_waits_when_the_desk_closes_is_cancelled(workers: Workers, monkeypatch: pytest.MonkeyPatch) -> None:
    taken, sign = blocked(monkeypatch, workers)
    workers.ask("", "answer", [0])
    waiting_until(lambda: taken == [[0]])
    late = workers.ask("", "answer", [1])
    workers.close()
    sign.set()
    assert late.cancelled()
    assert workers.ask("", "answer", [2]).cancelled()


