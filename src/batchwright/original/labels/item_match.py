"""Where a listed item stands on the shelf: by its name, else by what the label says beside the name."""

from __future__ import annotations

from batchwright.original.statements.records import Item
from batchwright.pantry.records import Match
from batchwright.pantry.shelf import match


def match_item(item: Item) -> Match:
    """Return how an item of the list matches the shelf.

    Its printed name first; where that gives no ingredient, its bracketed other name and its E-number; where nothing
    is known of it at all, the role printed before it ("emulsifier:").
    """
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
