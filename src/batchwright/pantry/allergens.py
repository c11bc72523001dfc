"""Allergens of shelf ingredients: what is always in them, and for what the pack must be read.

A warning only: nothing here ever says that a food is free of an allergen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from batchwright.base.errors import Fault, InputError
from batchwright.base.tables import rows

# 21 USC 321(qq): the nine major food allergens.
US_NINE = ("milk", "egg", "fish", "crustacean shellfish", "tree nuts", "wheat", "peanut", "soy", "sesame")
# Regulation (EU) No 1169/2011 Annex II; wheat is one of its cereals containing gluten, sulphites from 10 mg/kg.
EU_FOURTEEN = ("gluten cereals", "crustacean shellfish", "egg", "fish", "peanut", "soy", "milk", "tree nuts", "celery",
               "mustard", "sesame", "sulphites", "lupin", "molluscs")  # fmt: skip
NAMED_BY = {"US": US_NINE, "EU": EU_FOURTEEN}
WORDS = tuple(dict.fromkeys((*US_NINE, *EU_FOURTEEN)))


@cache
def _table() -> Mapping[str, tuple[tuple[str, ...], tuple[str, ...], str]]:
    """Return ingredient to (always, read the pack, note): the shelf's, then foods known by name alone."""
    return {
        row["ingredient"]: (_words(row["always"]), _words(row["read_pack"]), row["note"])
        for row in (*rows("pantry_allergens_named"), *rows("pantry_allergens"))
    }


def allergens_of(name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return (always in it, read the pack for it) of a shelf ingredient, in words of `WORDS`.

    Two empty lists mean that the table knows of none, never that there is none.
    """
    always, read_pack, _ = _table().get(name, ((), (), ""))
    return always, read_pack


def allergen_note(name: str) -> str:
    """Return what the table adds in words, such as that a highly refined oil is exempt in one country only."""
    return _table().get(name, ((), (), ""))[2]


def has_allergen_row(name: str) -> bool:
    """Return whether the tables say anything of an ingredient; without a row its allergens are simply not known."""
    return name in _table()


def named_by_law(allergens: Iterable[str], scheme: str) -> tuple[str, ...]:
    """Return those allergens that the law of a scheme, "US" or "EU", has a label name, in the order of the law.

    Rows for wheat stand as wheat and as gluten cereals, so that each scheme finds its own word. Raises InputError for
    another scheme.
    """
    if scheme not in NAMED_BY:
        raise InputError([Fault("scheme", scheme, "US or EU")])
    given = set(allergens)
    if "wheat" in given:
        given.add("gluten cereals")
    return tuple(word for word in NAMED_BY[scheme] if word in given)


def _words(cell: str) -> tuple[str, ...]:
    """Return the words of a cell, parted by semicolons."""
    return tuple(word.strip() for word in cell.split(";") if word.strip())
