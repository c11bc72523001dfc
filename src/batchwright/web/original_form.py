"""The form of the original: what is typed into its fields, and the document kept of it.

The document holds what was typed, word for word: "1,5" and "less than 1 g" stay so; reading them is decoding's task.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from batchwright.base.errors import Fault
from batchwright.base.nutrients import PANEL_KEYS

PANEL_HEAD = ("scheme", "basis", "serving_g")
PANEL_LABELS = {
    "energy_kcal": "Energy, kcal", "fat_g": "Fat, g", "saturated_fat_g": "Saturated fat, g",
    "trans_fat_g": "Trans fat, g", "carbohydrate_g": "Carbohydrate, g", "fiber_g": "Fibre, g",
    "sugars_g": "Sugars, g", "added_sugars_g": "Added sugars, g", "protein_g": "Protein, g", "salt_g": "Salt, g",
    "sodium_mg": "Sodium, mg", "cholesterol_mg": "Cholesterol, mg", "calcium_mg": "Calcium, mg", "iron_mg": "Iron, mg",
    "potassium_mg": "Potassium, mg",
}  # fmt: skip
SIZES = {"length_mm": "Length", "width_mm": "Width", "thickness_mm": "Thickness"}
PIECES = ("pieces_g", "knife_g", "brix", *SIZES)
MOST_PANELS = 4
MOST_PARTS = 8
_SPLIT = re.compile(r"[;\n]+|(?<=\d)\s+(?=\d)|,\s+|\s{2,}")


def weights(text: str) -> list[Any]:
    """Return the figures of a field that takes one weight per line; also several in a line, comma decimals."""
    found: list[Any] = []
    for each in _SPLIT.split(text):
        word = each.strip().rstrip(",")
        if not word:
            continue
        plain = re.fullmatch(r"(-?\d+(?:[.,]\d+)?)\s*(?:g|mm|%)?", word)
        found.append(float(plain.group(1).replace(",", ".")) if plain else word)
    return found


def document_from_form(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, Any]:
    """Return the document of an original from its form.

    form: the fields by name. before: the document it was typed over; what the form does not show (own ingredients,
    pictures, readings of other sorts) is kept from it.
    """
    document = {key: value for key, value in before.items() if key not in ("label", "food", "panels", "panel")}
    document["label"] = _label(form, before.get("label", {}))
    document["food"] = _food(form, before.get("food", {}))
    single = [before["panel"]] if before.get("panel") else []
    panels_before = [*single, *before.get("panels", []), *[{}] * MOST_PANELS]
    panels = [_panel(form, place, panels_before[place]) for place in range(MOST_PANELS)]
    document["panels"] = [panel for panel in panels if panel]
    document["teardown"] = _teardown(form, before.get("teardown", {}))
    document["match"] = _matches(form, before.get("match", {}))
    return {key: value for key, value in document.items() if value not in ({}, [], None)}


def _label(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, Any]:
    """Return the label with its list as typed, and the names told to stay as printed (or to be mended again)."""
    right = [name for name in before.get("as_printed", ()) if name != form.get("mend_again")]
    if (name := form.get("as_printed", "").strip()) and name not in right:
        right.append(name)
    label = {**before, "text": _text(form), "as_printed": right}
    return label if right else {key: value for key, value in label.items() if key != "as_printed"}


def _text(form: Mapping[str, str]) -> str:
    """Return the list as typed, with what was changed in the rows of its repairs.

    Such a row is called "mend:5:9:sugr": the stretch of the text and what stood there; it changes nothing where the
    text was changed meanwhile.
    """
    text = form.get("label.text", "").replace("\r\n", "\n")
    rows = []
    for name, value in form.items():
        row = re.fullmatch(r"mend:(\d{1,7}):(\d{1,7}):(.*)", name, re.S)
        if row and value.strip() != row[3].strip():
            rows.append((int(row[1]), int(row[2]), row[3], value.strip()))
    for start, end, was, value in sorted(rows, reverse=True):
        if text[start:end] == was:
            text = text[:start] + value + text[end:]
    return text


def _food(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, Any]:
    food = {key: value for key, value in before.items() if key not in ("name", "sort", "baked")}
    for key in ("name", "sort"):
        if form.get(f"food.{key}", "").strip():
            food[key] = form[f"food.{key}"].strip()
    if form.get("food.baked") in ("yes", "no"):
        food["baked"] = form["food.baked"] == "yes"
    return food


def _panel(form: Mapping[str, str], place: int, before: Mapping[str, Any]) -> dict[str, Any]:
    """Return one panel as typed, with what the form has no field for; empty where nothing is typed in it."""
    shown = (*PANEL_HEAD, *PANEL_KEYS, "text")
    typed = {key: form.get(f"panel{place}.{key}", "").strip() for key in shown}
    if not any(typed[key] for key in shown if key not in ("scheme", "basis")):
        return {}
    rest = {key: value for key, value in before.items() if key not in shown}
    return {**rest, **{key: value for key, value in typed.items() if value}}


def _teardown(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, Any]:
    shown = ("parts_g", *PIECES)
    found = {key: value for key, value in before.items() if key not in shown and not key.endswith("_brix")}
    for key in PIECES:
        if figures := weights(form.get(f"teardown.{key}", "")):
            found[key] = figures[0] if len(figures) == 1 and key in ("knife_g", "brix") else figures
    parts: dict[str, Any] = {}
    for place in range(MOST_PARTS):
        figures, brix = weights(form.get(f"part{place}.g", "")), weights(form.get(f"part{place}.brix", ""))
        name = form.get(f"part{place}.name", "").strip() or (f"part {place + 1}" if figures or brix else "")
        if not name:
            continue
        if figures or not brix:
            parts[name] = [*parts.get(name, []), *figures]
        if brix:
            found[f"{name}_brix"] = brix[0] if len(brix) == 1 else brix
    if parts:
        found["parts_g"] = parts
    return found


def _matches(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, str]:
    """Return the cook's own word for printed names: those typed in the rows, and older ones no row shows."""
    typed = {key.removeprefix("match:"): value.strip() for key, value in form.items() if key.startswith("match:")}
    kept = {key: value for key, value in before.items() if key not in typed}
    return {**kept, **{key: value for key, value in typed.items() if value}}


def fields_from_document(document: Mapping[str, Any]) -> dict[str, str]:
    """Return what each field of the form shows for a document."""
    food, teardown = document.get("food", {}), document.get("teardown", {})
    baked = food.get("baked")
    fields = {
        "label.text": document.get("label", {}).get("text", ""),
        "food.name": food.get("name", ""),
        "food.sort": food.get("sort", ""),
        "food.baked": "" if baked is None else "yes" if baked else "no",
    }
    for key in PIECES:
        fields[f"teardown.{key}"] = _lines(teardown.get(key))
    weighed = teardown.get("parts_g", {})
    named = [key.removesuffix("_brix") for key in teardown if key.endswith("_brix")]
    for place, name in enumerate(list(dict.fromkeys((*weighed, *named)))[:MOST_PARTS]):
        fields[f"part{place}.name"], fields[f"part{place}.g"] = name, _lines(weighed.get(name))
        fields[f"part{place}.brix"] = _lines(teardown.get(f"{name}_brix"))
    single = [document["panel"]] if document.get("panel") else []
    for place, panel in enumerate([*single, *document.get("panels", [])][:MOST_PANELS]):
        for key, value in panel.items():
            fields[f"panel{place}.{key}"] = _figure(value)
    for name, value in document.get("match", {}).items():
        fields[f"match:{name}"] = value
    return fields


def _figure(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _lines(value: Any) -> str:
    if value is None:
        return ""
    listed: Iterable[Any] = value if isinstance(value, (list, tuple)) else [value]
    return "\n".join(_figure(each) for each in listed)


_HEADS = {"label": "label.text", "label.text": "label.text", "statement": "label.text", "food.baked": "food.baked"}


def beside_fields(faults: Sequence[Fault], document: Mapping[str, Any]) -> list[Fault]:
    """Return faults under the names of the form's fields, so that each stands beside its own.

    document: what the faults were found in. A panel's fault names its key alone: it goes to the panel in which what was
    refused stands. What belongs to no field keeps its name.
    """
    return [replace(fault, field=_field_of(fault, document)) for fault in faults]


def _field_of(fault: Fault, document: Mapping[str, Any]) -> str:
    name = re.sub(r"\[\d+\]$", "", fault.field)
    if name in _HEADS:
        return _HEADS[name]
    if name.startswith("match."):
        return "match:" + name.removeprefix("match.")
    key = name.removeprefix("panel.")
    if key in (*PANEL_HEAD, *PANEL_KEYS):
        panels = document.get("panels", [])
        holding = [place for place, panel in enumerate(panels) if key in panel]
        same = [place for place in holding if str(panels[place][key]).strip() == str(fault.value).strip()]
        return f"panel{(same or holding or [0])[0]}.{key}"
    key = name.removeprefix("teardown.")
    if key in PIECES:
        return f"teardown.{key}"
    fields = fields_from_document(document)
    parts = [fields.get(f"part{place}.name", "").lower() for place in range(MOST_PARTS)]
    part = key.removeprefix("parts_g.").removesuffix("_brix").lower()
    if part and part in parts:
        return f"part{parts.index(part)}.{'brix' if key.endswith('_brix') else 'g'}"
    return fault.field
