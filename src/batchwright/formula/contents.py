"""What a gram of an ingredient holds, with its doubt: the vectors that composition is reckoned with."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from batchwright.base.nutrients import COMPOSITION_KEYS, SODIUM_PER_SALT
from batchwright.base.tables import rows
from batchwright.formula.records import Line, Own
from batchwright.pantry import shelf
from batchwright.pantry.ingredient import load_ingredients, profile_of_ingredient
from batchwright.pantry.records import Ingredient, Match, Profile

Floats = NDArray[np.float64]

SUGAR_KEYS = ("sucrose_g", "glucose_g", "fructose_g", "lactose_g", "maltose_g")
CONTENT_KEYS = (*COMPOSITION_KEYS, "salt_g", "starch_g", *SUGAR_KEYS, "alcohol_g", "cocoa_solids_g")
"""The order of every vector of contents. Carbohydrate includes fibre, as in COMPOSITION_KEYS; `cocoa_solids_g` is
what comes dry from the cocoa bean, its fat included; sugars by kind are wide where the shelf does not tell them."""
PLACE: Mapping[str, int] = {key: place for place, key in enumerate(CONTENT_KEYS)}

TOLD_SHARE = 0.7  # a source whose kinds of sugar make up less of the sugars than this has not told them all
LIKELY_ENDS = 1.645  # standard deviations from the middle to either end of the likely range, which is 90 %
_COCOA_WITHOUT = frozenset({"carob powder", "cocoa drink powder"})
"""In the class cocoa on the shelf and not from the bean alone."""

_MAY_HOLD_MILK = frozenset({"", "baked good", "cereal", "chocolate", "confection", "margarine", "other", "sauce"})
"""Kinds of food whose sugar may be lactose in part; of the dairy kinds the table speaks."""


OTHER_CLASS = "other"
BROWN_BUTTER = "brown butter"
_BUTTERS = frozenset({"butter", "butter, salted"})
_BROWNED = re.compile(r"\bbrown(?:ed)?\b", re.I)


@cache
def _groups() -> Mapping[str, str]:
    return {row["ingredient_class"]: row["group"] for row in rows("formula_classes")}


def class_group(ingredient_class: str | None) -> str:
    """Return the group an ingredient class of the shelf is compared in: flour, fat, sugar ...; "other" for the rest."""
    return _groups().get(ingredient_class or "", OTHER_CLASS)


@cache
def class_groups() -> tuple[str, ...]:
    """Return every group in the order of the table, the rest last."""
    return (*dict.fromkeys(_groups().values()), OTHER_CLASS)


@dataclass(frozen=True, slots=True)
class Contents:
    """Contents of one gram: `likely` [per g, in the order of CONTENT_KEYS], and how far real lots go `up` and `down`
    from it [same, 90 %]. `ingredient_class` is that of the shelf, empty where unknown."""

    name: str
    ingredient_class: str
    likely: Floats
    up: Floats
    down: Floats
    notes: tuple[str, ...] = ()
    known: bool = True


def match_of(line: Line) -> Match:
    """Return the shelf's match of a line: by the ingredient it already carries, else by its item.

    An ingredient of the cook's own is unknown to the shelf, with the class the cook gave it.
    """
    if line.own is not None:
        return Match(line.item, "unknown", None, line.own.ingredient_class or None, (), "the cook's own ingredient")
    if line.ingredient:
        found = shelf.match(line.ingredient)
        if found.ingredient is not None:
            return found
    return shelf.match(line.item)


def contents_of_line(line: Line) -> Contents:
    """Return what a gram of a line's ingredient holds before any process."""
    if line.own is not None:
        return _own_contents(line.item, line.own)
    found = match_of(line)
    if found.ingredient in _BUTTERS and not line.process and _BROWNED.search(line.preparation):
        return contents_of(BROWN_BUTTER)  # measured after browning: "1 cup browned butter"
    return contents_of(found.ingredient or "", found.ingredient_class or "")


@lru_cache(maxsize=4096)
def contents_of(ingredient: str, ingredient_class: str = "") -> Contents:
    """Return what a gram of an ingredient holds.

    ingredient: a name of the shelf, or empty; ingredient_class: its class where the name is not known, or empty: then
    it may be anything a food can be. Water is 1 g per gram at most; the range is 90 %.
    """
    if ingredient == BROWN_BUTTER:
        return _brown_butter()
    profile = shelf.profile_of(Match(ingredient, "name", ingredient or None, ingredient_class or None))
    item = load_ingredients().get(ingredient)
    kind = item.ingredient_class if item is not None else ingredient_class
    name, given = ingredient or ingredient_class, dict(item.composition) if item is not None else {}
    return _contents(name, kind, profile, given, bool(name))


@cache
def _brown_butter() -> Contents:
    """Return what a gram of butter holds that has lost its water, which the shelf has no figures of."""
    butter = contents_of("butter")
    dry = 1.0 - float(butter.likely[PLACE["water_g"]])
    likely, up, down = butter.likely / dry, butter.up / dry, butter.down / dry
    for vector in (likely, up, down):
        vector[PLACE["water_g"]] = 0.0
    up[PLACE["water_g"]] = 0.01  # taken off the stove a little early (common practice)
    return Contents(BROWN_BUTTER, "butter", likely, up, down, ("brown butter: butter without its water",))


@lru_cache(maxsize=1024)
def _own_contents(name: str, own: Own) -> Contents:
    """Return what a gram of a cook's own ingredient holds; what is not given is as wide as its class."""
    given = dict(own.composition)
    item = Ingredient(name, own.ingredient_class, given)
    return _contents(name, own.ingredient_class, profile_of_ingredient(item), given, True)


def _contents(name: str, kind: str, profile: Profile, given: Mapping[str, float], known: bool) -> Contents:
    likely, up, down = (np.zeros(len(CONTENT_KEYS)) for _ in range(3))
    for place, key in enumerate(COMPOSITION_KEYS):
        likely[place] = profile.typical[key]
        reach = LIKELY_ENDS * profile.spread[key]
        up[place] = min(reach, max(0.0, profile.high[key] - likely[place]))
        down[place] = min(reach, max(0.0, likely[place] - profile.low[key]))
    sodium, salt = PLACE["sodium_mg"], PLACE["salt_g"]
    for vector in (likely, up, down):
        vector[salt] = vector[sodium] / 1000.0 / SODIUM_PER_SALT
    for key, (least, middle, most) in _details(name, kind, profile, given).items():
        place = PLACE[key]
        likely[place], up[place], down[place] = middle, max(0.0, most - middle), max(0.0, middle - least)
    return Contents(name, kind, likely / 100.0, up / 100.0, down / 100.0, profile.notes, known)


Triple = tuple[float, float, float]


def _details(name: str, kind: str, profile: Profile, given: Mapping[str, float]) -> dict[str, Triple]:
    """Return (low, likely, high) per 100 g of what a profile does not hold: starch, sugars by kind, alcohol, cocoa."""
    sugars = _ends(profile, "sugars_g")
    carbohydrate, fibre = _ends(profile, "carbohydrate_g"), _ends(profile, "fiber_g")
    rest = (
        max(0.0, carbohydrate[0] - fibre[2] - sugars[2]),
        max(0.0, carbohydrate[1] - fibre[1] - sugars[1]),
        max(0.0, carbohydrate[2] - fibre[0] - sugars[0]),
    )
    details: dict[str, Triple] = {}
    kinds_given = sum(given.get(key, 0.0) for key in SUGAR_KEYS) >= TOLD_SHARE * sugars[1]
    for key in ("starch_g", *SUGAR_KEYS):
        whole = rest if key == "starch_g" else sugars
        if key in given:
            doubt = (whole[2] - whole[0]) / 2.0 * (given[key] / whole[1] if whole[1] > 0 else 0.0)
            details[key] = max(0.0, given[key] - doubt), given[key], given[key] + doubt
        elif key != "starch_g" and (kinds_given or whole[2] <= 0.0):
            left = max(0.0, whole[1] - sum(given.get(other, 0.0) for other in SUGAR_KEYS))
            details[key] = 0.0, 0.0, left  # the source tells the kinds it found
        else:
            least, middle, most = _share(name, kind, key)
            details[key] = least * whole[0], middle * whole[1], most * whole[2]
    details["alcohol_g"] = _alcohol(kind, profile, given)
    details["cocoa_solids_g"] = _cocoa(name, kind, profile)
    return details


def _ends(profile: Profile, key: str) -> Triple:
    reach = LIKELY_ENDS * profile.spread[key]
    middle = profile.typical[key]
    return max(profile.low[key], middle - reach, 0.0), middle, min(profile.high[key], middle + reach)


@cache
def _shares() -> Mapping[tuple[str, str], Triple]:
    return {
        (row["what"], row["key"]): (float(row["share_low"]), float(row["share_likely"]), float(row["share_high"]))
        for row in rows("formula_carbohydrate")
    }


def _share(name: str, kind: str, key: str) -> Triple:
    """Return what share of the sugars (or of what is neither sugar nor fibre) a key is: low, likely, high, 0..1."""
    table = _shares()
    for what in (name, kind):
        if (what, key) in table:
            return table[what, key]
    if key != "starch_g":
        main = [table[kind, other] for other in SUGAR_KEYS if (kind, other) in table]
        if key == "lactose_g" and kind not in _MAY_HOLD_MILK:
            return 0.0, 0.0, 0.0
        if main:  # what the main sugar of the kind leaves, shared by the four others
            return 0.0, (1.0 - main[0][1]) / (len(SUGAR_KEYS) - 1), 1.0 - main[0][0]
        return 0.0, 1.0 / len(SUGAR_KEYS), 1.0
    return 0.0, 0.5, 1.0


def _alcohol(kind: str, profile: Profile, given: Mapping[str, float]) -> Triple:
    """Return the alcohol per 100 g: as given, by difference for drinks, else none."""
    if "alcohol_g" in given:
        value = given["alcohol_g"]
        return 0.9 * value, value, 1.1 * value  # labels of strength are kept to within a few percent of it
    if kind != "alcohol":
        return 0.0, 0.0, 0.0
    left = 100.0 - sum(profile.typical[key] for key in ("water_g", "fat_g", "carbohydrate_g", "protein_g"))
    return max(0.0, 0.8 * left), max(0.0, left), max(0.0, 1.2 * left)


@cache
def _cocoa_rows() -> Mapping[str, Triple]:
    return {
        row["ingredient"]: (float(row["low_percent"]), float(row["likely_percent"]), float(row["high_percent"]))
        for row in rows("formula_cocoa")
    }


def _cocoa(name: str, kind: str, profile: Profile) -> Triple:
    table = _cocoa_rows()
    if name in table:
        return table[name]
    if kind == "cocoa" and name and name not in _COCOA_WITHOUT:
        water = profile.typical["water_g"]
        return 100.0 - 1.5 * water, 100.0 - water, 100.0 - 0.5 * water
    if kind in ("cocoa", "chocolate") and not name:
        return 15.0, 50.0, 100.0
    return 0.0, 0.0, 0.0
