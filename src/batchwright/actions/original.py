"""Decode a packaged food: from a label file, label text, or a record of many."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.original.answers.mix import mix_from_text
from batchwright.original.decode import decode, top_items
from batchwright.original.labels.file import LabelFile, label_from_mapping, label_from_text
from batchwright.original.records import Answer

DECLARED_KEYS = ("statement", "panel", "serving_g")


def decode_file(text: str, mix: str = "") -> Answer:
    """Return what a food is made of.

    text: a label file in TOML, or a label's own words [up to 1 MB]. mix: "300g-flour" or "40-pieces" to scale the
    formula to, empty for 300 g of flour. Raises InputError with every fault of the file.
    """
    return decode_label(label_from_text(text), mix)


def decode_label(label: LabelFile, mix: str = "") -> Answer:
    """Return what a food is made of from a label already read; see `decode_file`."""
    return decode(label, mix_from_text(mix) if mix else None)


def answer_declared(record: Mapping[str, Any]) -> dict[str, Any]:
    """Return the printed top-level items of one label in percent of the finished food.

    record: `id`, `statement` (text), `panel` (keys and figures, may be missing), `serving_g` (may be missing); no other
    key is read. The answer holds `id`, `ms` (wall time of this record, all included) and `items`, one for each printed
    top-level item in printed order: `name`, `low`, `likely`, `high` (90 %), `min`, `max` (sure), `match`.
    Raises InputError where `statement` is no text.
    """
    started = time.perf_counter()
    statement = record.get("statement")
    if not isinstance(statement, str):
        hint = 'a line is {"id": ..., "statement": "...", "panel": {...}}'
        raise InputError([Fault("statement", statement, "the ingredient list as text", hint)])
    given = {key: record[key] for key in DECLARED_KEYS if record.get(key) is not None}
    _, items = top_items(label_from_mapping(given))
    return {
        "id": record.get("id"),
        "ms": round(1000.0 * (time.perf_counter() - started), 3),
        "items": [
            {
                "name": name,
                "low": round(estimate.low, 4),
                "likely": round(estimate.likely, 4),
                "high": round(estimate.high, 4),
                "min": None if estimate.sure_low is None else round(estimate.sure_low, 4),
                "max": None if estimate.sure_high is None else round(estimate.sure_high, 4),
                "match": how,
            }
            for name, estimate, how in items
        ],
    }
