"""The demonstration as a book: the invented food as one rebuild, its recipes beside it."""

from __future__ import annotations

import tomllib

from batchwright.actions.bench import named, pasted_document
from batchwright.actions.demo import FOOD, RECIPES, demo_text
from batchwright.store.book import Book
from batchwright.store.records import Rebuild

WHO = "Demonstration"
BRIEF = {"deadline": "in four days", "must": ["short pastry", "moist walnut filling"], "nice": ["a clean rim"],
         "drop": ["palm oil"]}  # fmt: skip


def fill_demo_book(book: Book) -> Rebuild:
    """Put the invented food with its recipes into a book as one rebuild; return it."""
    document = tomllib.loads(demo_text(f"{FOOD}.toml"))
    name = document["food"]["name"]
    things = [("brief", "Brief", BRIEF), ("original", "Original", document)]
    for file in RECIPES:
        pasted = pasted_document(demo_text(file))
        things.append(("formula", named(pasted), pasted))
    return book.new_rebuild(f"{name} (invented)", things, WHO)
