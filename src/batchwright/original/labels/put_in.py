"""Brackets that name only what was put into an ingredient: cream (thickeners), dates (rice flour), chicken (salt)."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from batchwright.original.statements.records import Item
from batchwright.pantry.records import Match, Profile

# Classes of things that are weighed out as themselves, and of what goes into them in small amounts (common practice).
PLAIN = frozenset(
    """butter;cereal;cocoa;cream;dried fruit;dry milk;egg;fish;flour;fruit;grain;juice;meat;milk;nut;salt;seed;
    starch;sugar;syrup;vegetable;whole flour;yeast""".replace("\n", "")
    .replace("    ", "")
    .split(";")
)
PUT_IN = frozenset(
    """acid;colour;emulsifier;fat;flavour;flour;fortificant;gum;leavening;oil;other;preservative;salt;starch;sugar;
    sweetener;syrup;water""".replace("\n", "")
    .replace("    ", "")
    .split(";")
)
DUSTED = ("dried fruit", "fruit", "nut", "seed")  # what flour and starch only keep from sticking
SURE = ("name", "synonym", "stripped")


def carrying(item: Item, find: Callable[[str, Item], tuple[Match, Profile]]) -> Item:
    """Return the item with itself as the first thing in its brackets, where these name only what was put into it.

    Only for a plain food that the shelf knows by this name, and only where nothing in the brackets is of its own sort:
    sugar (glucose, fructose) and milk chocolate (sugar, cocoa butter) are lists of what the thing is made of.
    """
    if item.role or not item.children or item.one_of:
        return item
    own, _ = find(item.name, item)
    if own.how not in SURE or own.ingredient_class not in PLAIN:
        return item
    for inner in item.children:
        if inner.role:
            continue
        if inner.children:
            return item
        match, _ = find(inner.name, inner)
        its_class = match.ingredient_class
        if its_class not in PUT_IN or its_class == own.ingredient_class or match.ingredient == own.ingredient:
            return item
        if its_class in ("flour", "starch") and own.ingredient_class not in (*DUSTED, "flour", "whole flour"):
            return item
        if _telling_words(item.name) & _words(inner.name):
            return item
    start, end = item.name_span
    itself = Item(item.name, start=start, end=end)
    return replace(item, children=(itself, *item.children))


def _words(name: str) -> frozenset[str]:
    return frozenset(re.findall(r"[a-z]+", re.sub(r"s\b", "", name.casefold())))


def _telling_words(name: str) -> frozenset[str]:
    """Return the words that tell what a name is: all of them, of a flour only "flour"."""
    found = _words(name)
    return frozenset(["flour"]) if "flour" in found else found
