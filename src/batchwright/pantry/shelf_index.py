"""The names of the shelf, ready for look-up: what each printed name stands for."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from batchwright.base.tables import rows
from batchwright.pantry.shelf_words import canonical, effects, printed_words, words_of

LONGEST_NAME_WORDS = 12
FREEZE_DRIED = "freeze-dried {}"
"""The form of a fruit that has lost nearly all its water; of a vegetable or herb it is the dried one."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One known name: the shelf's `ingredient`, its class, and whether it is the `name` itself or a `synonym`."""

    ingredient: str
    ingredient_class: str
    kind: str
    on_shelf: bool


@dataclass(frozen=True, slots=True)
class Index:
    """Every known name under its canonical key, and what builds names of produce."""

    by_key: dict[str, Entry]
    by_spelling: dict[str, Entry]  # only names whose number matters: "soybean" is an oil, "soybeans" are beans
    produce: dict[str, str]  # key of a fruit or vegetable -> its plain name
    produce_words: frozenset[str]
    forms: dict[tuple[str, ...], tuple[str, str]]
    alike: dict[str, str]  # key of a food without composition of its own -> the pantry's that serves for it


def _first_two(table: str) -> list[tuple[str, str]]:
    """The first two columns of a table, read without building a record per row: start-up time."""
    path = files("batchwright") / "data" / f"{table}.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    pairs: list[tuple[str, str]] = []
    for line in lines[1:]:
        if '"' in line:
            cells = next(csv.reader([line]))
            pairs.append((cells[0], cells[1]))
        elif line:
            first, second, _ = line.split(",", 2)
            pairs.append((first, second))
    return pairs


def _key(name: str) -> str:
    """Canonical key of a table's name; a percentage in it is part of the name ("milk, 2 % fat" is no milk fat)."""
    return canonical(name.replace("%", " percent ") if "%" in name else name)


def _own_foods() -> dict[str, list[tuple[str, str, str]]]:
    """Last word of each phrase that names a food of its own -> (phrase, the food, its class)."""
    table: dict[str, list[tuple[str, str, str]]] = {}
    for row in rows("shelf_names"):
        if row["kind"] == "first":
            for phrase in row["names"].split("; "):
                found = (phrase, row["ingredient"], row["ingredient_class"])
                table.setdefault(phrase.rsplit(" ", 1)[-1], []).append(found)
    return table


def _own_food(key: str, ingredient: str, own_foods: dict[str, list[tuple[str, str, str]]]) -> Entry | None:
    """The food a name says, where the pantry lists it under another that only serves for its composition; else None."""
    words = key.split()
    for word in words:
        for phrase, food, food_class in own_foods.get(word, ()):
            if f" {phrase} " in f" {key} " and f" {phrase} " not in f" {canonical(ingredient)} ":
                table = effects()
                rest = [one for one in words if one not in phrase.split()]
                plainly = all(table.get(one) in ("none", "head") for one in rest)
                return Entry(food if plainly else key, food_class, "synonym", False)
    return None


_LENDERS = frozenset({"artificial flavour", "fruit, freeze-dried"})
_OTHER_PARTS = frozenset({"extract", "extractive", "oleoresin", "juice", "concentrate", "oil", "essential"})


def _left_to_the_shelf(key: str, name: str, entry: Entry) -> bool:
    """Whether the pantry's row only lends a composition, so that the shelf's own names and forms decide."""
    if entry.ingredient == "artificial flavour":
        return not ("artificial" in name or "imitation" in name or "synthetic" in name)
    if entry.ingredient == "fruit, freeze-dried":
        return "fruit" not in key
    if entry.ingredient_class in ("spice", "vegetable"):
        parts = _OTHER_PARTS.intersection(key.split())
        return bool(parts) and parts.isdisjoint(canonical(entry.ingredient).split())
    return False


@cache
def index() -> Index:
    """Return the index, read once per process from the pantry's and the shelf's tables.

    The pantry's own names come first; a later row never takes a name from an earlier one.
    """
    by_key: dict[str, Entry] = {}
    by_spelling: dict[str, Entry] = {}
    produce: dict[str, str] = {}
    classes = dict(_first_two("pantry_ingredients"))
    for name, ingredient_class in classes.items():
        by_key.setdefault(_key(name), Entry(name, ingredient_class, "name", True))
    alike: dict[str, str] = {}
    own_foods = _own_foods()
    own_words = frozenset(own_foods)
    named = ""
    for ingredient, name in _first_two("pantry_names"):
        if ingredient != named:
            named = ingredient
            entry = Entry(ingredient, classes.get(ingredient, ""), "synonym", ingredient in classes)
            lends = ingredient in _LENDERS or entry.ingredient_class in ("spice", "vegetable")
        words = words_of(name) if "%" not in name else words_of(name.replace("%", " percent "))
        key = " ".join(words)
        if key in by_key:
            continue
        served = None if own_words.isdisjoint(words) else _own_food(key, ingredient, own_foods)
        if served is not None:
            by_key[key] = served
            alike.setdefault(canonical(served.ingredient), ingredient)
        elif not lends or not _left_to_the_shelf(key, name, entry):
            by_key[key] = entry
    by_key.pop("", None)
    for row in rows("shelf_names"):
        keys = row["names"].split("; ")
        if row["kind"] == "own":
            for key in keys:
                if key not in by_key:
                    by_key[key] = Entry(key, row["ingredient_class"], "name", False)
            continue
        ingredient = row["ingredient"]
        on_shelf = ingredient in classes
        ingredient_class = classes[ingredient] if on_shelf else row["ingredient_class"]
        own_name = Entry(ingredient, ingredient_class, "name", on_shelf)
        other = Entry(ingredient, ingredient_class, "synonym", on_shelf)
        own = _key(ingredient)
        if row["kind"] == "first":
            for key in (own, *keys):
                by_key[key] = own_name if key == own else other
            continue
        if row["kind"] == "printed":
            by_spelling.update(dict.fromkeys(keys, other))
            continue
        if row["kind"] == "prefer":
            by_key.update({key: own_name if key == own else other for key in keys})
            continue
        for key in keys:
            by_key.setdefault(key, own_name if key == own else other)
            if row["kind"] == "produce":
                produce.setdefault(key, keys[0])
    forms: dict[tuple[str, ...], tuple[str, str]] = {}
    for row in rows("shelf_forms"):
        for phrase in row["phrases"].split("; "):
            forms.setdefault(tuple(sorted(phrase.split())), (row["name"], row["ingredient_class"]))
    return Index(by_key, by_spelling, produce, frozenset(key.split()[0] for key in produce), forms, alike)


@cache
def known_words() -> frozenset[str]:
    """Return every word of the shelf's names, forms and word tables, in canonical spelling."""
    words: set[str] = set(effects())
    for key in index().by_key:
        words.update(key.split())
    for form in index().forms:
        words.update(form)
    return frozenset(words)


@cache
def by_letters() -> dict[str, str]:
    """Return the keys under their letters without blanks, for names of more than five letters; the first key wins."""
    return {key.replace(" ", ""): key for key in reversed(index().by_key) if len(key) > 5}


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
def _form_entry(base: str, pattern: str, ingredient_class: str) -> Entry:
    known = index().by_key
    name = pattern.format(base)
    found = known.get(canonical(name))
    if found is None and pattern.endswith(" oil"):
        found = known.get(f"{base} oil")
    if found is None and pattern == FREEZE_DRIED and base in known and known[base].ingredient_class != "fruit":
        found = known.get(f"dried {base}")
    if found is not None:
        return Entry(found.ingredient, found.ingredient_class, "synonym", found.on_shelf)
    return Entry(name, ingredient_class, "synonym", False)


_GLUED = frozenset({"palmkernel", "hydrogencarbonate"})
"""Words some labels print in one run; two words all the same."""


@cache
def dictionary() -> frozenset[str]:
    """Return every word the shelf knows: in canonical spelling, in the plural and in UK spelling."""
    known = set(known_words())
    for word in known_words():
        if len(word) > 2 and word.isalpha():
            known.add(word[:-1] + "ies" if word.endswith("y") else word + "s")
            if word.endswith(("o", "x", "ch", "sh", "ss")):
                known.add(word + "es")
    known.update(printed_words())
    return frozenset(known) - _GLUED
