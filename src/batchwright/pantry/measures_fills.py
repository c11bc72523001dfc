"""What a cup of an ingredient weighs, with the range between cooks and editors; by kin where it has none of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from batchwright.base.tables import rows
from batchwright.pantry.measures import Measure, measures_of
from batchwright.pantry.measures_forms import forms_in
from batchwright.pantry.measures_units import US_CUP_ML

CHANGED_FORMS = frozenset({"mashed", "melted", "cooked", "dried", "whipped", "ground", "grated", "canned", "crushed"})
"""Forms that make a cup weigh another thing altogether: kin in this form say more than the food in another."""
_LEAST_ML, _MOST_ML = 2.4, 1000.0  # a tabled weight of half a teaspoon or less is rounded too coarsely to scale up


@dataclass(frozen=True, slots=True)
class Fill:
    """What a US cup [236.588 ml] of a food weighs [g], 90 % of cooks and editors within low..high.

    `what` is whose weight it is: the ingredient itself, "class:cheese", "word:custard" (a name that holds or ends with
    it), "item:jaggery" (a name that is it) or "any". `form` is how it lies in the cup where that was told apart. `kin`
    is True where the weight is that of its kind, not its own.
    """

    low_g_cup: float
    likely_g_cup: float
    high_g_cup: float
    what: str
    form: str
    kin: bool
    source: str
    basis: str

    def per_ml(self) -> tuple[float, float, float]:
        """Return low, likely, high [g/ml]."""
        return self.low_g_cup / US_CUP_ML, self.likely_g_cup / US_CUP_ML, self.high_g_cup / US_CUP_ML


@cache
def _table() -> Mapping[tuple[str, str], Fill]:
    """Return (what, form) to the fill."""
    found = {}
    for row in rows("pantry_fills"):
        for what in row["what"].split(";"):
            found[what, row["form"]] = Fill(
                float(row["low_g_cup"]), float(row["likely_g_cup"]), float(row["high_g_cup"]), what, row["form"],
                what.startswith(("class:", "any")), row["source"], row["basis"]
            )  # fmt: skip
    return found


@cache
def _spreads() -> Mapping[str, tuple[float, float]]:
    """Return ingredient class to the factors that make a tabled weight a range."""
    return {row["ingredient_class"]: (float(row["low_factor"]), float(row["high_factor"]))
            for row in rows("pantry_fill_spreads")}  # fmt: skip


@cache
def _phrases() -> frozenset[str]:
    return frozenset(what[5:] for what, _ in _table() if what.startswith("word:"))


def fill_of(item: Sequence[str], ingredient: str | None, ingredient_class: str | None,
            forms: Sequence[str] = ()) -> Fill:  # fmt: skip
    """Return what a cup of a food weighs; its own weight, else that of its kind, else that of most foods.

    item: the words of the recipe's name for it, small letters; ingredient, ingredient_class: what the shelf takes it
    for, None where unknown; forms: how it lies in the cup (`measures_forms`), the first the table knows counts.
    """
    return _fill(tuple(item), ingredient, ingredient_class, tuple(forms))


@lru_cache(maxsize=16_384)
def _fill(item: tuple[str, ...], ingredient: str | None, ingredient_class: str | None, forms: tuple[str, ...]) -> Fill:
    table = _table()
    phrase = _phrase_of(item)
    tried = list(dict.fromkeys((*forms, "")))
    alone = _first(table, f"item:{' '.join(item)}", tried)
    if alone is not None:
        return alone
    told = _first(table, f"word:{phrase}", tried) if phrase else None
    if told is not None and " " in phrase:
        return told
    kind = f"class:{ingredient_class}"
    for form in tried:
        own = _own(ingredient, ingredient_class, form)
        if own is not None:
            return own
        if form in CHANGED_FORMS and (kind, form) in table:
            return table[kind, form]
    return told or _first(table, kind, tried) or table["any", ""]


def _first(table: Mapping[tuple[str, str], Fill], what: str, forms: Sequence[str]) -> Fill | None:
    return next((table[what, form] for form in forms if (what, form) in table), None)


@cache
def _own(ingredient: str | None, ingredient_class: str | None, form: str) -> Fill | None:
    """Return the ingredient's own weight in this form: the table's range, else its tabled weight made a range."""
    if ingredient is None:
        return None
    if (ingredient, form) in _table():
        return _table()[ingredient, form]
    for measure in _tabled(ingredient):
        said = forms_in(measure.convention.replace(",", " ").split())
        if (form in said) if form else (not said or said[0] in ("whole", "halves", "packed", "fresh")):
            low, high = _spreads().get(ingredient_class or "", (0.8, 1.25))
            grams = measure.mass_g / (measure.volume_ml or US_CUP_ML) * US_CUP_ML
            return Fill(low * grams, grams, high * grams, ingredient, form, False, measure.source, "measured")
    return None


def _tabled(ingredient: str) -> list[Measure]:
    """Return the tabled measures that have a volume worth scaling, the largest first."""
    measured = [each for each in measures_of(ingredient) if each.measure != "cubic inch" and each.volume_ml
                and _LEAST_ML < each.volume_ml <= _MOST_ML]  # fmt: skip
    return sorted(measured, key=lambda one: -(one.volume_ml or 0.0))


@cache
def _phrase_of(words: tuple[str, ...]) -> str:
    """Return the longest phrase of the table in the words: of two words or more anywhere, of one as the last word."""
    for length in range(min(4, len(words)), 1, -1):
        for start in range(len(words) - length + 1):
            text = " ".join(words[start : start + length])
            if text in _phrases():
                return text
    return words[-1] if words and words[-1] in _phrases() else ""


def narrowed(fill: Fill, likely_g_cup: float, scatter_fraction: float, what: str) -> Fill:
    """Return the fill by one named convention: `likely_g_cup` [g a US cup], `scatter_fraction` [0..1] either way."""
    low, high = likely_g_cup * (1.0 - scatter_fraction), likely_g_cup * (1.0 + scatter_fraction)
    return replace(fill, low_g_cup=low, likely_g_cup=likely_g_cup, high_g_cup=high, form=what)
