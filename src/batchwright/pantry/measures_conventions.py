"""Named ways to fill a cup and whose cup it is: what they say a cup of flour, sugar or cocoa weighs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from batchwright.base.errors import Fault, InputError
from batchwright.base.tables import rows
from batchwright.pantry.measures_units import US_CUP_ML, places, unit_of

FLOUR = "wheat flour"
PRINTED_SCATTER = 0.04  # cooks who fill alike differ by 3 to 5 % (common practice, see pantry_conventions.csv)
_OWN = re.compile(r"(\d+(?:\.\d+)?)\s*g(?:rams?)?\b")
_PLACE_WORDS = {"us cup": "US", "label cup": "label", "metric cup": "metric", "imperial cup": "imperial", "uk": "UK",
                "au": "AU", "us": "US", "uk cup": "UK", "au cup": "AU", "australia": "AU", "label": "label",
                "metric": "metric", "imperial": "imperial"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Convention:
    """How cups are filled and whose they are. `cups` is ingredient -> (g a US cup, scatter as a fraction).

    `place` is empty where it was not chosen: then US measures are taken unless a line says otherwise.
    """

    name: str = ""
    place: str = ""
    cups: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@cache
def _fillings() -> Mapping[str, Mapping[str, tuple[float, float]]]:
    """Return convention -> ingredient -> (g a US cup, scatter as a fraction)."""
    found: dict[str, dict[str, tuple[float, float]]] = {}
    for row in rows("pantry_conventions"):
        for what in row["what"].split(";"):
            found.setdefault(row["convention"], {})[what] = float(row["g_cup"]), float(row["scatter_fraction"])
    return found


def filling_names() -> tuple[str, ...]:
    """Return the named ways to fill a cup."""
    return tuple(_fillings())


def cup_weights(ingredient: str) -> dict[str, float]:
    """Return convention -> what a US cup of the ingredient weighs by it [g]; empty where no convention speaks of it."""
    return {name: cups[ingredient][0] for name, cups in _fillings().items() if ingredient in cups}


@cache
def convention_of(text: str) -> Convention:
    """Return the convention that a text names; empty text: none chosen, ranges as wide as all of them.

    text: a way to fill ("dip and sweep", "spooned" ...), a flour weight ("128 g") or a place ("US", "metric cup",
    "UK", "AU", "label cup"), one of each with a comma between. Raises InputError for a word that is none of them.
    """
    name, place, flour_g, cups = "", "", 0.0, {}
    for word in (part.strip() for part in text.split(",")):
        plain = re.sub(r"[-_ ]+", " ", word.lower()).strip()
        own = _OWN.search(plain)
        if not plain:
            continue
        if plain in _PLACE_WORDS or plain.upper() in places():
            place = _PLACE_WORDS.get(plain, plain.upper())
        elif plain in _fillings():
            name, cups = plain, dict(_fillings()[plain])
        elif own and 80 <= float(own[1]) <= 200:
            name, flour_g = f"{float(own[1]):g} g a cup of flour", float(own[1])
        else:
            allowed = ", ".join((*filling_names(), "128 g (a cup of flour)", *sorted(_PLACE_WORDS)))
            hint = "One way to fill and one place, with a comma between."
            raise InputError([Fault("convention", word, allowed, hint)])
    if flour_g:
        cups = of_flour(flour_g, place)
    return Convention(", ".join(part for part in (name, f"{place} cup" if place else "") if part), place, cups)


def us_cups(place: str = "") -> float:
    """Return how many US cups a cup of a place holds [US cups]."""
    cup = unit_of("cup", place or "US")
    return (cup.volume_ml or US_CUP_ML) / US_CUP_ML if cup else 1.0


def of_flour(flour_g_cup: float, place: str = "") -> dict[str, tuple[float, float]]:
    """Return the cups of a recipe whose cup of wheat flour weighs `flour_g_cup` [g a cup of its `place`, > 0].

    The other flours that are filled alike follow by the same proportion of the dipped cup; sugar does not move.
    """
    dipped = _fillings()["dip and sweep"]
    share = flour_g_cup / us_cups(place) / dipped[FLOUR][0]
    moved = [name for name in dipped if "flour" in name]
    return {name: (dipped[name][0] * share, PRINTED_SCATTER) for name in moved}
