"""Any recipe to grams: the whole of it, or lines that have nothing to do with one another."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.formula import LinePercent, bakers_table, flat_lines, flour_g, total_g
from batchwright.formula.lines.line import read_line
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula, Line
from batchwright.formula.weighing.weigh import weigh_line

MOST_LINES = 200_000
LINE_ENDS = re.compile(r"\r\n|\r|\n")  # not those other marks that stand within pasted lines


@dataclass(frozen=True, slots=True)
class Weighing:
    """A recipe in grams with its flour, its total and every weighed line in percent, by its place in the recipe."""

    formula: Formula
    flour: Estimate
    total: Estimate
    percents: dict[int, LinePercent]

    def to_json(self) -> dict[str, Any]:
        """Return the formula as every command reads it back, with flour and total [g]."""
        plain = self.formula.to_json()
        plain["flour_g"] = round(self.flour.likely, 2)
        plain["total_g"] = round(self.total.likely, 2)
        return plain


def weigh_text(text: str, convention: str = "", counted: tuple[str, ...] = ()) -> Weighing:
    """Return any recipe in grams.

    text: a pasted recipe, a saved page, the project's TOML or what `weigh --json` printed; convention: how cups are
    filled and whose they are ("dip and sweep", "spooned", "128 g", "metric cup" ...), "" for as the recipe shows, else
    as wide as cooks differ; counted: what counts as flour besides flour ("cocoa", "starch"). Raises InputError for a
    text without a recipe and for a choice that is not allowed.
    """
    return weigh_formula(formula_from_text(text, convention), counted)


def weigh_formula(formula: Formula, counted: tuple[str, ...] = ()) -> Weighing:
    """Return a formula's flour, total and percents; see `weigh_text` for `counted`."""
    weighed = any(each.line.grams for each in flat_lines(formula))
    table = bakers_table(formula, counted) if weighed and total_g(formula).likely > 0 else ()
    return Weighing(formula, flour_g(formula, counted), total_g(formula), {row.at: row for row in table})


def weigh_lines(text: str, convention: str = "") -> tuple[Line, ...]:
    """Return each non-empty line of a text in grams, one by one, in order.

    convention: as for `weigh_text`. Raises InputError for a convention that is not known, for no line at all or more
    than 200,000.
    """
    lines = [line for line in LINE_ENDS.split(text) if line.strip()]
    if not 0 < len(lines) <= MOST_LINES:
        raise InputError([Fault("lines", len(lines), f"1 to {MOST_LINES} lines", "One ingredient a line.")])
    return tuple(weigh_line(read_line(line), convention) for line in lines)
