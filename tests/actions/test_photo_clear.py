"""Blurred pictures: told from sharp ones, enlarged, and read."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from batchwright.actions.photo_clear import LARGEST, TIMES, is_blurred, prepared, sharpness_of
from batchwright.actions.photo_reading import reading_of

LABEL = ("Ingredients: rye flour, honey, salt.", "Energy 1252 kJ / 296 kcal", "Fat 2.9 g", "Protein 5.3 g",
         "Salt 0.54 g")  # fmt: skip


def label(blur_px: float, light_on_dark: bool = False) -> Image.Image:
    paper, ink = ((40, 30, 30), (235, 230, 220)) if light_on_dark else ((235, 230, 220), (40, 30, 30))
    picture = Image.new("RGB", (320, 150), paper)
    pen, font = ImageDraw.Draw(picture), ImageFont.load_default(size=16)
    for at, line in enumerate(LABEL):
        pen.text((14, 12 + 27 * at), line, font=font, fill=ink)
    return picture.filter(ImageFilter.GaussianBlur(blur_px)) if blur_px else picture


@pytest.mark.parametrize("light_on_dark", [False, True])
def test_blur_is_told_by_the_edges(light_on_dark: bool) -> None:
    sharp, blurred = (np.asarray(label(blur, light_on_dark)) for blur in (0.0, 1.5))
    assert sharpness_of(sharp) > 0.7
    assert sharpness_of(blurred) < 0.4
    assert is_blurred(blurred)
    assert not is_blurred(sharp)


def test_a_large_picture_and_an_empty_one_are_read_as_they_are() -> None:
    assert not is_blurred(np.asarray(label(1.5).resize((LARGEST + 1, 700))))
    assert not is_blurred(np.full((40, 60, 3), 200, dtype=np.uint8))


@pytest.mark.parametrize("light_on_dark", [False, True])
def test_the_blur_is_undone(light_on_dark: bool) -> None:
    blurred = np.asarray(label(1.5, light_on_dark))
    made = prepared(blurred)
    assert made.shape == (TIMES * 150, TIMES * 320, 3)
    printed = np.asarray(label(0.0, light_on_dark).convert("L").resize((640, 300))).ravel()
    as_it_is, undone = (abs(np.corrcoef(made[:, :, at].ravel(), printed)[0, 1]) for at in (0, 2))
    assert 1 - undone < 0.95 * (1 - as_it_is)
    assert np.median(made[:, :, 2]) > 200  # paper is light, whichever it was


def test_the_engine_reads_a_blurred_label() -> None:
    out = io.BytesIO()
    label(1.5).save(out, "PNG")
    reading = reading_of(out.getvalue())
    assert reading.listed == LABEL[0]
    (panel,) = reading.panels
    assert panel["energy_kcal"] == "1252 kJ / 296 kcal"
    assert (panel["fat_g"], panel["protein_g"], panel["salt_g"]) == ("2.9", "5.3", "0.54")
    assert all(x + width <= 1000 and y + height <= 1000 for x, y, width, height in reading.spots)
