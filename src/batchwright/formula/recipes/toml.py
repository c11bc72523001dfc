"""The recipe file: a formula in TOML as a cook writes it down, read and written."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from math import isfinite
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.nutrients import COMPOSITION_KEYS, DETAIL_KEYS, SODIUM_PER_SALT
from batchwright.formula.lines.line import read_line
from batchwright.formula.mixture import flat_lines
from batchwright.formula.recipes.forgiven import broken, forgiven
from batchwright.formula.recipes.steps import step_of
from batchwright.formula.records import (
    PROCESSES,
    Formula,
    Line,
    Own,
    Part,
    ReadLine,
    ReadPart,
    ReadRecipe,
    Step,
    Written,
    Yield,
)
from batchwright.formula.weighing.weigh import weigh_recipe
from batchwright.pantry import shelf
from batchwright.pantry.ingredient import classes

FORMULA_KEYS = ("name", "yield", "piece_g", "convention", "credit", "notes", "method")
PART_KEYS = ("name", "bake_loss_percent", "lines", "method")
LINE_KEYS = ("item", "grams", "process", "stage", "preparation", "ingredient", "text", "to_g", "to_brix")
_OF_THE_SHELF = ("only its kind is known", "not on the shelf", "taken as ")
"""What weighing says of a name that the shelf does not know; no longer so where the file tells what it is."""
TABLES = ("formula", "parts", "match", "ingredients")
_YIELD = re.compile(r"(\d+(?:\.\d+)?)\s*(?:(?:-|–|to)\s*(\d+(?:\.\d+)?))?\s*([^\d].*)?")


def formula_from_toml(text: str, convention: str = "") -> Formula:
    """Return the formula a recipe file holds; docs/reference/recipe-file.md describes it.

    text: TOML; convention: how cups are filled, goes before what the file says. Raises InputError for broken TOML (with
    the line) and with every wrong value found.
    """
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        raise InputError([broken(text, fault)]) from fault
    return formula_from_mapping(document, convention)


def formula_from_mapping(document: Mapping[str, Any], convention: str = "") -> Formula:
    """Return the formula held in the tables of a recipe file; raises InputError with every fault found."""
    faults: list[Fault] = []
    document = forgiven(document, faults)
    head = _table(document, "formula", faults)
    _strange(head, FORMULA_KEYS, "formula", faults)
    _strange(document, TABLES, "", faults)
    own = own_ingredients(_table(document, "ingredients", faults), faults)
    chosen = _match(_table(document, "match", faults), own, faults)
    parts = document.get("parts", [])
    if not isinstance(parts, list) or not all(isinstance(part, Mapping) for part in parts):
        faults.append(Fault("parts", parts, "tables, each under a head [[parts]]"))
        parts = []
    if not parts:
        faults.append(Fault("parts", "none", "at least one", "write [[parts]] and under it lines = [...]"))
    read: list[ReadPart] = []
    given: list[list[Mapping[str, Any]]] = []
    losses: list[Estimate | None] = []
    method = _method(head.get("method"), "", "formula.method", faults)
    for place, part in enumerate(parts, start=1):
        where = f"parts {place}"
        _strange(part, PART_KEYS, where, faults)
        lines, tables = _lines(part.get("lines"), own, f"{where}.lines", faults)
        name = _words(part, "name", where, faults)
        read.append(ReadPart(name, tuple(lines)))
        given.append(tables)
        losses.append(_loss(part.get("bake_loss_percent"), f"{where}.bake_loss_percent", faults))
        method += _method(part.get("method"), name, f"{where}.method", faults)
    named = {key: _words(head, key, "formula", faults) for key in ("name", "convention", "credit", "notes")}
    piece = _number(head.get("piece_g"), "formula.piece_g", faults)
    makes = _makes(head.get("yield"), faults)
    if faults:
        raise InputError(faults)
    notes = tuple(line for line in named["notes"].splitlines() if line.strip())
    recipe = ReadRecipe(named["name"], tuple(read), (), tuple(method), makes, named["credit"], notes)
    weighed = weigh_recipe(recipe, convention or named["convention"])
    done = []
    for part, tables, loss in zip(weighed.parts, given, losses, strict=True):
        finished = tuple(_finished(line, said, chosen, own) for line, said in zip(part.lines, tables, strict=True))
        done.append(Part(part.name, finished, loss))
    return replace(weighed, parts=tuple(done), piece_g=piece)


def _table(document: Mapping[str, Any], name: str, faults: list[Fault]) -> Mapping[str, Any]:
    table = document.get(name, {})
    if isinstance(table, Mapping):
        return table
    faults.append(Fault(name, table, f"a table under the head [{name}]"))
    return {}


def _strange(table: Mapping[str, Any], known: tuple[str, ...], where: str, faults: list[Fault]) -> None:
    for key in table:
        if key not in known:
            faults.append(Fault(f"{where}.{key}" if where else key, key, ", ".join(known), "check the spelling"))


def _words(table: Mapping[str, Any], key: str, where: str, faults: list[Fault]) -> str:
    value = table.get(key, "")
    if isinstance(value, str):
        return value.strip()
    faults.append(Fault(f"{where}.{key}", value, "text between quotes"))
    return ""


def _number(value: Any, where: str, faults: list[Fault]) -> float | None:
    if value is None:
        return None
    if isinstance(value, (int, float)) and not isinstance(value, bool) and isfinite(value) and value > 0:
        return float(value)
    faults.append(Fault(where, value, "a number above 0"))
    return None


def _match(table: Mapping[str, Any], own: Mapping[str, Own], faults: list[Fault]) -> Mapping[str, str]:
    for key, value in table.items():
        if isinstance(value, str) and value.casefold() in own:
            continue
        if not isinstance(value, str) or shelf.match(value).ingredient is None:
            hint = "look it up: batchwright pantry find TEXT"
            faults.append(Fault(f"match.{key}", value, "a name of the shelf, in quotes", hint))
    return {key.casefold(): value for key, value in table.items() if isinstance(value, str)}


def own_ingredients(table: Mapping[str, Any], faults: list[Fault]) -> Mapping[str, Own]:
    """Return a cook's own ingredients under their names in small letters.

    table: name to a table of figures per 100 g, with the class on the shelf where it has one; faults: gets what is
    wrong.
    """
    found: dict[str, Own] = {}
    for name, value in table.items():
        where = f"ingredients.{name}"
        if not isinstance(value, Mapping):
            faults.append(Fault(where, value, "a table of figures per 100 g, such as fat_g = 33"))
            continue
        kind = value.get("class", "")
        if kind and kind not in classes():
            faults.append(Fault(f"{where}.class", kind, ", ".join(classes()), "or leave it out"))
        content: dict[str, float] = {}
        for key, figure in value.items():
            if key in ("class", "basis", "notes", "name"):
                continue
            known = "sodium_mg" if key == "salt_g" else key
            top = 1e5 if known.endswith("_mg") else 902.0 if known == "energy_kcal" else 100.0
            if known not in (*COMPOSITION_KEYS, *DETAIL_KEYS):
                faults.append(Fault(f"{where}.{key}", figure, "one of " + ", ".join(COMPOSITION_KEYS)))
            elif isinstance(figure, bool) or not isinstance(figure, (int, float)) or not 0.0 <= figure <= top:
                faults.append(Fault(f"{where}.{key}", figure, f"a number from 0 to {top:g}"))
            else:
                content[known] = 1000.0 * SODIUM_PER_SALT * figure if key == "salt_g" else float(figure)
        whole = sum(content.get(key, 0.0) for key in ("fat_g", "carbohydrate_g", "protein_g", "water_g"))
        if whole > 102.0:  # rounded figures of a packet may sum to a little over 100
            faults.append(Fault(where, f"{whole:g} g", "fat, carbohydrate, protein and water of 100 g in all"))
        found[name.casefold()] = Own(kind if isinstance(kind, str) else "", tuple(content.items()))
    return found


def _makes(value: Any, faults: list[Fault]) -> Yield | None:
    if value is None:
        return None
    if isinstance(value, (int, float)) and not isinstance(value, bool) and value > 0:
        return Yield(f"{value:g}", float(value), float(value))
    if not isinstance(value, str):
        faults.append(Fault("formula.yield", value, 'what it makes: "24 cookies", or a number'))
        return None
    found = _YIELD.search(value)
    if found is None:
        return Yield(value)
    low = float(found.group(1))
    return Yield(value, low, float(found.group(2) or low), (found.group(3) or "").strip())


def _loss(value: Any, where: str, faults: list[Fault]) -> Estimate | None:
    """Return a loss from a number, from [low, high], or from low, likely and high [0..95 %]."""
    if value is None:
        return None
    ends = _ends(value)
    if ends is None or ends[0] < 0.0 or ends[2] > 95.0:
        faults.append(Fault(where, value, "0 to 95 %, one number or [low, high]"))
        return None
    return Estimate(ends[1], ends[0], ends[2], unit="%")


def _ends(value: Any) -> tuple[float, float, float] | None:
    """Return low, likely, high of a number, of [low, high] or of a table with the three names; None for else."""
    if isinstance(value, Mapping):
        value = [value.get(name) for name in ("low", "likely", "high")]
    items = value if isinstance(value, list) else [value]
    if len(items) not in (1, 2, 3) or any(isinstance(each, bool) or not isinstance(each, (int, float)) or
                                          not isfinite(each) for each in items):  # fmt: skip
        return None
    ends = [float(each) for each in items]
    middle = ends[1] if len(ends) == 3 else (ends[0] + ends[-1]) / 2.0
    return (ends[0], middle, ends[-1]) if ends[0] <= middle <= ends[-1] else None


def _method(value: Any, part: str, where: str, faults: list[Fault]) -> list[Step]:
    if value is None:
        return []
    steps = value.splitlines() if isinstance(value, str) else value
    if not isinstance(steps, list) or not all(isinstance(step, str) for step in steps):
        faults.append(Fault(where, value, "text between quotes, or a list of such texts"))
        return []
    return [step_of(step.strip(), part) for step in steps if step.strip()]


def _lines(
    value: Any, own: Mapping[str, Own], where: str, faults: list[Fault]
) -> tuple[list[ReadLine], list[Mapping[str, Any]]]:
    """Return the lines as read, and beside each the table it was given as (empty for a line of text)."""
    if isinstance(value, str):
        value = [line for line in value.splitlines() if line.strip()]
    if not isinstance(value, list) or not value:
        faults.append(Fault(where, value, 'a list: lines = ["1 cup sugar", {item = "flour", grams = 300}]'))
        return [], []
    read: list[ReadLine] = []
    tables: list[Mapping[str, Any]] = []
    for place, line in enumerate(value, start=1):
        here = f"{where} {place}"
        if isinstance(line, str):
            read.append(read_line(line))
            tables.append({})
        elif isinstance(line, Mapping):
            found = _line(line, own, here, faults)
            if found is not None:
                read.append(found)
                tables.append(line)
        else:
            faults.append(Fault(here, line, 'text between quotes, or {item = "flour", grams = 300}'))
    return read, tables


def _line(table: Mapping[str, Any], own: Mapping[str, Own], where: str, faults: list[Fault]) -> ReadLine | None:
    before = len(faults)
    _strange(table, LINE_KEYS, where, faults)
    words = {key: _words(table, key, where, faults) for key in LINE_KEYS if key not in ("grams", "to_g", "to_brix")}
    if words["process"] not in PROCESSES:
        allowed = ", ".join(each for each in PROCESSES if each)
        faults.append(Fault(f"{where}.process", words["process"], allowed))
    if (
        words["ingredient"]
        and words["ingredient"].casefold() not in own
        and shelf.match(words["ingredient"]).ingredient is None
    ):
        hint = "look it up: batchwright pantry find TEXT"
        faults.append(Fault(f"{where}.ingredient", words["ingredient"], "a name of the shelf", hint))
    if not words["item"] and not words["text"]:
        faults.append(Fault(f"{where}.item", "", "the ingredient", 'such as {item = "flour", grams = 300}'))
    marks = {key: _number(table.get(key), f"{where}.{key}", faults) for key in ("to_g", "to_brix")}
    ends = _ends(table["grams"]) if "grams" in table else None
    if "grams" in table and (ends is None or ends[0] < 0.0):
        faults.append(Fault(f"{where}.grams", table["grams"], "0 g or more, one number or [low, high]"))
    if len(faults) > before:
        return None
    if ends is None:
        return read_line(words["text"] or words["item"])
    reduced = [f"reduced to {marks['to_g']:g} g" if marks["to_g"] else "",
               f"reduced to {marks['to_brix']:g} Brix" if marks["to_brix"] else ""]  # fmt: skip
    after = ", ".join(each for each in (words["preparation"], *reduced) if each)
    shown = f"{ends[0]:g} g" if ends[0] == ends[2] else f"{ends[0]:g} to {ends[2]:g} g"
    text = words["text"] or f"{shown} {words['item']}" + (f", {after}" if after else "")
    item = words["item"] or read_line(words["text"]).item
    return ReadLine(text, (Written(ends[0], ends[2], "gram"),), item, after=after)


def _finished(line: Line, table: Mapping[str, Any], chosen: Mapping[str, str], own: Mapping[str, Own]) -> Line:
    """Return a weighed line with what its table, and the tables of matches and own ingredients, say of it."""
    ingredient = str(table.get("ingredient", "")) or chosen.get(line.item.casefold(), "")
    mine = own.get((ingredient or line.item).casefold())
    if mine is not None:
        said = tuple(each for each in line.assumptions if not each.startswith(_OF_THE_SHELF))
        line = replace(line, ingredient=None, match="unknown", own=mine, assumptions=said)
    elif ingredient:
        line = replace(line, ingredient=shelf.match(ingredient).ingredient, match="name")
    also = tuple(_finished(each, {}, chosen, own) for each in line.also)
    process = str(table.get("process", "")) or line.process
    if table.get("to_g") or table.get("to_brix"):
        process = "reduced"
    line = replace(line, also=also, process=process, stage=str(table.get("stage", line.stage)))
    ends = _ends(table["grams"]) if isinstance(table.get("grams"), (Mapping, list)) else None
    if ends is not None:
        line = replace(line, grams=Estimate(ends[1], ends[0], ends[2], unit="g"))
    return line


def formula_to_toml(formula: Formula) -> str:
    """Return a formula as a recipe file, every line in grams with its range; `formula_from_toml` reads it back."""
    head = {"name": formula.name, "yield": formula.makes.text if formula.makes else "", "piece_g": formula.piece_g,
            "convention": formula.convention, "credit": formula.credit, "notes": "\n".join(formula.notes)}  # fmt: skip
    rows = ["[formula]", *(f"{key} = {_quoted(value)}" for key, value in head.items() if value)]
    steps = [step.text for step in formula.method]
    if steps:
        rows += ["method = [", *(f"    {_quoted(step)}," for step in steps), "]"]
    for part in formula.parts:
        rows += ["", "[[parts]]"]
        if part.name:
            rows.append(f"name = {_quoted(part.name)}")
        if part.bake_loss_percent is not None:
            loss = part.bake_loss_percent
            rows.append(f"bake_loss_percent = [{loss.low!r}, {loss.likely!r}, {loss.high!r}]")
        rows += ["lines = [", *(f"    {row}," for line in part.lines for row in _rows(line)), "]"]
    own = {each.line.item: each.line.own for each in flat_lines(formula) if each.line.own is not None}
    for name, mine in own.items():
        figures = [f"{key} = {_quoted(value)}" for key, value in mine.to_json().items() if value != ""]
        rows += ["", f"[ingredients.{_quoted(name)}]", *figures]
    return "\n".join(rows) + "\n"


def _rows(line: Line) -> list[str]:
    if line.grams is None:
        return [_quoted(line.text), *(row for each in line.also for row in _rows(each))]
    grams = f"{{low = {line.grams.low!r}, likely = {line.grams.likely!r}, high = {line.grams.high!r}}}"
    said = {"text": line.text, "item": line.item or line.text, "ingredient": line.ingredient, "process": line.process,
            "stage": line.stage, "preparation": line.preparation}  # fmt: skip
    if line.own is not None:
        said["ingredient"] = None
    table = ", ".join(f"{key} = {_quoted(value)}" for key, value in said.items() if value)
    return [f"{{{table}, grams = {grams}}}", *(row for each in line.also for row in _rows(each))]


def _quoted(value: Any) -> str:
    """Return a value as TOML: its strings take the escapes of JSON."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
