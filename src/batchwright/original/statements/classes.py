"""A class of additives printed without colon or bracket: before a name, or behind one without comma or with "and"."""

from __future__ import annotations

import re

from batchwright.original.statements.names import cleaned
from batchwright.original.statements.spelling import known as knows
from batchwright.original.statements.words import additive_names, role_class

_AND_CLASS = re.compile(r"(\S.*?)\s(?:and|&)\s([a-z][a-z \-]{2,25})$", re.IGNORECASE)
_BLANK = re.compile(r"\s+")
_JOINED_NAMES = re.compile(r"\s(?:and|&|or)\s")
_PLAIN_CLASSES = frozenset(
    [
        "emulsifier",
        "preservative",
        "antioxidant",
        "stabiliser",
        "stabilizer",
        "thickener",
        "raising agent",
        "humectant",
        "gelling agent",
        "acid",
        "acidity regulator",
        "flavour enhancer",
        "flavor enhancer",
        "anti-caking agent",
        "glazing agent",
        "sweetener",
        "firming agent",
        "flour treatment agent",
    ]
)
_CLASS_FIRST = frozenset(
    [
        "emulsifier",
        "emulsifiers",
        "preservative",
        "preservatives",
        "antioxidant",
        "antioxidants",
        "stabiliser",
        "stabilisers",
        "stabilizer",
        "stabilizers",
        "thickener",
        "thickeners",
        "raising",
        "humectant",
        "humectants",
        "gelling",
        "acidulant",
        "acidulants",
        "acidity",
        "flavour",
        "flavor",
        "anti-caking",
        "anticaking",
        "glazing",
        "sweetener",
        "sweeteners",
        "firming",
        "emulsifying",
    ]
)


def class_behind(text: str, start: int, end: int) -> int | None:
    """Return where "humectant" begins in "rapeseed oil humectant" (a known thing, then a class), else None."""
    stretch = text[start:end].rstrip()
    for match in list(_BLANK.finditer(stretch))[-3:]:
        role = role_class(cleaned(stretch[match.end() :]))
        name = cleaned(stretch[: match.start()])
        if role in _PLAIN_CLASSES and " " in name and not role_class(name) and knows(name):
            return start + match.end()
    return None


def class_joined(text: str, start: int, end: int) -> tuple[int, int] | None:
    """Return where the name ends and the class begins in "apples and antioxidant", None where no class stands last."""
    joined = _AND_CLASS.match(text, start, end)
    return None if joined is None or role_class(cleaned(joined[2])) is None else (joined.end(1), joined.start(2))


def class_before(text: str, start: int, end: int) -> tuple[int, str] | None:
    """Return where "emulsifier" ends in "emulsifier soy lecithin", and the role; None where it is no such thing."""
    stretch = text[start:end]
    first = stretch.split(" ", 1)[0].lower()
    if first not in _CLASS_FIRST:
        return None
    for match in list(_BLANK.finditer(stretch))[:3]:
        role = role_class(cleaned(stretch[: match.start()]))
        if role in _PLAIN_CLASSES:
            rest = _BLANK.split(_JOINED_NAMES.split(cleaned(stretch[match.end() :]))[0])
            name = " ".join(rest)
            if name and (knows(name) or name in additive_names()):
                return start + match.end(), role or ""
    return None
