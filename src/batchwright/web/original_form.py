"""The form of the original: what is typed into its fields, and the document kept of it.

The document holds what was typed, word for word: "1,5" and "less than 1 g" stay so; reading them is decoding's task.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from batchwright.base.nutrients import PANEL_KEYS

PANEL_HEAD = ("scheme", "basis", "serving_g")
PANEL_LABELS = {
    "energy_kcal": "Energy, kcal", "fat_g": "Fat, g", "saturated_fat_g": "Saturated fat, g",
    "trans_fat_g": "Trans fat, g", "carbohydrate_g": "Carbohydrate, g", "fiber_g": "Fibre, g",
    "sugars_g": "Sugars, g", "added_sugars_g": "Added sugars, g", "protein_g": "Protein, g", "salt_g": "Salt, g",
    "sodium_mg": "Sodium, mg", "cholesterol_mg": "Cholesterol, mg", "calcium_mg": "Calcium, mg", "iron_mg": "Iron, mg",
    "potassium_mg": "Potassium, mg",
}  # fmt: skip
SIZES = {"length_mm": "Length, mm", "width_mm": "Width, mm", "thickness_mm": "Thickness, mm"}
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
    document["label"] = {"text": form.get("label.text", "").replace("\r\n", "\n")}
    document["food"] = _food(form, before.get("food", {}))
    panels = [_panel(form, place) for place in range(MOST_PANELS)]
    document["panels"] = [panel for panel in panels if panel]
    document["teardown"] = _teardown(form, before.get("teardown", {}))
    document["match"] = _matches(form, before.get("match", {}))
    return {key: value for key, value in document.items() if value not in ({}, [], None)}


def _food(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, Any]:
    food = {key: value for key, value in before.items() if key not in ("name", "sort", "baked")}
    for key in ("name", "sort"):
        if form.get(f"food.{key}", "").strip():
            food[key] = form[f"food.{key}"].strip()
    if form.get("food.baked") in ("yes", "no"):
        food["baked"] = form["food.baked"] == "yes"
    return food


def _panel(form: Mapping[str, str], place: int) -> dict[str, str]:
    """Return one panel as typed; empty where nothing but its heads stands in it."""
    typed = {key: form.get(f"panel{place}.{key}", "").strip() for key in (*PANEL_HEAD, *PANEL_KEYS, "text")}
    if not any(typed[key] for key in (*PANEL_KEYS, "text")):
        return {}
    return {key: value for key, value in typed.items() if value}


def _teardown(form: Mapping[str, str], before: Mapping[str, Any]) -> dict[str, Any]:
    shown = {"pieces_g", "knife_g", "parts_g", *SIZES, "brix"}
    found = {key: value for key, value in before.items() if key not in shown and not key.endswith("_brix")}
    for key in ("pieces_g", *SIZES):
        if figures := weights(form.get(f"teardown.{key}", "")):
            found[key] = figures
    if figures := weights(form.get("teardown.knife_g", "")):
        found["knife_g"] = figures[0] if len(figures) == 1 else figures
    parts: dict[str, Any] = {}
    for place in range(MOST_PARTS):
        name, figures = form.get(f"part{place}.name", "").strip(), weights(form.get(f"part{place}.g", ""))
        if name and figures:
            parts[name] = figures
        brix = weights(form.get(f"part{place}.brix", ""))
        if name and brix:
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
        "teardown.knife_g": _lines(teardown.get("knife_g")),
    }
    for key in ("pieces_g", *SIZES):
        fields[f"teardown.{key}"] = _lines(teardown.get(key))
    for place, (name, figures) in enumerate(teardown.get("parts_g", {}).items()):
        fields[f"part{place}.name"], fields[f"part{place}.g"] = name, _lines(figures)
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
