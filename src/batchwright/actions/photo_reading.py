"""Read a picture of a packet: its words, its list and panel, and which words to look at again."""

from __future__ import annotations

import io
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.util import find_spec
from typing import Any

import numpy as np
from PIL import Image

from batchwright.actions.pasted import panel_figures
from batchwright.actions.photo_clear import TIMES, Reading, Searching, is_blurred, prepared
from batchwright.actions.photo_points import lost_points, points_put_in
from batchwright.base.errors import Fault, InputError
from batchwright.original.panels.photo_lines import (
    Seen,
    blocks_of,
    is_doubtful,
    line_of,
    mended_line,
    packet_words,
    panel_mended,
    parted,
)
from batchwright.original.panels.photo_slips import lacks_unit, list_mended
from batchwright.original.panels.text import read_panels_text

MISSING = "Reading pictures needs one more package: pip install 'batchwright[photo]'"
MOST_UNSURE = 60  # a picture of which more is unsure is better taken again
LONGEST_SIDE = 3000  # px
LARGE_SIDE = 1600  # px; beyond it lines are looked for in the picture reduced to it


@cache
def can_read() -> bool:
    """Whether the package that reads pictures is installed."""
    return find_spec("rapidocr") is not None and find_spec("onnxruntime") is not None


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """What a picture of a packet says.

    `listed` is the ingredient list, `panel_text` the panel's words; `panels` its figures as one types them, column by
    column; `unsure` the words to look at again, `spots` where each of them stands (x, y, width, height in thousandths
    of the picture's width and height). `contradicted` names figures that go with no others, as where a decimal point
    was lost: the panel's place, the figure's key, what speaks against it.
    """

    listed: str
    panel_text: str
    panels: tuple[Mapping[str, str], ...] = ()
    unsure: tuple[str, ...] = ()
    spots: tuple[tuple[int, int, int, int], ...] = ()
    contradicted: tuple[tuple[int, str, str], ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"listed": self.listed, "panel_text": self.panel_text, "panels": [dict(each) for each in self.panels],
                "unsure": list(self.unsure), "spots": [list(each) for each in self.spots],
                "contradicted": [list(each) for each in self.contradicted]}  # fmt: skip

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> PhotoReading:
        """Read back what `to_json` wrote."""
        return cls(document["listed"], document["panel_text"], tuple(document["panels"]), tuple(document["unsure"]),
                   tuple((int(x), int(y), int(w), int(h)) for x, y, w, h in document["spots"]),
                   tuple((int(at), str(key), str(why)) for at, key, why in document["contradicted"]))  # fmt: skip


@lru_cache(maxsize=1)
def _engine(large: bool, blurred: bool = False) -> Any:
    """Return the recogniser with its models, which ship inside its package; loading takes a second or more.

    large: lines are looked for in a reduced picture, so that it takes seconds, and read in the whole one.
    blurred: for pictures that `prepared` made.
    """
    from rapidocr import RapidOCR  # heavy: loaded where a picture is read, nowhere else

    params: dict[str, Any] = {
        "EngineConfig.onnxruntime.intra_op_num_threads": 1,  # the pages need the other core
        "EngineConfig.onnxruntime.inter_op_num_threads": 1,
        "Global.log_level": "error",
        "Global.use_cls": False,
        "Global.max_side_len": LONGEST_SIDE,
        "Global.return_word_box": True,
    }
    if large:
        params |= {"Det.limit_type": "max", "Det.limit_side_len": LARGE_SIDE}
    engine = RapidOCR(params=params)
    if blurred:
        searching, reading = engine._load_det_model(), engine._load_rec_model()  # type: ignore[no-untyped-call]
        searching.session, reading.session = Searching(searching.session), Reading(reading.session)
    return engine


def reading_of(data: bytes) -> PhotoReading:
    """Return what a picture says; runs for seconds: call it in a worker.

    data: a picture's bytes as the book keeps it. Raises InputError where the package that reads is not installed.
    """
    if not can_read():
        raise InputError([Fault("picture", "", "a computer that can read pictures", MISSING)])
    with Image.open(io.BytesIO(data)) as opened:
        picture = np.asarray(opened.convert("RGB"))
    seen, words = _seen(picture)
    return read_seen(seen, words, (picture.shape[1], picture.shape[0]))


def _seen(picture: np.ndarray) -> tuple[list[Seen], list[Seen]]:
    """Return the stretches of lines in a picture, and their single words."""
    blurred = is_blurred(picture)
    times = TIMES if blurred else 1
    given = prepared(picture) if blurred else np.ascontiguousarray(picture[:, :, ::-1])  # it takes blue first
    found = _engine(max(given.shape[:2]) > LARGE_SIDE, blurred)(given)
    if not found.txts:
        return [], []
    seen = [Seen(text, _corners(box, times), float(score))
            for text, box, score in zip(found.txts, found.boxes, found.scores, strict=True)]  # fmt: skip
    words = [Seen(text, _corners(box, times), float(score)) for line in found.word_results for text, score, box in line]
    return seen, words


def _corners(box: Sequence[Sequence[float]], times: int) -> tuple[tuple[float, float], ...]:
    return tuple((float(x) / times, float(y) / times) for x, y in box)


def read_seen(seen: Sequence[Seen], words: Sequence[Seen], size_px: tuple[int, int]) -> PhotoReading:
    """Return the reading of what was seen in a picture of that size (width, height)."""
    blocks = [[line_of([each.text for each in row]) for row in block] for block in blocks_of(seen)]
    listed, as_seen = parted(blocks)
    panel_text = panel_mended(as_seen)
    panels = read_panels_text(panel_text) if panel_text else ()
    typed = tuple(panel_figures(panel) for panel in panels)
    lost = lost_points(typed)
    doubtful = [word for word in words if word.text.strip() and is_doubtful(word)]
    numbers = _numbers_of(typed, lost)
    against = [word for word in words if word not in doubtful
               and (_number(word.text) in numbers or lacks_unit(word.text, as_seen, panel_text))]  # fmt: skip
    shown = [*against, *doubtful][:MOST_UNSURE]
    pointed, named = points_put_in(typed, lost)
    return PhotoReading(
        listed, panel_text, pointed, tuple(_shown(word.text, listed) for word in shown),
        tuple(_spot(word, size_px) for word in shown), tuple((at, key, why) for (at, key), why in named.items()),
    )  # fmt: skip


def _shown(text: str, listed: str) -> str:
    """Return a word as the list shows it, mended where the list's was."""
    plain = mended_line(text)
    mended = list_mended(plain, packet_words())
    return mended if plain not in listed and mended in listed else plain


def _numbers_of(panels: Sequence[Mapping[str, str]], lost: Collection[tuple[int, str]]) -> frozenset[str]:
    """Return the numbers that figures to be looked at show, energy aside, which stands there in two units."""
    return frozenset(number for at, key in lost if key != "energy_kcal" and (number := _number(panels[at][key])))


def _number(text: str) -> str:
    found = re.match(r"\D?(\d+(?:[.,]\d+)?)", text)
    return found[1] if found else ""


def _spot(word: Seen, size_px: tuple[int, int]) -> tuple[int, int, int, int]:
    across = [1000 * x / size_px[0] for x, _ in word.corners]
    down = [1000 * y / size_px[1] for _, y in word.corners]
    return round(min(across)), round(min(down)), round(max(across) - min(across)), round(max(down) - min(down))
