"""Allergens of shelf ingredients: what is always in them, and for what the pack must be read.

A warning only: nothing here ever says that a food is free of an allergen.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from batchwright.base.tables import rows


@cache
def _table() -> Mapping[tuple[str, str], tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return (kind of row, name) to (always, read the pack)."""
    return {
        (row["what"], row["name"]): (_words(row["always"]), _words(row["read_pack"]))
        for row in rows("pantry_allergens")
    }


def allergens_of(name: str, ingredient_class: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return (always in it, read the pack for it) of a shelf ingredient, by its own row or else its class's.

    Two empty lists mean that the table knows of none, never that there is none.
    """
    table = _table()
    for place in (("ingredient", name), ("class", ingredient_class)):
        if place in table:
            return table[place]
    return (), ()


def _words(cell: str) -> tuple[str, ...]:
    """Return the words of a cell, parted by semicolons."""
    return tuple(word.strip() for word in cell.split(";") if word.strip())
