"""A number as hands type it."""

from __future__ import annotations

import re
from math import isfinite

_FRACTIONS = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}


def number_typed(text: str) -> float | None:
    """Return a number from "120", "1,5", "1/2", "1 1/2", "1½", "12 g" or "20 %"; None where it is none of these."""
    for mark, plain in _FRACTIONS.items():
        text = text.replace(mark, f" {plain}")
    found = re.fullmatch(r"\s*(\d{1,9}(?:[.,]\d{1,6})?)?\s*(?:(\d{1,4})\s*/\s*(\d{1,4}))?\s*(?:g|grams?|%)?\s*", text)
    if found is None or (found[1] is None and found[2] is None):
        return None
    whole = float(found[1].replace(",", ".")) if found[1] else 0.0
    if found[2] is None:
        return whole
    below = int(found[3])
    value = whole + int(found[2]) / below if below else float("nan")
    return value if isfinite(value) else None
