"""The cautions a recipe calls for: raw flour and egg, hot sugar, honey for babies ... each deferring to local codes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from batchwright.base.tables import rows
from batchwright.formula.records import Formula, Line
from batchwright.pantry.shelf import match
from batchwright.pantry.shelf_words import canonical
from batchwright.writeup.records import Caution
from batchwright.writeup.temperatures import temperatures_in

HOT_SUGAR_C = (110.0, 190.0)  # from thread to caramel: candy-stage tables (common practice); above it ovens begin
MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class _Row:
    """One caution with its triggers as they are compared: canonical words."""

    caution: str
    topic: str
    rule: str
    classes: frozenset[str]
    foods: tuple[str, ...]
    method: tuple[str, ...]
    unless: tuple[str, ...]
    wording: str
    source: str


@dataclass(frozen=True, slots=True)
class _Food:
    """One ingredient of the recipe: as it is shown, its class, all words of its line."""

    shown: str
    ingredient_class: str
    words: str


def cautions_of(formula: Formula, method: Sequence[str] = ()) -> tuple[Caution, ...]:
    """Return the cautions that the ingredients and the method of a recipe call for, in the order of the table.

    A line that is not known is judged by its words. Too many rather than too few: nothing here says that a recipe
    without a caution is safe. method: the steps in words.
    """
    foods = [food for part in formula.parts for line in part.lines for food in _foods(line)]
    foods += [_Food(text, "", canonical(text)) for text in formula.unread]
    steps = [canonical(text) for text in method]
    told = [*steps, *(food.words for food in foods), *(canonical(part.name) for part in formula.parts),
            canonical(formula.name)]  # fmt: skip
    hot = any(HOT_SUGAR_C[0] <= one.celsius <= HOT_SUGAR_C[1] and not one.oven
              for text in method for one in temperatures_in(text))  # fmt: skip
    found = []
    for row in _table():
        reasons = _reasons(row, foods, told, hot)
        if reasons:
            found.append(Caution(row.caution, row.topic, row.wording, ", ".join(reasons[:MOST_NAMED]), row.source))
    return tuple(found)


def _reasons(row: _Row, foods: Sequence[_Food], told: Sequence[str], hot: bool) -> tuple[str, ...]:
    """Return what in the recipe asks for a caution; nothing where its rule is not met."""
    met = tuple(dict.fromkeys(food.shown for food in foods if _is(food, row)))
    said = tuple(phrase for phrase in row.method if any(_says(text, phrase, row.unless) for text in told))
    if row.rule == "foods":
        return met
    if row.rule == "method":
        return said
    if row.rule == "hot sugar" and met and hot and not said:
        return met
    return (*met[: MOST_NAMED - 1], *said) if met and said else ()


def _is(food: _Food, row: _Row) -> bool:
    """Whether a food is one that a caution speaks of."""
    if any(_says(food.words, word, ()) for word in row.unless):
        return False
    return food.ingredient_class in row.classes or any(_says(food.words, word, ()) for word in row.foods)


def _says(text: str, phrase: str, unless: Sequence[str]) -> bool:
    """Whether the words of a phrase stand in a text one after another, other than inside a phrase of `unless`."""
    for other in unless:
        text = text.replace(other, " ")
    return f" {phrase} " in f" {text} "


def _foods(line: Line) -> Iterator[_Food]:
    """Return what a line holds, further ingredients of it as well."""
    found = match(line.item) if line.item.strip() else None
    own = match(line.ingredient) if line.ingredient else None
    kind = next((one.ingredient_class for one in (own, found) if one is not None and one.ingredient_class), "") or ""
    browned = "browned butter" if line.process == "browned" else ""
    fried = " ".join((line.text, line.item, line.ingredient or "", line.preparation, browned))
    yield _Food(line.item or line.text, kind, canonical(fried))
    for further in line.also:
        yield from _foods(further)


@cache
def _table() -> tuple[_Row, ...]:
    """Return the cautions in the order of the table."""
    return tuple(_row(row) for row in rows("writeup_cautions"))


def _row(row: Mapping[str, str]) -> _Row:
    cells = {name: [word for word in re.split(r"\s*;\s*", row[name]) if word] for name in ("foods", "method", "unless")}
    classes = frozenset(word[6:] for word in cells["foods"] if word.startswith("class:"))
    words = {name: tuple(dict.fromkeys(canonical(word) for word in cell if not word.startswith("class:")))
             for name, cell in cells.items()}  # fmt: skip
    return _Row(row["caution"], row["topic"], row["rule"], classes, words["foods"], words["method"], words["unless"],
                row["wording"], row["source"])  # fmt: skip
