"""The label file: what a cook writes down about a packaged food, every key optional."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.base.nutrients import COMPOSITION_KEYS

LONGEST = 1_000_000  # characters of a label file that are still read
TABLES = ("food", "label", "panel", "panels", "teardown", "match", "know", "ingredients", "measured")
MEASURED = {
    "moisture_percent": (0.0, 100.0),
    "moisture_error": (0.0, 20.0),
    "brix": (0.0, 100.0),
    "brix_error": (0.0, 20.0),
    "fat_percent": (0.0, 100.0),
    "fat_error": (0.0, 20.0),
}


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What the cook knows of an ingredient: the only part it is in, parts it is not in, its share as added [%]."""

    only: str = ""
    not_in: str = ""
    min_percent: float = 0.0
    max_percent: float = 100.0


@dataclass(frozen=True, slots=True)
class LabelFile:
    """A label as the cook entered it; what is absent is empty.

    `as_printed` names printed names whose letters are not mended; `baked` is None where the file does not say; `own`
    holds the cook's own ingredients per 100 g; `measured` maps a part's name ("" = the whole food) to what was
    measured of it.
    """

    name: str = ""
    sort: str = ""
    baked: bool | None = None
    text: str = ""
    as_printed: tuple[str, ...] = ()
    panels: tuple[Mapping[str, Any], ...] = ()
    teardown: Mapping[str, Any] = field(default_factory=dict)
    match: Mapping[str, str] = field(default_factory=dict)
    know: Mapping[str, Knowledge] = field(default_factory=dict)
    own: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    measured: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def label_from_text(text: str) -> LabelFile:
    """Return the label written in a TOML label file, or in plain label text where it is no TOML.

    text: the file's content [at most 1,000,000 characters]. Text without any `key = value` line or `[table]` head of
    ours is taken as the label's own words. Raises InputError for broken TOML (with the line) and for wrong values.
    """
    if len(text) > LONGEST:
        raise InputError([Fault("label", f"{len(text)} characters", f"at most {LONGEST} characters", "cut the file")])
    if not _looks_like_toml(text):
        return LabelFile(text=text)
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        hint = "write text between three quotes: text = \"\"\"...\"\"\""
        raise InputError([Fault("label file", str(fault)[:200], "TOML", hint)]) from fault
    return label_from_mapping(document)


def label_from_mapping(document: Mapping[str, Any]) -> LabelFile:
    """Return the label held in a mapping of the label file's tables; raises InputError with every fault found."""
    faults: list[Fault] = []
    food = _table(document, "food", faults)
    label = document.get("label", {})
    text = label if isinstance(label, str) else _table(document, "label", faults).get("text", "")
    text = text or document.get("text", "") or document.get("statement", "")
    if not isinstance(text, str):
        faults.append(Fault("label.text", text, "text between quotes"))
        text = ""
    right = () if isinstance(label, str) else label.get("as_printed", ()) if isinstance(label, Mapping) else ()
    if not isinstance(right, (list, tuple)) or not all(isinstance(name, str) for name in right):
        faults.append(Fault("label.as_printed", right, 'printed names in a list, such as ["sugr"]'))
        right = ()
    panels = _panels(document, faults)
    match = {str(k): v for k, v in _table(document, "match", faults).items()}
    for key, value in match.items():
        if not isinstance(value, str):
            faults.append(Fault(f"match.{key}", value, "the shelf's name of an ingredient, in quotes"))
    baked = food.get("baked")
    if baked is not None and not isinstance(baked, bool):
        faults.append(Fault("food.baked", baked, "true or false"))
    know = {name: _knowledge(name, value, faults) for name, value in _table(document, "know", faults).items()}
    own = {name: _own(name, value, faults) for name, value in _table(document, "ingredients", faults).items()}
    measured = _measured(_table(document, "measured", faults), faults)
    teardown = _table(document, "teardown", faults)
    if faults:
        raise InputError(faults)
    known = (*TABLES, "text", "statement", "id", "serving_g", "name")
    notes = tuple(f"not read: {key} (no such table in a label file)" for key in document if key not in known)
    return LabelFile(
        name=str(food.get("name", document.get("name", ""))),
        sort=str(food.get("sort", "")).strip().lower(),
        baked=baked,
        text=text,
        as_printed=tuple(" ".join(name.lower().split()) for name in right),
        panels=panels,
        teardown=teardown,
        match={key.casefold(): value for key, value in match.items()},
        know=know,
        own=own,
        measured=measured,
        notes=notes,
    )


def _looks_like_toml(text: str) -> bool:
    """Tell whether a text is meant as a label file: a head of one of our tables, or a key = value line."""
    head = re.compile(r"^[ \t]*\[{1,2}[ \t]*(?:" + "|".join(TABLES) + r")\b", re.M)
    return bool(head.search(text) or re.search(r"^\s{0,8}(?:name|text|statement|label)[ \t]*=[ \t]*\S", text, re.M))


def _table(document: Mapping[str, Any], key: str, faults: list[Fault]) -> Mapping[str, Any]:
    """Return a table of the file, empty where absent; a fault where something else stands there."""
    value = document.get(key)
    if value is None:
        return {}
    if not isinstance(value, Mapping):
        faults.append(Fault(key, value, f"a table [{key}] of named values"))
        return {}
    return value


def _panels(document: Mapping[str, Any], faults: list[Fault]) -> tuple[Mapping[str, Any], ...]:
    """Return every panel given: [panel], [[panels]], or panel text."""
    found: list[Mapping[str, Any]] = []
    given: list[tuple[str, Any]] = [("panel", document.get("panel"))]
    several = document.get("panels", [])
    if not isinstance(several, list):
        faults.append(Fault("panels", several, "tables headed [[panels]]"))
        several = []
    given += [(f"panels[{place}]", panel) for place, panel in enumerate(several)]
    for key, panel in given:
        if isinstance(panel, str) and panel.strip():
            found.append({"text": panel})
        elif isinstance(panel, Mapping):
            if panel:
                serving = document.get("serving_g")
                found.append({"serving_g": serving, **panel} if serving is not None else dict(panel))
        elif panel is not None and panel != "":
            faults.append(Fault(key, panel, "a table of figures such as fat_g = 7, or the panel's text"))
    return tuple(found)


def _knowledge(name: str, value: Any, faults: list[Fault]) -> Knowledge:
    """Return what the cook knows of one ingredient, from words or a table."""
    allowed = '"only in the dough", "not in the filling", or a table of only, not_in, min_percent, max_percent'
    if isinstance(value, str):
        only = re.search(r"\bonly in (?:the )?([\w -]+)", value, re.I)
        without = re.search(r"\bnot in (?:the )?([\w -]+)", value, re.I)
        least = re.search(r"\b(?:min|at least)\D{0,12}(\d+(?:\.\d+)?)", value, re.I)
        most = re.search(r"\b(?:max|at most)\D{0,12}(\d+(?:\.\d+)?)", value, re.I)
        if not (only or without or least or most):
            faults.append(Fault(f"know.{name}", value, allowed))
        value = {
            "only": only.group(1).strip() if only else "",
            "not_in": without.group(1).strip() if without else "",
            "min_percent": float(least.group(1)) if least else 0.0,
            "max_percent": float(most.group(1)) if most else 100.0,
        }
    if not isinstance(value, Mapping):
        faults.append(Fault(f"know.{name}", value, allowed))
        return Knowledge()
    least_percent = _number(f"know.{name}.min_percent", value.get("min_percent", 0.0), 0.0, 100.0, faults)
    most_percent = _number(f"know.{name}.max_percent", value.get("max_percent", 100.0), 0.0, 100.0, faults)
    if least_percent > most_percent:
        faults.append(Fault(f"know.{name}", [least_percent, most_percent], "min_percent at most max_percent"))
    return Knowledge(str(value.get("only", "")), str(value.get("not_in", "")), least_percent, most_percent)


def _own(name: str, value: Any, faults: list[Fault]) -> Mapping[str, float]:
    """Return the composition per 100 g of a cook's own ingredient."""
    if not isinstance(value, Mapping):
        faults.append(Fault(f"ingredients.{name}", value, "a table of figures per 100 g, such as fat_g = 33"))
        return {}
    content: dict[str, float] = {}
    for key, figure in value.items():
        if key == "salt_g":
            content["sodium_mg"] = 393.37 * _number(f"ingredients.{name}.{key}", figure, 0.0, 100.0, faults)
        elif key in COMPOSITION_KEYS:
            top = 1e5 if key.endswith("_mg") else 902.0 if key == "energy_kcal" else 100.0
            content[key] = _number(f"ingredients.{name}.{key}", figure, 0.0, top, faults)
        elif key not in ("basis", "class", "notes", "name"):
            faults.append(Fault(f"ingredients.{name}.{key}", figure, "one of " + ", ".join(COMPOSITION_KEYS)))
    return content


def _measured(table: Mapping[str, Any], faults: list[Fault]) -> Mapping[str, Mapping[str, float]]:
    """Return what was measured of the whole food ("") and of each part."""
    found: dict[str, dict[str, float]] = {}
    for key, value in table.items():
        part, entries = ("", {key: value}) if not isinstance(value, Mapping) else (key, value)
        for name, figure in entries.items():
            if name not in MEASURED:
                faults.append(Fault(f"measured.{name}", figure, "one of " + ", ".join(MEASURED)))
                continue
            figure = _number(f"measured.{name}", figure, *MEASURED[name], faults)
            found.setdefault(str(part), {})[name] = figure
    return found


def _number(field_name: str, value: Any, low: float, high: float, faults: list[Fault]) -> float:
    """Return a number within bounds (comma decimals, a percent sign are read); a fault and `low` where it is none."""
    if isinstance(value, str) and len(value) < 40:
        plain = re.fullmatch(r"\s*(-?\d+(?:[.,]\d+)?)\s*(?:%|g|mg|kcal)?\s*", value)
        value = float(plain.group(1).replace(",", ".")) if plain else value
    numeric = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not numeric or not isfinite(value) or not low <= value <= high:
        faults.append(Fault(field_name, value, f"a number from {low:g} to {high:g}"))
        return low
    return float(value)
