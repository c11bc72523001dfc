"""A recipe file as people write it without the reference at hand, brought to the heads and keys it should have."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from batchwright.base.errors import Fault

CURLY = re.compile(r"[“”‘’„«»]")
HEAD_WORDS = {"title": "name", "recipe": "name", "makes": "yield", "serves": "yield", "yields": "yield",
              "servings": "yield", "portions": "yield", "source": "credit", "author": "credit", "from": "credit",
              "steps": "method", "instructions": "method", "directions": "method", "note": "notes",
              "description": "notes", "piece": "piece_g", "cups": "convention"}  # fmt: skip
PART_WORDS = {
    "title": "name", "part": "name", "heading": "name", "ingredients": "lines", "ingredient": "lines", "items": "lines",
    "line": "lines", "steps": "method", "instructions": "method", "directions": "method",
    "bake_loss": "bake_loss_percent", "loss": "bake_loss_percent", "loss_percent": "bake_loss_percent",
}  # fmt: skip
LINE_WORDS = {"name": "item", "ingredient_name": "item", "g": "grams", "gram": "grams", "mass_g": "grams",
              "weight_g": "grams", "prep": "preparation"}  # fmt: skip
AMOUNT_WORDS = ("amount", "quantity", "qty")
HEADS = ("formula", "recipe", "parts", "part")
_HEAD = re.compile(r"^[ \t]*\[{1,2}[ \t]*(?:formula|parts)[ \t]*\]{1,2}[ \t]*(?:#.*)?$", re.M)
_OTHER_HEAD = re.compile(
    r"^[ \t]*\[{1,2}[ \t]*(?:formula|recipe|parts?|parts?\.[^\]\n]+|ingredients?)[ \t]*\]{1,2}[ \t]*(?:#.*)?\n"
    r"(?:[ \t]*(?:#.*)?\n)*[ \t]*[\"'\w][^=\n]*=",
    re.M | re.I,
)
_LIST = re.compile(r"^[ \t]*(?:ingredients|lines|parts)[ \t]*=[ \t]*\[", re.M | re.I)


def looks_like_toml(text: str) -> bool:
    """Tell whether a text is meant as a recipe file.

    It has a head [formula] or [[parts]] on a line of its own; or one such as [[part]] or [recipe] with a key under it,
    or a key with a list of lines.
    """
    return any(each.search(text) is not None for each in (_HEAD, _OTHER_HEAD, _LIST))


def broken(text: str, fault: Exception) -> Fault:
    """Return where a recipe file is no TOML, with the line as written and what to do about it."""
    found = re.search(r"line (\d+)", str(fault))
    rows = text.splitlines()
    at = int(found.group(1)) if found and int(found.group(1)) <= len(rows) else 0
    row = rows[at - 1].strip() if at else ""
    hint = "close every list with ], every text with a quote; batchwright takes a pasted recipe as well"
    if CURLY.search(row):
        hint = 'write straight quotes: "..."'
    elif "overwrite" in str(fault) or "twice" in str(fault):
        hint = "it is given twice: leave one of the two out"
    elif row and "=" not in row and row[:1] not in "[]{},":
        hint = f'put ingredient lines between quotes into a list: lines = ["{row[:40]}", "..."]'
    elif re.match(r"[\w. ]+=\s*[^\W\d]", row):
        key, _, value = row.partition("=")
        hint = f'write text between quotes: {key.strip()} = "{value.strip()[:40]}"'
    said = f"line {at}: {row[:80]}" if row else str(fault)[:200]
    return Fault("recipe file", said, "TOML", hint)


def forgiven(document: Mapping[str, Any], faults: list[Fault]) -> dict[str, Any]:
    """Return the document of a recipe file with its heads and keys under their own names.

    Accepted: [recipe] for [formula], keys of the formula without a head, [[part]] for [[parts]], one [parts] table or
    tables by name ([parts.dough]), ingredients for lines, a list of lines without any part, and the words of
    HEAD_WORDS, PART_WORDS and LINE_WORDS. Left as it is: all else. faults: gets keys given twice.
    """
    names = (*HEADS, "ingredients", "lines", *HEAD_WORDS)
    plain = {key.casefold() if key.casefold() in names else key: value for key, value in document.items()}
    head: dict[str, Any] = {}
    for name in ("formula", "recipe"):
        value = plain.pop(name, None)
        if isinstance(value, Mapping):
            _into(head, value, HEAD_WORDS, name, faults)
        elif isinstance(value, str) and name == "recipe":
            head["name"] = value
        elif value is not None:
            plain[name] = value
    known = ("name", "yield", "piece_g", "convention", "credit", "notes", "method", *HEAD_WORDS)
    _into(head, {key: plain.pop(key) for key in list(plain) if key in known}, HEAD_WORDS, "", faults)
    loose = _loose_lines(head, plain)
    parts = _parts(plain, faults)
    if loose is not None and not parts:
        parts = [{"lines": loose}]
    elif loose is not None and isinstance(parts, list):
        parts = [*parts, {"lines": loose}]
    return {**plain, **({"formula": head} if head else {}), **({"parts": parts} if parts is not None else {})}


def _loose_lines(head: dict[str, Any], plain: dict[str, Any]) -> Any:
    """Return the lines that stand under no part, taken out of where they stood; None without any."""
    for table in (head, plain):
        for key in ("lines", "ingredients"):
            value = table.get(key)
            if isinstance(value, (list, str)):
                return _lines(table.pop(key))
    amounts = plain.get("ingredients")  # [ingredients] flour = 300: a table of grams or of amounts as people write them
    if isinstance(amounts, Mapping) and amounts and not any(isinstance(each, Mapping) for each in amounts.values()):
        del plain["ingredients"]
        return [{"item": name, "grams": value} if not isinstance(value, str) else f"{value} {name}"
                for name, value in amounts.items()]  # fmt: skip
    return None


def _parts(plain: dict[str, Any], faults: list[Fault]) -> Any:
    """Return the parts as a list of tables, as far as they are meant as such; None where there are none."""
    found: Any = plain.pop("parts", None)
    other = plain.pop("part", None)
    if found is not None and other is not None:
        faults.append(Fault("part", "[[part]] and [[parts]]", "one of the two", "write [[parts]] before each part"))
    found = other if found is None else found
    if isinstance(found, Mapping):
        named = found and all(isinstance(part, Mapping) for part in found.values())
        found = [{"name": name, **part} for name, part in found.items()] if named else [found]
    if not isinstance(found, list) or not all(isinstance(part, Mapping) for part in found):
        return found
    parts = []
    for place, part in enumerate(found, start=1):
        kept: dict[str, Any] = {}
        _into(kept, part, PART_WORDS, f"parts {place}", faults)
        amounts = {key: each for key, each in kept.items() if key not in PART_WORDS.values() and _is_amount(each)}
        if "lines" not in kept and amounts:  # flour = 300 under the head of its part
            kept = {key: each for key, each in kept.items() if key not in amounts}
            kept["lines"] = [{"item": key, "grams": each} for key, each in amounts.items()]
        if "lines" in kept:
            kept["lines"] = _lines(kept["lines"])
        parts.append(kept)
    return parts


def _is_amount(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _lines(value: Any) -> Any:
    """Return lines with the words of their tables under their own names, an amount with its unit as text."""
    if isinstance(value, Mapping):
        value = [value]
    if not isinstance(value, list):
        return value
    found: list[Any] = []
    for line in value:
        if isinstance(line, list) and len(line) == 2:  # ["flour", 300] and ["300 g", "flour"]
            line = _pair(line)
        elif isinstance(line, Mapping):
            line = _line({LINE_WORDS.get(str(key).casefold(), str(key)): each for key, each in line.items()})
        found.append(line)
    return found


def _pair(pair: list[Any]) -> Any:
    if isinstance(pair[0], str) and _is_amount(pair[1]):
        return {"item": pair[0], "grams": pair[1]}
    return " ".join(pair) if all(isinstance(each, str) for each in pair) else pair


def _line(line: dict[str, Any]) -> Any:
    grams = line.get("grams")
    if isinstance(grams, str):
        weight = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:g|grams?)?\s*", grams)
        line["grams"] = float(weight.group(1)) if weight else grams
    if "item" not in line and isinstance(line.get("ingredient"), str):
        line["item"] = line.pop("ingredient")
    amount = next((line[key] for key in AMOUNT_WORDS if key in line), None)
    if amount is None or "grams" in line or isinstance(amount, (bool, list, dict)):
        return line
    rest = {key: each for key, each in line.items() if key not in (*AMOUNT_WORDS, "unit", "item")}
    if rest.keys() <= {"preparation"} and isinstance(line.get("item"), str) and isinstance(line.get("unit", ""), str):
        after = f", {rest['preparation']}" if rest.get("preparation") else ""
        return " ".join(str(each) for each in (amount, line.get("unit", ""), line["item"]) if each != "") + after
    return line


def _into(
    kept: dict[str, Any], table: Mapping[str, Any], words: Mapping[str, str], where: str, faults: list[Fault]
) -> None:
    """Put a table's values under their own names; a fault where two words mean one key and both are given."""
    for key, value in table.items():
        plain = key.casefold()
        name = words.get(plain, plain if plain in words.values() else key)
        if name in kept:
            field = f"{where}.{key}" if where else key
            faults.append(Fault(field, value, f"{name} once", f"{name} is given already: leave one of the two out"))
        else:
            kept[name] = value
