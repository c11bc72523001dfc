"""A picture of a packet: read by a process of its own, checked by the cook, taken over into the original."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Mapping, Sequence
from concurrent.futures import CancelledError, Future, TimeoutError
from importlib.metadata import PackageNotFoundError, version
from threading import Lock
from typing import Any

from batchwright import __version__
from batchwright.actions.answers import AT_ONCE_S
from batchwright.actions.pasted import MOST_PANELS
from batchwright.actions.photo_reading import PhotoReading, can_read
from batchwright.actions.workers import Workers, work_done
from batchwright.base.errors import Fault, InputError
from batchwright.store.book import Book
from batchwright.store.pictures import Pictures
from batchwright.store.records import Picture

MOST_PICTURES = 40  # of one rebuild: every side of a packet several times over
NOT_READ = "Reading it did not succeed. Type the words in beside it, or take it again with more light."
log = logging.getLogger("batchwright.photo")


class PhotoDesk:
    """The pictures of a book and their readings: each is read once, by one worker, and its reading kept."""

    def __init__(self, book: Book, pictures: Pictures, workers: int | None = None) -> None:
        """Open the desk. workers: 0 to read in this process (tests); else one process, started with the first."""
        self.book, self.pictures = book, pictures
        self._workers = None if workers == 0 else Workers(1)
        self._going: dict[str, Future[Any]] = {}
        self._lock = Lock()

    def keep(self, rebuild_id: int, name: str, data: bytes, media_type: str, size_px: tuple[int, int]) -> Picture:
        """Keep a picture, already made anew, with its rebuild; raises InputError where that has MOST_PICTURES."""
        if len(self.pictures.of(rebuild_id)) >= MOST_PICTURES:
            hint = "Begin another rebuild for another packet."
            raise InputError([Fault("picture", name, f"at most {MOST_PICTURES} pictures of a rebuild", hint)])
        return self.pictures.add(rebuild_id, name, data, media_type, size_px)

    def of(self, rebuild_id: int) -> tuple[Picture, ...]:
        """Return a rebuild's pictures, in the order they came, without their bytes."""
        return self.pictures.of(rebuild_id)

    def one(self, picture_id: int) -> tuple[Picture, bytes]:
        """Return a picture and its bytes; raises InputError where the book has none of that number."""
        return self.pictures.one(picture_id)

    def remove(self, rebuild_id: int, picture_id: int, who: str) -> None:
        """Remove a picture of a rebuild for good, and what was read in it; the original's history says so.

        Raises InputError where the rebuild has none of that number.
        """
        picture = next((each for each in self.pictures.of(rebuild_id) if each.id == picture_id), None)
        self.pictures.remove(rebuild_id, picture_id, who, _digest(picture) if picture else "")

    def gone(self, document: Mapping[str, Any]) -> int:
        """Return how many of the pictures that a version of an original was made from were removed since."""
        named = [each for each in document.get("pictures") or () if type(each) is int]
        return len(self.pictures.gone(named)) if named else 0

    def reading(self, picture: Picture, wait_s: float = AT_ONCE_S) -> PhotoReading | None:
        """Return what a picture says, None while it is being read.

        wait_s: how long it may take [s]. Raises InputError, with a sentence, where it cannot be read: the package is
        not installed, or reading failed (asked again, it is tried again).
        """
        digest = _digest(picture)
        kept = self.book.kept_answer(digest)
        if kept is not None:
            return PhotoReading.from_json(kept)
        with self._lock:
            going = self._going.get(digest)
            if going is None:
                going = self._going[digest] = self._asked(picture)
        try:
            found = going.result(wait_s)
        except TimeoutError:
            return None
        except InputError:
            self._forget(digest)
            raise
        except (CancelledError, Exception) as error:  # a worker that was killed, a picture the engine cannot take
            self._forget(digest)
            log.warning("a picture could not be read: %s", type(error).__name__)
            raise InputError([Fault("picture", "", "a picture that can be read", NOT_READ)]) from error
        if not self.pictures.gone([picture.id]):  # removed while it was being read
            self.book.keep_answer(digest, __version__, found)
        self._forget(digest)
        return PhotoReading.from_json(found)

    def close(self) -> None:
        """End the worker."""
        if self._workers is not None:
            self._workers.close()

    def _asked(self, picture: Picture) -> Future[Any]:
        data = self.pictures.one(picture.id)[1]
        if self._workers is not None and can_read():
            return self._workers.ask("", "photo", [data])
        done: Future[Any] = Future()
        try:
            done.set_result(work_done("photo", [data]))
        except Exception as error:  # as from a worker
            done.set_exception(error)
        return done

    def _forget(self, digest: str) -> None:
        with self._lock:
            self._going.pop(digest, None)


def _digest(picture: Picture) -> str:
    """Return the key a reading is kept under: the picture, this program, the engine."""
    try:
        engine = version("rapidocr")
    except PackageNotFoundError:
        engine = ""
    return hashlib.sha256(f"photo {picture.digest} {__version__} {engine}".encode()).hexdigest()


def taken_over(
    document: Mapping[str, Any], listed: str, panels: Sequence[Mapping[str, str]], picture_id: int, add: bool = False
) -> dict[str, Any]:
    """Return an original's document with the words and figures of a picture; what is left empty stays as it was.

    document: the original as the book keeps it. listed: the ingredient list as checked [text]. panels: figures as
    typed, by panel key. picture_id: the picture they are from. add: behind what is there instead of in its place.
    Raises InputError where there is nothing to take over, or more panels than an original has.
    """
    if not listed.strip() and not panels:
        hint = "Type in what the picture shows, or take another picture."
        raise InputError([Fault("label.text", "", "an ingredient list, or a figure of the panel", hint)])
    after = {key: value for key, value in document.items() if key != "panel"}
    before = ([document["panel"]] if document.get("panel") else []) + list(document.get("panels", []))
    if listed.strip():
        label = dict(document.get("label", {}))
        older = str(label.get("text", "")).strip() if add else ""
        after["label"] = {**label, "text": "\n".join(text for text in (older, listed.strip()) if text)}
    joined = [*(before if add or not panels else []), *(dict(panel) for panel in panels)]
    if len(joined) > MOST_PANELS:
        hint = "Put it in place of those that are there, or empty one of them first."
        raise InputError([Fault("add", len(joined), f"at most {MOST_PANELS} panels", hint)])
    if joined:
        after["panels"] = joined
    after["pictures"] = list(dict.fromkeys([*document.get("pictures", []), picture_id]))
    return after
