"""The shelf: every ingredient with its composition, and how much real lots of it differ."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from math import hypot, sqrt
from statistics import fmean, pstdev

from batchwright.base.errors import Fault, InputError
from batchwright.base.nutrients import COMPOSITION_KEYS, DETAIL_KEYS, SODIUM_PER_SALT
from batchwright.base.tables import number, rows
from batchwright.pantry.allergens import allergen_note, allergens_of
from batchwright.pantry.compounds import compound_names, compounds
from batchwright.pantry.measures import density_of
from batchwright.pantry.records import Ingredient, Profile

PART_OF = {"saturated_fat_g": "fat_g", "trans_fat_g": "fat_g", "fiber_g": "carbohydrate_g",
           "sugars_g": "carbohydrate_g", "added_sugars_g": "sugars_g"}  # fmt: skip
SHRINK_WITHIN_G = 40.0  # a figure this near to 100 g begins to be held by purity
FILLED_DOUBT = 0.1  # relative: least doubt of a share taken from kin (common practice)
LEAST_WHOLE_G = 0.5  # g per 100 g; below this a share of a whole tells nothing of the class
MOST_OF_ANY_FOOD = {"energy_kcal": 900.0, "sodium_mg": 57500.0, "cholesterol_mg": 3100.0, "calcium_mg": 71500.0,
                    "iron_mg": 100000.0, "potassium_mg": 56600.0}  # pure fat, NaOH, dried yolk, CaO, Fe, K2CO3
MINOR_CLASSES = frozenset({"acid", "colour", "emulsifier", "flavour", "fortificant", "gum", "leavening", "preservative",
                           "salt", "sweetener", "water"})  # too slight or too pure to speak for a middling food

FROM_MEMORY = "a figure from memory, no source at hand"
"""Note of an ingredient whose row no source at hand could be checked against."""


@cache
def load_ingredients() -> Mapping[str, Ingredient]:
    """Return every ingredient of the shelf under its name.

    Composition per 100 g with the keys of COMPOSITION_KEYS and DETAIL_KEYS that the source gives; pure compounds are
    computed from their formulas. Read once per process.
    """
    pure = compounds()
    shelf: dict[str, Ingredient] = {}
    for row in rows("pantry_ingredients"):
        name = row["name"]
        printed = {key: number(row[key]) for key in COMPOSITION_KEYS + DETAIL_KEYS if row[key]}
        composition = {key: value for key, value in printed.items() if value is not None}
        composition = {**pure.get(name, {}), **composition}
        always, read_pack = allergens_of(name)
        memory = f"{name}: {FROM_MEMORY}" if row["basis"] == "from_memory" else ""
        warning = f"allergens of {name}: {allergen_note(name)}" if allergen_note(name) else ""
        notes = tuple(note for note in (memory, warning) if note)
        shelf[name] = Ingredient(name, row["ingredient_class"], composition, always, read_pack, density_of(name),
                                 row["source"], row["locator"], row["basis"], notes)  # fmt: skip
    return shelf


def ingredient(name: str) -> Ingredient:
    """Return the ingredient of that name; raises InputError for a name the shelf does not have."""
    found = load_ingredients().get(name)
    if found is None:
        raise InputError([Fault("ingredient", name, "a name of the shelf", "Look it up: batchwright pantry find TEXT")])
    return found


@cache
def profile(name: str) -> Profile:
    """Return the composition per 100 g of a shelf ingredient with its lot-to-lot doubt.

    All keys of COMPOSITION_KEYS are there: one the source does not give is filled from the ingredient's class (or is as
    wide as what it is part of) and named in the notes. Spread is one standard deviation. Raises InputError for a name
    the shelf does not have.
    """
    return profile_of_ingredient(ingredient(name))


def profile_of_ingredient(item: Ingredient) -> Profile:
    """Return the profile of any ingredient, also one that is the cook's own or imported and not on the shelf."""
    pure = item.name in compound_names() and item.name in load_ingredients()
    kind = "compound" if pure and item.ingredient_class not in ("water", "salt") else item.ingredient_class
    typical: dict[str, float] = {}
    spread: dict[str, float] = {}
    low: dict[str, float] = {}
    high: dict[str, float] = {}
    filled = []
    for key in COMPOSITION_KEYS[1:]:
        whole = PART_OF.get(key)
        value = item.composition.get(key)
        if value is None:
            filled.append(key)
            typical[key], spread[key], low[key], high[key] = _filled(item, key, typical, low, high)
        else:
            value = min(value, typical[whole]) if whole else value
            doubt = lot_spread(kind, key, value, item.name)
            typical[key], spread[key] = value, doubt
            low[key], high[key] = max(0.0, value - 2.0 * doubt), value + 2.0 * doubt
        top = high[whole] if whole else 100.0 if key.endswith("_g") else MOST_OF_ANY_FOOD[key]
        if item.ingredient_class == "salt" and key == "sodium_mg":
            top = 1e5 * SODIUM_PER_SALT  # no salt holds more sodium than sodium chloride
        high[key] = max(typical[key], min(high[key], top))
    _energy(item, typical, spread, low, high)
    notes = list(item.notes)
    if filled:
        notes.append(f"{item.name}: not given by its source, taken from its kind: {', '.join(filled)}")
    ordered = [{key: table[key] for key in COMPOSITION_KEYS} for table in (typical, spread, low, high)]
    return Profile(ordered[0], ordered[1], ordered[2], ordered[3], tuple(notes))


def lot_spread(kind: str, key: str, value: float, name: str = "") -> float:
    """Return how much lots differ: one standard deviation in the unit of `key`, by `pantry_spreads.csv`.

    kind: an ingredient class, or "compound"; value: per 100 g [>= 0, unit of `key`]; name: an ingredient that may have
    rows of its own, such as one sold in many grades. Macronutrients and water shrink as they near
    100 g, for a pure stuff cannot be purer. What is 0 stays 0.
    """
    if value <= 0:
        return 0.0
    relative, least = _spread_row(name, kind, key)
    held = min(1.0, max(0.0, 100.0 - value) / SHRINK_WITHIN_G) if key.endswith("_g") else 1.0
    return max(relative * value * held, min(least, value))


@cache
def _spread_row(name: str, kind: str, key: str) -> tuple[float, float]:
    """Return (relative spread, least spread) of the narrowest row of the table that speaks of it."""
    table = _spreads()
    return next(table[place] for place in ((name, key), (kind, key), (kind, "*"), ("*", key)) if place in table)


@cache
def _spreads() -> Mapping[tuple[str, str], tuple[float, float]]:
    """Return (what, nutrient) to (relative spread, least spread)."""
    return {
        (row["what"], row["nutrient"]): (float(row["relative_spread"]), float(row["least_spread"]))
        for row in rows("pantry_spreads")
    }


def _energy(
    item: Ingredient, typical: dict[str, float], spread: dict[str, float], low: dict[str, float], high: dict[str, float]
) -> None:
    """Fill in energy: the source's figure, its doubt from that of fat, protein and carbohydrate."""
    reckoned = 9 * typical["fat_g"] + 4 * typical["protein_g"] + 4 * typical["carbohydrate_g"] - 2 * typical["fiber_g"]
    value = item.composition.get("energy_kcal", max(0.0, reckoned))
    doubt = hypot(9 * spread["fat_g"], 4 * spread["protein_g"], 4 * spread["carbohydrate_g"])
    typical["energy_kcal"], spread["energy_kcal"] = value, doubt
    low["energy_kcal"], high["energy_kcal"] = max(0.0, value - 2 * doubt), max(value, min(902.0, value + 2 * doubt))


def _filled(
    item: Ingredient, key: str, typical: Mapping[str, float], low: Mapping[str, float], high: Mapping[str, float]
) -> tuple[float, float, float, float]:
    """Return (typical, spread, low, high) of a key that is not given: from its class, in its whole's measure."""
    whole = PART_OF.get(key)
    known = _known_shares(item.ingredient_class, key)
    if key == "added_sugars_g":
        for what in (item.name, item.ingredient_class):
            if what in _added_shares():
                least, likely, most = _added_shares()[what]
                sugars = typical["sugars_g"]
                doubt = max((most - least) / 4.0 * sugars, likely * (high["sugars_g"] - sugars) / 2.0)
                return likely * sugars, doubt, least * low["sugars_g"], most * high["sugars_g"]
    if whole is None:
        if not known:  # a class of its own: as wide as food allows
            food = unknown_profile()
            return food.typical[key], food.spread[key], food.low[key], food.high[key]
        return fmean(known), pstdev(known), min(known), max(known)
    if not known:
        return typical[whole] / 4.0, typical[whole] / 4.0, 0.0, high[whole]
    share, of_whole = fmean(known), typical[whole]
    doubt = max(pstdev(known) * of_whole, share * (high[whole] - of_whole) / 2.0, FILLED_DOUBT * share * of_whole)
    value = share * of_whole
    least = max(0.0, min(min(known) * low[whole], value - 2 * doubt))
    return value, doubt, least, max(max(known) * high[whole], value + 2 * doubt)


@cache
def _added_shares() -> Mapping[str, tuple[float, float, float]]:
    """Return ingredient or class to the share of its sugars that counts as added: least, likely, most, 0..1."""
    return {
        row["what"]: (float(row["share_low"]), float(row["share_likely"]), float(row["share_high"]))
        for row in rows("pantry_added_sugars")
    }


@cache
def _known_shares(kind: str, key: str) -> tuple[float, ...]:
    """Return what members of a class have of a key: per 100 g, or as a share 0..1 of what it is part of."""
    whole = PART_OF.get(key)
    known = []
    for item in members(kind):
        value = item.composition.get(key)
        base = item.composition.get(whole, 0.0) if whole else 1.0
        if value is not None and base >= LEAST_WHOLE_G:
            known.append(min(1.0, value / base) if whole else value)
    return tuple(known)


def rests_on_memory(found: Profile) -> bool:
    """Return whether a composition rests on a row from memory; an answer that uses it has to say so."""
    return any(note.endswith(FROM_MEMORY) for note in found.notes)


@cache
def members(ingredient_class: str) -> tuple[Ingredient, ...]:
    """Return the ingredients of a class in the order of the shelf; none for a class the shelf does not have."""
    return tuple(item for item in load_ingredients().values() if item.ingredient_class == ingredient_class)


@cache
def classes() -> tuple[str, ...]:
    """Return the ingredient classes of the shelf, by alphabet."""
    return tuple(sorted({item.ingredient_class for item in load_ingredients().values()}))


@cache
def class_profile(ingredient_class: str) -> Profile:
    """Return a profile as wide as a class: typical its mean, low..high its widest members' own ends.

    Spread is the standard deviation between members, with that of their own lots. Raises InputError for a class the
    shelf does not have.
    """
    profiles = [profile(item.name) for item in members(ingredient_class)]
    if not profiles:
        raise InputError([Fault("ingredient_class", ingredient_class, ", ".join(classes()))])
    return _joined(profiles, f"only the class is known ({ingredient_class}): as wide as the class")


@cache
def unknown_profile() -> Profile:
    """Return the profile of a thing nothing is known of: as wide as food allows, typical a middling food.

    Middling is the mean of the class means of foods proper, so that a class of many rows weighs no more than another.
    """
    middle = _joined([class_profile(kind) for kind in classes() if kind not in MINOR_CLASSES], "")
    low = dict.fromkeys(COMPOSITION_KEYS, 0.0)
    high = {key: MOST_OF_ANY_FOOD.get(key, 100.0) for key in COMPOSITION_KEYS}
    return Profile(middle.typical, middle.spread, low, high, ("not on the shelf: may be anything a food can be",))


def _joined(profiles: Iterable[Profile], note: str) -> Profile:
    """Return the profile that holds all of the given ones, each weighing the same."""
    every = list(profiles)
    typical: dict[str, float] = {}
    spread: dict[str, float] = {}
    low: dict[str, float] = {}
    high: dict[str, float] = {}
    for key in COMPOSITION_KEYS:
        typical[key] = fmean(one.typical[key] for one in every)
        between = pstdev([one.typical[key] for one in every])
        spread[key] = sqrt(between**2 + fmean(one.spread[key] ** 2 for one in every))
        low[key] = min(one.low[key] for one in every)
        high[key] = max(one.high[key] for one in every)
    return Profile(typical, spread, low, high, (note,) if note else ())
