"""The names of the shelf, ready for look-up: what each printed name stands for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from batchwright.base.tables import rows
from batchwright.pantry.shelf_words import canonical, effects, printed_words

LONGEST_NAME_WORDS = 12


@dataclass(frozen=True, slots=True)
class Entry:
    """One known name: the shelf's `ingredient`, its class, and whether it is the `name` itself or a `synonym`."""

    ingredient: str
    ingredient_class: str
    kind: str
    on_shelf: bool


@dataclass(frozen=True, slots=True)
class Index:
    """Every known name under its canonical key and with the blanks taken out, and what builds names of produce."""

    by_key: dict[str, Entry]
    by_spelling: dict[str, Entry]  # only names whose number matters: "soybean" is an oil, "soybeans" are beans
    by_letters: dict[str, str]
    produce: dict[str, Entry]
    produce_words: frozenset[str]
    forms: dict[tuple[str, ...], tuple[str, str]]
    words: frozenset[str]


def _table(name: str) -> tuple[dict[str, str], ...]:
    try:
        return rows(name)
    except FileNotFoundError:
        return ()


@cache
def index() -> Index:
    """Return the index, read once per process from the pantry's and the shelf's tables.

    The pantry's own names come first; a later row never takes a name from an earlier one.
    """
    by_key: dict[str, Entry] = {}
    by_spelling: dict[str, Entry] = {}
    produce: dict[str, Entry] = {}
    classes = {row["name"]: row["ingredient_class"] for row in rows("pantry_ingredients")}
    for name, ingredient_class in classes.items():
        by_key.setdefault(canonical(name), Entry(name, ingredient_class, "name", True))
    for row in _table("pantry_names"):
        ingredient = row["ingredient"]
        by_key.setdefault(canonical(row["name"]), Entry(ingredient, classes.get(ingredient, ""), "synonym", True))
    by_key.pop("", None)
    for row in rows("shelf_names"):
        ingredient = row["ingredient"]
        ingredient_class = classes.get(ingredient) or row["ingredient_class"]
        named = Entry(ingredient, ingredient_class, "name", ingredient in classes)
        other = Entry(ingredient, ingredient_class, "synonym", ingredient in classes)
        own = canonical(ingredient)
        keys = row["names"].split("; ")
        if row["kind"] == "printed":
            by_spelling.update(dict.fromkeys(keys, other))
            continue
        for key in keys:
            by_key.setdefault(key, named if key == own else other)
            if row["kind"] == "produce":
                produce.setdefault(key, by_key[key] if key == own else other)
    forms: dict[tuple[str, ...], tuple[str, str]] = {}
    for row in rows("shelf_forms"):
        forms.setdefault(tuple(sorted(canonical(row["phrase"]).split())), (row["name"], row["ingredient_class"]))
    words = {word for key in by_key for word in key.split()}
    words.update(word for form in forms for word in form)
    words.update(effects())
    return Index(by_key, by_spelling, {key.replace(" ", ""): key for key in reversed(by_key) if len(key) > 5},
                 produce, frozenset(key.split()[0] for key in produce), forms, frozenset(words))


def look(words: Sequence[str]) -> Entry | None:
    """Return what the canonical words stand for, as a name or as a form of a fruit or vegetable; None if unknown."""
    if not words:
        return None
    found = index().by_key.get(" ".join(words))
    return found if found is not None else produce_form(words)


def produce_form(words: Sequence[str]) -> Entry | None:
    """Return the entry for a fruit or vegetable with words of its form ("dried", "juice concentrate"), or None.

    Every word beside the fruit must belong to the form: nothing is dropped here.
    """
    shelf = index()
    size = len(words)
    if size < 2 or size > LONGEST_NAME_WORDS:
        return None
    for start in range(size):
        if words[start] not in shelf.produce_words:
            continue
        for end in range(min(size, start + 4), start, -1):
            if end - start == size:
                continue
            base = shelf.produce.get(" ".join(words[start:end]))
            if base is None:
                continue
            form = shelf.forms.get(tuple(sorted((*words[:start], *words[end:]))))
            if form is not None:
                return _form_entry(base, *form)
    return None


@cache
def _form_entry(base: Entry, pattern: str, ingredient_class: str) -> Entry:
    name = pattern.format(base.ingredient)
    known = index().by_key.get(canonical(name))
    if known is not None:
        return Entry(known.ingredient, known.ingredient_class, "synonym", known.on_shelf)
    return Entry(name, ingredient_class, "synonym", False)


@cache
def dictionary() -> frozenset[str]:
    """Return every word the shelf knows: in canonical spelling, in the plural and in UK spelling."""
    known = set(index().words)
    for word in index().words:
        if len(word) > 3 and word.isalpha():
            known.add(word[:-1] + "ies" if word.endswith("y") else word + "s")
            if word.endswith(("o", "x", "ch", "sh", "ss")):
                known.add(word + "es")
    known.update(printed_words())
    return frozenset(known)
