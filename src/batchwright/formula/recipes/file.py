"""Any recipe a cook hands over, told apart: our JSON, our TOML, a saved page, pasted text."""

from __future__ import annotations

import json
from collections.abc import Mapping
from math import isfinite
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.formula import flat_lines
from batchwright.formula.recipes.forgiven import looks_like_toml
from batchwright.formula.recipes.text import NO_DATA, read_recipe
from batchwright.formula.recipes.toml import formula_from_toml, formula_to_toml
from batchwright.formula.records import PROCESSES, Formula, Line, Part
from batchwright.formula.weighing.weigh import weigh_recipe
from batchwright.pantry import shelf

__all__ = ["LONGEST", "formula_from_json", "formula_from_text", "formula_to_toml"]

LONGEST = 10_000_000  # characters; a saved page with its scripts seldom has more than a tenth of that
MOST_FAULTS = 8  # more of a kind say nothing new
_PAGE_KEYS = ("@context", "@graph", "@type", "recipeIngredient")


def formula_from_text(text: str, convention: str = "") -> Formula:
    """Return the formula a text holds; the one door for every recipe.

    text: what `weigh --json` or any command printed as a formula; a recipe file (TOML with [formula] or [[parts]]); a
    saved web page, or JSON, with schema.org Recipe data; or a recipe as people paste it [at most 10,000,000
    characters]. convention: how cups are filled and whose they are, "" for as the recipe shows, else as wide as cooks
    differ. Lines that cannot be weighed stay, without grams. Raises InputError for broken JSON or TOML, wrong values,
    a text without an ingredient line, and a recipe in which no line has an amount.
    """
    if len(text) > LONGEST:
        raise InputError([Fault("recipe", f"{len(text)} characters", f"at most {LONGEST} characters", "cut the file")])
    if not text.strip():
        raise InputError([Fault("recipe", "nothing", "a recipe", "paste the ingredient list, or give a file")])
    plain = text.lstrip("\ufeff \t\r\n")
    document = _json(plain)
    if isinstance(document, Mapping) and not any(key in document for key in _PAGE_KEYS):
        formula = formula_from_json(document)
    elif document is None and looks_like_toml(plain):
        formula = formula_from_toml(plain, convention)
    else:
        formula = weigh_recipe(read_recipe(plain), convention)
    return _checked(formula, text)


def _json(text: str) -> Any:
    """Return what a JSON text holds, None for what is no JSON; raises InputError for JSON that is broken."""
    if text[:1] not in ("{", "["):
        return None
    try:
        return json.loads(text)
    except (json.JSONDecodeError, RecursionError) as fault:
        begins = text[1:].lstrip()[:1]
        if begins in ('"', "{", "}") and not looks_like_toml(text):
            hint = "give the whole file as it was printed, or paste the recipe as plain text"
            raise InputError([Fault("recipe JSON", _broken_at(text, fault), "JSON that is whole", hint)]) from fault
        return None


def _broken_at(text: str, fault: json.JSONDecodeError | RecursionError) -> str:
    """Return where JSON breaks: the line, and the words before the place."""
    if isinstance(fault, RecursionError):
        return "lists within lists without end"
    before = " ".join(text[max(0, fault.pos - 60) : fault.pos].split())
    return f"line {fault.lineno}, broken behind: {before[-50:]}"


def formula_from_json(document: Mapping[str, Any]) -> Formula:
    """Return the formula of a JSON document.

    document: what `Formula.to_json` wrote, also under the key "formula", or a decoded original ("one_formula"). Raises
    InputError with every fault found.
    """
    inner = document.get("formula")
    if isinstance(inner, Mapping) and "parts" in inner:
        document = inner
    if "parts" not in document or _decoded(document):
        if isinstance(document.get("one_formula"), list):
            return _from_decoded(document)
        hint = 'a formula looks like {"parts": [{"name": "dough", "lines": [...]}]}'
        raise InputError([Fault("parts", "not there", "the list of parts of a formula", hint)])
    faults: list[Fault] = []
    parts = document["parts"]
    if not isinstance(parts, list):
        raise InputError([Fault("parts", parts, "a list of parts")])
    for place, part in enumerate(parts, start=1):
        if not isinstance(part, Mapping) or not isinstance(part.get("lines"), list):
            faults.append(Fault(f"parts {place}", part, "a part with a name and a list of lines"))
            continue
        for number, line in enumerate(part["lines"], start=1):
            _check_line(line, f"parts {place}, line {number}", faults)
    _check_head(document, faults)
    if faults:
        raise InputError(faults)
    named = [{**part, "name": part.get("name") or ""} for part in parts]
    try:
        formula = Formula.from_json({**document, "parts": named})
        formula.to_json()  # what cannot be written back cannot be worked with
        return formula
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        hint = "print it again: batchwright weigh FILE --json"
        raise InputError(
            [Fault("formula", f"{type(fault).__name__}: {fault}"[:200], "as --json prints it", hint)]
        ) from fault


_LINE_WORDS = ("ingredient", "match", "preparation", "stage", "size", "filling", "unit")
_HEAD_WORDS = ("name", "convention", "credit")


def _check_head(document: Mapping[str, Any], faults: list[Fault]) -> None:
    """Add what is wrong outside the lines of a formula: words, numbers, the names and losses of parts, the method."""
    wrong = [(key, document.get(key)) for key in _HEAD_WORDS]
    for place, part in enumerate(document["parts"], start=1):
        if not isinstance(part, Mapping):
            continue
        wrong.append((f"parts {place}, name", part.get("name")))
        loss = part.get("bake_loss_percent")
        ends = _ends_of(loss)
        if loss is not None and (ends is None or ends[0] < 0.0 or ends[2] > 95.0):
            faults.append(Fault(f"parts {place}, bake_loss_percent", loss, "low, likely, high in this order, 0 to 95"))
    steps = document.get("method") or []
    if isinstance(steps, list):
        wrong += [(f"method {place}", step.get("text")) for place, step in enumerate(steps, start=1)
                  if isinstance(step, Mapping)]  # fmt: skip
    faults += [
        Fault(where, value, "text") for where, value in wrong if value is not None and not isinstance(value, str)
    ]
    piece = document.get("piece_g")
    if piece is not None and not (_is_number(piece) and piece > 0.0):
        faults.append(Fault("piece_g", piece, "above 0 g"))


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and isfinite(value)


def _ends_of(value: Any) -> tuple[float, float, float] | None:
    """Return low, likely and high of an estimate as JSON holds it; None where they are not three numbers in order."""
    ends = [value.get(key) for key in ("low", "likely", "high")] if isinstance(value, Mapping) else []
    if not ends or not all(_is_number(each) for each in ends):
        return None
    low, likely, high = (float(each or 0.0) for each in ends)
    return (low, likely, high) if low <= likely <= high else None


def _check_line(line: Any, where: str, faults: list[Fault]) -> None:
    if not isinstance(line, Mapping) or not isinstance(line.get("text"), str):
        faults.append(Fault(where, line, 'a line with its "text"'))
        return
    for key in _LINE_WORDS:
        if line.get(key) is not None and not isinstance(line[key], str):
            faults.append(Fault(f"{where}, {key}", line[key], "text"))
    if not isinstance(line.get("item", ""), str):
        faults.append(Fault(f"{where}, item", line["item"], "text"))
    grams = line.get("grams")
    ends = _ends_of(grams)
    if grams is not None and (ends is None or ends[0] < 0.0):
        allowed = "low, likely and high in this order, 0 g or more"
        faults.append(Fault(f"{where}, grams", grams, allowed, line["text"]))
    if line.get("process", "") not in PROCESSES:
        faults.append(Fault(f"{where}, process", line["process"], ", ".join(each for each in PROCESSES if each)))
    if not isinstance(line.get("also", []), list):
        faults.append(Fault(f"{where}, also", line["also"], "a list of lines"))
        return
    for each in line.get("also", []):
        _check_line(each, f"{where}, also", faults)


def _decoded(document: Mapping[str, Any]) -> bool:
    """Tell a decoded original, whose "parts" are shares, from a formula."""
    return isinstance(document.get("one_formula"), list) and "ingredients" in document


def _from_decoded(document: Mapping[str, Any]) -> Formula:
    """Return the formula in grams that decoding an original gave."""
    parts: dict[str, list[Line]] = {}
    faults: list[Fault] = []
    for place, row in enumerate(document["one_formula"], start=1):
        name = row.get("name") if isinstance(row, Mapping) else None
        grams = row.get("grams") if isinstance(row, Mapping) else None
        if not isinstance(name, str) or not isinstance(grams, (int, float)) or not 0.0 <= grams < float("inf"):
            faults.append(Fault(f"one_formula {place}", row, "a name and grams"))
            continue
        item = "water" if name.startswith("dough water") else name
        found = shelf.match(item)
        line = Line(f"{grams:g} g {name}", item, Estimate(grams, grams, grams, unit="g"), found.ingredient, found.how)
        parts.setdefault(str(row.get("part", "")), []).append(line)
    if faults:
        raise InputError(faults)
    note = "one formula of many that fit the label; its ranges stand in the decoded answer"
    return Formula(str(document.get("name", "")), tuple(Part(name, tuple(lines)) for name, lines in parts.items()),
                   notes=(note,))  # fmt: skip


def _checked(formula: Formula, text: str) -> Formula:
    """Return the formula where it can be worked with; raises InputError that shows what was read."""
    lines = flat_lines(formula)
    if NO_DATA in formula.notes:
        text = "\n".join(each.line.text for each in lines) or "\n".join(step.text for step in formula.method) or text
    begins = " / ".join(line.strip() for line in text.splitlines() if line.strip())[:160]
    if not lines and NO_DATA not in formula.notes:
        hint = "it reads like a method or a story: paste the ingredient list too, one ingredient on a line"
        raise InputError([Fault("recipe", begins, "at least one ingredient line", hint)])
    weighed = any(each.line.grams is not None and each.line.grams.likely > 0.0 for each in lines)
    if NO_DATA in formula.notes and not weighed:
        hint = "save the page on which the recipe itself stands, or copy its ingredient list"
        raise InputError([Fault("page", begins, "a web page with a recipe in it", hint)])
    if not weighed:
        allowed = "at least one line whose amount can be weighed"
        hint = "write an amount before each ingredient: 300 g flour, 1 cup sugar"
        said = [(each.line, _why_not(each.line)) for each in lines]
        if not any(why for _, why in said):
            raise InputError([Fault("amounts", "; ".join(line.text for line, _ in said)[:160], allowed, hint)])
        raise InputError([Fault(f"line {place}", line.text, "an amount in cups, spoons, pieces, ounces or grams", why)
                          for place, (line, why) in enumerate(said, start=1) if why][:MOST_FAULTS])  # fmt: skip
    return formula


def _why_not(line: Line) -> str:
    """Return why a line with an amount could not be weighed, empty for one without."""
    if not line.amounts and line.grams is None and not any("amount" in each for each in line.assumptions):
        return ""
    words = [each for each in line.assumptions if "amount" in each or "weigh" in each or "divided" in each]
    return "" if any(each.startswith("no amount is written") for each in words) else "; ".join(words[:2])
