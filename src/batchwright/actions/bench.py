"""A rebuild's formulas in the book: pasted, weighed, changed by hand, fitted, held against the original.

A formula's document is `Formula.to_json()` with `pasted`, the text it came from, and `locks`, the lines that stay.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from batchwright.actions.formula import Weighing, weigh_formula
from batchwright.actions.plain_records import mistyped
from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.comparing.records import Band, BandAxis, BandPart
from batchwright.formula.difference import difference
from batchwright.formula.formula import with_grams
from batchwright.formula.mixture import flat_lines
from batchwright.formula.recipes.file import formula_from_json, formula_from_text
from batchwright.formula.records import Formula

OWN = ("pasted", "locks")
LONGEST_NAME = 80
MOST_FAULTS = 20


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One weighed line on the page: its place among all lines, part, item, grams, percents, what was assumed."""

    at: int
    part: str
    item: str
    text: str
    grams: Estimate | None
    bakers_percent: Estimate | None
    total_percent: Estimate | None
    doubt_percent: float | None
    match: str
    ingredient: str
    assumptions: tuple[str, ...]
    locked: bool


def document_of(formula: Formula, pasted: str = "", locks: Sequence[str] = ()) -> dict[str, Any]:
    """Return a formula as the book keeps it."""
    return {**formula.to_json(), "pasted": pasted, "locks": list(locks)}


def formula_of(document: Mapping[str, Any]) -> Formula:
    """Return the formula of a document of the book."""
    return Formula.from_json({key: value for key, value in document.items() if key not in OWN})


def pasted_document(text: str, convention: str = "") -> dict[str, Any]:
    """Return the document of a recipe as pasted: in grams, with the text kept.

    text: a recipe in any form [up to 1 MB]; convention: whose cup, empty for as the recipe shows. Raises InputError for
    a text without a recipe.
    """
    return document_of(formula_from_text(text, convention), text)


def checked_document(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a formula's document as a program sent it, every value checked; raises InputError with every fault."""
    try:
        formula = formula_from_json({key: value for key, value in document.items() if key not in OWN})
    except (OverflowError, RecursionError) as error:  # a whole number of a thousand digits, lines without end
        raise InputError([Fault("formula", type(error).__name__, "figures and lists of a usual size")]) from error
    faults = [Fault(where, value, allowed) for where, value, allowed in islice(mistyped(Formula, formula), MOST_FAULTS)]
    pasted, locks = document.get("pasted", ""), document.get("locks", [])
    if not isinstance(pasted, str):
        faults.append(Fault("pasted", pasted, "text"))
    if not isinstance(locks, list) or not all(isinstance(each, str) for each in locks):
        faults.append(Fault("locks", locks, "a list of the names of lines"))
    if faults:
        raise InputError(faults)
    return document_of(formula, pasted, locks)


def named(document: Mapping[str, Any]) -> str:
    """Return what a formula is called on the pages: its own name, else its first line."""
    formula = formula_of(document)
    if formula.name.strip():
        return formula.name.strip()[:LONGEST_NAME]
    first = next((line.item for part in formula.parts for line in part.lines if line.item), "")
    return f"Recipe with {first}"[:LONGEST_NAME] if first else "Recipe"


def bench_rows(document: Mapping[str, Any]) -> tuple[Weighing, list[BenchRow]]:
    """Return a formula's totals and its lines as the page shows them."""
    weighing = weigh_formula(formula_of(document))
    locks = set(document.get("locks", ()))
    rows = []
    for at, flat in enumerate(flat_lines(weighing.formula)):
        line, percent = flat.line, weighing.percents.get(at)
        rows.append(
            BenchRow(
                at, flat.part_name, line.item or line.text, line.text, line.grams,
                percent.bakers_percent if percent else None, percent.total_percent if percent else None,
                line.doubt_percent, line.match, line.ingredient or "", line.assumptions, _lock_name(flat) in locks,
            )
        )  # fmt: skip
    return weighing, rows


def _lock_name(flat: Any) -> str:
    return str(flat.line.item or flat.line.text)


def with_amounts(document: Mapping[str, Any], typed_g: Mapping[int, float], locked: Sequence[int]) -> dict[str, Any]:
    """Return a document with amounts the cook weighed or set [place among all lines -> g], and the lines that stay."""
    formula = formula_of(document)
    flat = flat_lines(formula)
    unknown = [at for at in (*typed_g, *locked) if not 0 <= at < len(flat)]
    if unknown:
        raise InputError([Fault("line", unknown[0], f"a line of this formula, 0 to {len(flat) - 1}")])
    changed = {at: grams for at, grams in typed_g.items() if _moved(flat[at].line.grams, grams)}
    locks = list(dict.fromkeys(_lock_name(flat[at]) for at in locked))
    return document_of(with_grams(formula, changed) if changed else formula, str(document.get("pasted", "")), locks)


def _moved(before: Estimate | None, grams: float) -> bool:
    return before is None or abs(round(before.likely, 2) - grams) > 0.005


def changes_between(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Return what changed from one version of a formula to the next, in words and grams."""
    return [change.words for change in difference(formula_of(before), formula_of(after))]


def recipe_text(document: Mapping[str, Any]) -> str:
    """Return a formula as text that every command and action takes back."""
    return json.dumps(formula_of(document).to_json(), ensure_ascii=False)


def band_to_json(band: Band) -> dict[str, Any]:
    """Return a band as the book keeps it with an answer."""
    return {
        "name": band.name, "consistent": band.consistent, "ingredients": [list(pair) for pair in band.ingredients],
        "axes": [{"key": one.key, "name": one.name, "kind": one.kind, "estimate": one.estimate.to_json()}
                 for one in band.axes],
        "parts": [{"name": part.name, "contents": {key: one.to_json() for key, one in part.contents.items()}}
                  for part in band.parts],
    }  # fmt: skip


def band_from_json(document: Mapping[str, Any]) -> Band:
    """Read back what `band_to_json` wrote."""
    axes = tuple(BandAxis(one["key"], one["name"], one["kind"], Estimate.from_json(one["estimate"]))
                 for one in document["axes"])  # fmt: skip
    parts = tuple(BandPart(part["name"], {key: Estimate.from_json(one) for key, one in part["contents"].items()})
                  for part in document["parts"])  # fmt: skip
    listed = tuple((name, part) for name, part in document["ingredients"])
    return Band(document["name"], axes, parts, listed, document["consistent"])
