"""Blurred pictures: told by their edges, enlarged, and read in two preparations at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from PIL import Image, ImageFilter

BLURRED = 0.5  # of an edge's height in one pixel; measured: sharp 0.76 to 1.0, blurred by 1.5 px 0.30 to 0.33
NEAR_PX = 9  # about a letter: what an edge's height is taken within
STRONG = 0.5  # of the strongest contrasts of a picture; weaker ones are grain and shadows
LARGEST = 1500  # px; a larger picture has letters large enough, or would take too long enlarged
TIMES = 2
BLUR_PX = 1.5  # the blur undone; where it was less, the second preparation is somewhat too sharp and the first is read
NOISE = 0.1  # of the letters' own power: a fifth of it or less rings, tried on other labels than those measured
PAPER_PX = 31  # of a quarter-sized picture: wider than letters, narrower than shadows
INK = 200.0  # grey levels from paper to letters in the second preparation
PAPER = 235.0
AS_IS = 2 / 3  # weight of the first preparation; the second is surer of points and less sure of letters


def sharpness_of(picture: np.ndarray) -> float:
    """Return how much of its height an edge climbs within one pixel [0 to 1], the median over the picture's letters.

    picture: red, green, blue [0 to 255]. Returns 1 where there is nothing to see.
    """
    grey = Image.fromarray(picture).convert("L")
    levels = np.asarray(grey, dtype=np.float32)
    across = np.abs(np.diff(levels, axis=1, append=levels[:, -1:]))
    down = np.abs(np.diff(levels, axis=0, append=levels[-1:]))
    steps = Image.fromarray(np.maximum(across, down).astype(np.uint8)).filter(ImageFilter.MaxFilter(NEAR_PX))
    lightest = np.asarray(grey.filter(ImageFilter.MaxFilter(NEAR_PX)), dtype=np.float32)
    height = lightest - np.asarray(grey.filter(ImageFilter.MinFilter(NEAR_PX)), dtype=np.float32)
    strong = height > max(1.0, STRONG * float(np.percentile(height, 98)))
    return float(np.median(np.asarray(steps)[strong] / height[strong])) if strong.any() else 1.0


def is_blurred(picture: np.ndarray) -> bool:
    """Whether a picture is to be read in two preparations: blurred, and small enough to be enlarged [px]."""
    return max(picture.shape[:2]) <= LARGEST and sharpness_of(picture) < BLURRED


def prepared(picture: np.ndarray) -> np.ndarray:
    """Return a blurred picture TIMES as large; its three greys: as it is, sharpened, blur undone."""
    grey = np.asarray(Image.fromarray(picture).convert("L"), dtype=np.float32)
    softer = np.asarray(_image(grey).filter(ImageFilter.GaussianBlur(BLUR_PX)), dtype=np.float32)
    three = (grey, grey + 2.0 * (grey - softer), _blur_undone(grey))
    size = (TIMES * grey.shape[1], TIMES * grey.shape[0])
    return np.stack([np.asarray(_image(each).resize(size, Image.Resampling.BICUBIC)) for each in three], axis=2)


def _image(levels: np.ndarray) -> Image.Image:
    return Image.fromarray(levels.clip(0, 255).astype(np.uint8))


def _blur_undone(grey: np.ndarray) -> np.ndarray:
    """Return the letters dark on even paper with a Gaussian blur of BLUR_PX undone (Wiener's filter)."""
    paper = _paper(grey)
    ink = (paper - grey) / np.maximum(paper, 20.0)
    if abs(float(np.percentile(ink, 1))) > float(np.percentile(ink, 99)):
        ink = -ink  # light letters on dark
    edge = 32  # px beyond the picture, so that its sides do not ring into one another
    wide = np.pad(ink, edge, mode="reflect" if min(ink.shape) > edge else "edge")
    down, across = np.fft.fftfreq(wide.shape[0])[:, None], np.fft.rfftfreq(wide.shape[1])[None]
    blur = np.exp(-2 * (np.pi * BLUR_PX) ** 2 * (down**2 + across**2))
    clear = np.fft.irfft2(np.fft.rfft2(wide) * blur / (blur**2 + NOISE), s=wide.shape)[edge:-edge, edge:-edge]
    levels: np.ndarray = PAPER - INK * clear / max(0.8, float(np.percentile(clear, 99.7)))
    return levels


def _paper(grey: np.ndarray) -> np.ndarray:
    """Return the light on the paper behind the letters [0 to 255]: a wide median."""
    small = _image(grey).resize((max(1, grey.shape[1] // 4), max(1, grey.shape[0] // 4)), Image.Resampling.BOX)
    size = (grey.shape[1], grey.shape[0])
    wide = small.filter(ImageFilter.MedianFilter(PAPER_PX)).resize(size, Image.Resampling.BILINEAR)
    return np.asarray(wide.filter(ImageFilter.GaussianBlur(8)), dtype=np.float32)


class _Through:
    """One of the engine's models, given one grey of a prepared picture in place of its three colours."""

    def __init__(self, model: Any) -> None:
        self._model = model

    def __getattr__(self, name: str) -> Any:
        return getattr(self._model, name)

    def seen(self, batch: np.ndarray, grey: int) -> np.ndarray:
        """Return what the model says of one of the three greys (0 to 2)."""
        found: np.ndarray = self._model(np.repeat(batch[:, grey : grey + 1], 3, axis=1))
        return found


class Searching(_Through):
    """Looks for lines in the sharpened grey."""

    def __call__(self, batch: np.ndarray) -> np.ndarray:
        """Return what the model says of the sharpened grey."""
        return self.seen(batch, 1)


class Reading(_Through):
    """Reads each line as it is and with the blur undone, and weighs what both say of each place in it."""

    def __call__(self, batch: np.ndarray) -> np.ndarray:
        """Return how likely each sign is at each place, over both preparations [0 to 1]."""
        return AS_IS * self.seen(batch, 0) + (1 - AS_IS) * self.seen(batch, 2)
