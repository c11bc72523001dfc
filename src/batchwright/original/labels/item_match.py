"""Where a listed item stands on the shelf: by its name, else by what the label says beside the name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from batchwright.original.statements.records import Item
from batchwright.pantry.records import Match
from batchwright.pantry.shelf import match

GROUND = {"ginger": "ground ginger"}
"""Names that are a fresh food by themselves, and the dried spice that they are among spices."""
_NONE: Mapping[str, str] = MappingProxyType({})


def match_item(item: Item, meant: Mapping[str, str] = _NONE) -> Match:
    """Return how an item of the list matches the shelf.

    Its printed name first; where that gives no ingredient, its bracketed other name and its E-number; where nothing
    is known of it at all, the role printed before it ("emulsifier:"). meant: what names of this list stand for, as
    `among_spices` returns it.
    """
    spice = meant.get(item.name.casefold())
    if spice is not None:
        return replace(match(spice), printed=item.name, note=f"among spices: {spice}")
    found = match(item.name)
    for other in (item.synonym, item.e_number):
        if found.ingredient is None and other:
            second = match(other)
            if second.ingredient is not None:
                found = second
    if found.how == "unknown" and item.role:
        second = match(item.role)
        found = second if second.how != "unknown" else found
    return found


def among_spices(items: Sequence[Item], above: str = "") -> dict[str, str]:
    """Return the names of a list that mean the dried spice, and its name: "cinnamon, ginger, cloves", no vegetable by.

    items: the list, brackets included; above: the name before the bracket they stand in, "" at the top.
    """
    found: dict[str, str] = {}
    for place, item in enumerate(items):
        found |= among_spices(item.children, item.name)
        spice = GROUND.get(item.name.casefold())
        if spice is None or item.children:
            continue
        beside = [above, *(other.name for other in items[max(place - 1, 0) : place + 2] if other is not item)]
        classes = {match(name).ingredient_class for name in beside}
        if "spice" in classes and "vegetable" not in classes:
            found[item.name.casefold()] = spice
    return found
