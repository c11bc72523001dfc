"""An open book with all that works on it, for the server and the commands."""

from __future__ import annotations

from dataclasses import dataclass

from batchwright.actions.answers import AnswerDesk
from batchwright.store.book import Book
from batchwright.store.devices import Devices
from batchwright.store.opening import open_engine, shown_place
from batchwright.store.pictures import Pictures


@dataclass(frozen=True, slots=True)
class Opened:
    """A book, who may come in, its pictures, the desk that works answers out; `place` in words, `cups` to choose."""

    book: Book
    devices: Devices
    pictures: Pictures
    answers: AnswerDesk
    place: str
    cups: tuple[str, ...] = ()

    def close(self) -> None:
        """End the desk's workers and close the book."""
        self.answers.close()
        self.book.close()


def opened(url: str = "", workers: int | None = None) -> Opened:
    """Open a book, brought to this version after a backup; see `store.opening.open_engine` for what is refused.

    workers: processes for long work, started when there is some; None for what suits the computer, 0 for none.
    """
    engine = open_engine(url)
    book = Book(engine)
    return Opened(book, Devices(engine), Pictures(engine), AnswerDesk(book, workers), shown_place(engine))
