"""The shelf for the counter: find an ingredient by any name, show it, bring in foods from a download."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from batchwright.base.errors import Fault, InputError
from batchwright.base.nutrients import COMPOSITION_KEYS
from batchwright.base.tables import rows
from batchwright.pantry.import_fdc import ingredients_from_fdc
from batchwright.pantry.ingredient import class_profile, load_ingredients, profile
from batchwright.pantry.measures import Measure, measures_of
from batchwright.pantry.records import Ingredient, Match, Profile
from batchwright.pantry.shelf import match

MOST_FOUND = 25


@dataclass(frozen=True, slots=True)
class Found:
    """What a text finds: how it would be matched on a label, and the shelf's ingredients whose names hold its words."""

    match: Match
    ingredients: tuple[Ingredient, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the match and the ingredients found, name and class."""
        return {"match": self.match.to_json(),
                "found": [{"name": one.name, "class": one.ingredient_class} for one in self.ingredients]}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shown:
    """One ingredient, or where only the class is known the class: all that the shelf knows of it."""

    match: Match
    ingredient: Ingredient | None
    profile: Profile
    names: tuple[str, ...]
    measures: tuple[Measure, ...]

    def to_json(self) -> dict[str, Any]:
        """Return everything; composition and ranges per 100 g, allergens as a warning."""
        one = self.ingredient
        document: dict[str, Any] = {
            "match": self.match.to_json(),
            "name": one.name if one else None,
            "class": one.ingredient_class if one else self.match.ingredient_class,
            "per_100_g": {
                key: {"typical": value, "low": self.profile.low[key], "high": self.profile.high[key]}
                for key, value in self.profile.typical.items()
            },
            "notes": list(self.profile.notes),
        }
        if one:
            document |= {
                "given": dict(one.composition),
                "allergens": list(one.allergens),
                "allergens_read_pack": list(one.allergens_read_pack),
                "density_g_ml": one.density_g_ml,
                "measures": [each.to_json() for each in self.measures],
                "names": list(self.names),
                "source": one.source,
                "locator": one.locator,
                "basis": one.basis,
            }
        return document


def find_ingredients(text: str) -> Found:
    """Return what the shelf has for a text, typed as on a label or half remembered; the match itself comes first.

    text: one to eighty characters. Raises InputError where it is empty or longer.
    """
    wanted = text.strip()
    if not 0 < len(wanted) <= 80:
        raise InputError([Fault("TEXT", text, "1 to 80 characters", "Type part of a name, such as brown sugar.")])
    how = match(wanted)
    shelf = load_ingredients()
    words = wanted.lower().split()
    names = [how.ingredient] if how.ingredient else []
    names += how.alternatives
    spelled = [(row["name"].lower(), row["ingredient"]) for row in rows("pantry_names")]
    spelled += [(name, name) for name in shelf]
    names += [name for label, name in sorted(spelled, key=lambda pair: len(pair[0])) if all(w in label for w in words)]
    if not names and how.ingredient_class:
        names = [one.name for one in shelf.values() if one.ingredient_class == how.ingredient_class]
    found = [shelf[name] for name in dict.fromkeys(names) if name in shelf]
    return Found(how, tuple(found[:MOST_FOUND]))


def show_ingredient(name: str) -> Shown:
    """Return all that the shelf knows of an ingredient, by any of its names; of its class where only that is known.

    Raises InputError, with names that come near, where nothing is known of it.
    """
    shelf = load_ingredients()
    how = Match(name, "name", name, shelf[name].ingredient_class) if name in shelf else match(name)
    if how.ingredient is not None and how.ingredient in shelf:
        one = shelf[how.ingredient]
        names = dict.fromkeys(row["name"] for row in rows("pantry_names") if row["ingredient"] == one.name)
        return Shown(how, one, profile(one.name), tuple(names), measures_of(one.name))
    if how.ingredient_class:
        return Shown(how, None, class_profile(how.ingredient_class), (), ())
    near = ", ".join(one.name for one in find_ingredients(name[:80]).ingredients[:5]) if name.strip() else ""
    raise InputError([Fault("NAME", name, "an ingredient of the shelf", f"Near it: {near}." if near else "Try find.")])


def import_ingredients(folder: str, words: str = "", most: int = 20) -> tuple[Ingredient, ...]:
    """Return foods of a USDA FoodData Central CSV download whose description holds all the words.

    most: how many at most [count]. Raises InputError for a folder that is not such a download, or where no food of it
    holds the words.
    """
    if most < 1:
        raise InputError([Fault("--most", most, "1 or more")])
    found = ingredients_from_fdc(Path(folder), words, most)
    if not found:
        raise InputError([Fault("--find", words, "words of a food's description in the download", "Use fewer words.")])
    return found


def ingredient_json(one: Ingredient) -> dict[str, Any]:
    """Return an imported ingredient with its composition per 100 g and where it is from."""
    return {"name": one.name, "class": one.ingredient_class, "per_100_g": dict(one.composition), "source": one.source,
            "locator": one.locator}  # fmt: skip


def ingredients_toml(found: Sequence[Ingredient]) -> str:
    """Return ingredients as tables for a label's file, `[ingredients."name"]` with figures per 100 g."""
    lines = []
    for one in found:
        name = one.name.lower().replace("\\", "\\\\").replace('"', '\\"')
        lines.append(f'[ingredients."{name}"]  # {one.locator}')
        lines += [f"{key} = {one.composition[key]:.6g}" for key in COMPOSITION_KEYS if key in one.composition]
        lines.append("")
    return "\n".join(lines)
