"""A picture of a packet: read once, kept, taken over; one small label goes through the engine itself."""

from __future__ import annotations

import io
import subprocess
import sys
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw, ImageFont

from batchwright.actions import photo_reading
from batchwright.actions.opened import Opened, opened
from batchwright.actions.photo import taken_over
from batchwright.actions.photo_reading import PhotoReading, reading_of
from batchwright.base.errors import InputError
from batchwright.store.records import Picture

READING = PhotoReading("Ingredients: salt.", "Salt 99 g", ({"salt_g": "99"},), ("salt.",), ((1, 2, 3, 4),))
LABEL = ("Ingredients: rye flour, honey, salt.", "Energy 1252 kJ / 296 kcal", "Fat 2.9 g", "Protein 5.3 g",
         "Salt 0.54 g")  # fmt: skip


@pytest.fixture
def book(tmp_path: Path) -> Any:
    made = opened(str(tmp_path / "book.sqlite"), workers=0)
    yield made
    made.close()


def kept(book: Opened) -> Picture:
    rebuild = book.book.new_rebuild("Bar", [("brief", "Brief", {}), ("original", "Original", {})], "Ada")
    return book.photos.keep(rebuild.id, "bar.png", b"bytes", "image/png", (100, 50))


def test_the_engine_reads_a_small_label() -> None:
    picture = Image.new("RGB", (420, 190), (235, 230, 220))
    pen, font = ImageDraw.Draw(picture), ImageFont.load_default(size=21)
    for at, line in enumerate(LABEL):
        pen.text((14, 12 + 34 * at), line, font=font, fill=(40, 30, 30))
    out = io.BytesIO()
    picture.rotate(2, Image.Resampling.BICUBIC, expand=True, fillcolor=(235, 230, 220)).save(out, "PNG")
    reading = reading_of(out.getvalue())
    assert reading.listed == LABEL[0]
    (panel,) = reading.panels
    assert panel["energy_kcal"] == "1252 kJ / 296 kcal"
    assert (panel["fat_g"], panel["protein_g"], panel["salt_g"]) == ("2.9", "5.3", "0.54")
    assert PhotoReading.from_json(reading.to_json()) == reading


def test_a_picture_is_read_once(book: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bytes] = []
    monkeypatch.setattr("batchwright.actions.answer_work.reading_of", lambda data: asked.append(data) or READING)
    picture = kept(book)
    assert book.photos.reading(picture) == READING
    assert book.photos.reading(picture) == READING
    assert asked == [b"bytes"]


def test_none_while_it_is_being_read(book: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    going: Future[Any] = Future()
    monkeypatch.setattr(book.photos, "_asked", lambda picture: going)
    picture = kept(book)
    assert book.photos.reading(picture, 0.01) is None
    going.set_result(READING.to_json())
    assert book.photos.reading(picture, 0.01) == READING


def test_what_fails_is_told_and_tried_again(book: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(data: bytes) -> PhotoReading:
        raise RuntimeError("no memory")

    monkeypatch.setattr("batchwright.actions.answer_work.reading_of", fails)
    picture = kept(book)
    with pytest.raises(InputError, match="Type the words in"):
        book.photos.reading(picture)
    monkeypatch.setattr("batchwright.actions.answer_work.reading_of", lambda data: READING)
    assert book.photos.reading(picture) == READING


def test_without_the_package_the_sentence_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photo_reading, "can_read", lambda: False)
    with pytest.raises(InputError) as caught:
        reading_of(b"")
    assert caught.value.faults[0].hint == "Reading pictures needs one more package: pip install 'batchwright[photo]'"


def test_the_engine_is_not_loaded_before_a_picture_is_read() -> None:
    code = "import sys, batchwright.actions.photo, batchwright.actions.answer_work; print('onnxruntime' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


BEFORE = {"label": {"text": "Ingredients: rye.", "pasted": "all"}, "panels": [{"fat_g": "1"}], "know": {"rye": 5}}


def test_taken_over_in_place() -> None:
    after = taken_over(BEFORE, " Ingredients: oats. ", [{"fat_g": "2"}], 7)
    assert after == {"label": {"text": "Ingredients: oats.", "pasted": "all"}, "panels": [{"fat_g": "2"}],
                     "know": {"rye": 5}, "pictures": [7]}  # fmt: skip
    assert BEFORE["panels"] == [{"fat_g": "1"}]


def test_taken_over_behind() -> None:
    after = taken_over({**BEFORE, "pictures": [3]}, "Salt.", [{"fat_g": "2"}], 7, add=True)
    assert after["label"]["text"] == "Ingredients: rye.\nSalt."
    assert after["panels"] == [{"fat_g": "1"}, {"fat_g": "2"}]
    assert after["pictures"] == [3, 7]


def test_what_is_left_empty_stays() -> None:
    assert taken_over(BEFORE, "", [{"fat_g": "2"}], 7)["label"] == BEFORE["label"]
    assert taken_over({"panel": {"fat_g": "1"}}, "Oats.", [], 7)["panels"] == [{"fat_g": "1"}]


def test_nothing_and_too_much_are_refused() -> None:
    with pytest.raises(InputError, match="an ingredient list"):
        taken_over(BEFORE, "  ", [], 7)
    with pytest.raises(InputError, match="at most 4 panels"):
        taken_over(BEFORE, "", [{"fat_g": "2"}] * 4, 7, add=True)
