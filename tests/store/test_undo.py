"""Undo, redo, forks and settling held against a plain list: any order of steps gives what an editor would give."""

from __future__ import annotations

from typing import Any, ClassVar

import pytest
from hypothesis import settings
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule, run_state_machine_as_test
from hypothesis.strategies import data, integers

from batchwright.base.errors import InputError
from batchwright.store.book import Book
from tests.store.test_book import begun


class Steps(RuleBasedStateMachine):
    """For each revision the model keeps an editor's state: what was typed, in order, and how far one stands in it."""

    book: ClassVar[Book]

    def __init__(self) -> None:
        super().__init__()
        _, self.thing_id = begun(self.book)
        root = self.book.heads(self.thing_id)[0].id
        self.state: dict[int, tuple[tuple[int, ...], int]] = {root: ((0,), 0)}
        self.newest = {root}
        self.typed = 0

    def wrote(self, saved: Any, state: tuple[tuple[int, ...], int], gone: set[int]) -> None:
        self.newest = (self.newest - gone) | {saved.revision.id}
        assert saved.revision.id not in self.state
        assert {other.id for other in saved.beside} == self.newest - {saved.revision.id}
        self.state[saved.revision.id] = state

    def typed_after(self, revision_id: int) -> tuple[tuple[int, ...], int]:
        line, at = self.state[revision_id]
        return (*line[: at + 1], self.typed), at + 1

    @rule(choice=data())
    def save(self, choice: Any) -> None:
        ids = sorted(self.state)
        parent = ids[-1 - choice.draw(integers(0, min(3, len(ids) - 1)))]
        self.typed += 1
        saved = self.book.save(self.thing_id, parent, {"n": self.typed}, "Ana")
        self.wrote(saved, self.typed_after(parent), {parent})

    @precondition(lambda self: len(self.newest) == 1)
    @rule(back=integers(0, 1))
    def step(self, back: int) -> None:
        (head,) = self.newest
        line, at = self.state[head]
        move = self.book.undo if back else self.book.redo
        to = at - 1 if back else at + 1
        if 0 <= to < len(line):
            self.wrote(move(self.thing_id, "Ana"), (line, to), {head})
        else:
            with pytest.raises(InputError, match="there is none"):
                move(self.thing_id, "Ana")

    @rule(choice=data(), merged=integers(0, 3))
    def settle(self, choice: Any, merged: int) -> None:
        heads = sorted(self.newest)
        keep = heads[choice.draw(integers(0, len(heads) - 1))]
        if merged == 0:
            self.typed += 1
            saved = self.book.settle(self.thing_id, keep, "Ben", {"n": self.typed})
            state = self.typed_after(keep)
        else:
            saved, state = self.book.settle(self.thing_id, keep, "Ben"), self.state[keep]
        self.wrote(saved, state, self.newest.copy())

    @invariant()
    def all_is_there(self) -> None:
        history = {each.id: each.document["n"] for each in self.book.history(self.thing_id)}
        assert history == {number: line[at] for number, (line, at) in self.state.items()}
        heads = self.book.heads(self.thing_id)
        assert [head.id for head in heads] == sorted(self.newest, reverse=True)


def test_any_steps(book: Book) -> None:
    Steps.book = book
    run_state_machine_as_test(Steps, settings=settings(max_examples=7, stateful_step_count=14, deadline=None))  # type: ignore[no-untyped-call]
