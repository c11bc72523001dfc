"""An open book with all that works on it, for the server and the commands."""

from __future__ import annotations

from dataclasses import dataclass

from batchwright.actions.answers import AnswerDesk
from batchwright.actions.photo import PhotoDesk
from batchwright.pantry.measures_conventions import filling_names
from batchwright.store.book import Book
from batchwright.store.devices import Devices
from batchwright.store.opening import open_engine, shown_place
from batchwright.store.pictures import Pictures


@dataclass(frozen=True, slots=True)
class Opened:
    """A book, who may come in, the desks for answers and for pictures; `place` in words, `cups` to choose."""

    book: Book
    devices: Devices
    pictures: Pictures
    answers: AnswerDesk
    photos: PhotoDesk
    place: str
    cups: tuple[str, ...] = ()

    def close(self) -> None:
        """End the desks' workers and close the book."""
        self.answers.close()
        self.photos.close()
        self.book.close()


def opened(url: str = "", workers: int | None = None) -> Opened:
    """Open a book, brought to this version after a backup; see `store.opening.open_engine` for what is refused.

    workers: processes for long work, started when there is some; None for what suits the computer, 0 for none.
    """
    engine = open_engine(url)
    book, pictures = Book(engine), Pictures(engine)
    answers, photos = AnswerDesk(book, workers), PhotoDesk(book, pictures, workers)
    return Opened(book, Devices(engine), pictures, answers, photos, shown_place(engine), filling_names())
