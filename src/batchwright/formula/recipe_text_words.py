"""Headings and signal words of a pasted recipe."""

from __future__ import annotations

import re

from batchwright.formula.line_text_words import word_set


def _any_of(*phrases: str) -> str:
    return "(?:" + "|".join(phrases) + ")"


INGREDIENTS = re.compile(
    _any_of(r"(?:the )?ingredients?(?: list)?", r"you(?:'ll| will)? need", r"what you(?:'ll)? need", "shopping list", "zutaten",
            "ingrédients", "ingredientes", "ingredienti"), re.IGNORECASE)  # fmt: skip
METHOD = re.compile(
    _any_of(r"(?:the )?method", "directions?", "instructions?", "procedure", "steps?", "preparation", r"how to make(?: it)?",
            "to make", "cooking instructions", "what to do", "zubereitung", "préparation", "make it"), re.IGNORECASE)  # fmt: skip
NOTES = re.compile(
    "(?:recipe |cook's |chef's |baker's )?"
    + _any_of("notes?", "tips?", "storage", "variations?", r"nutrition(?:al)?(?: facts| information)?", "equipment", "to store",
              "make[- ]ahead", "comments?", "special equipment", "introduction", "about this recipe"), re.IGNORECASE)  # fmt: skip
HEADINGS = (("ingredients", INGREDIENTS), ("method", METHOD), ("notes", NOTES))
"""Bare headings and what follows them."""
TIMES = re.compile(
    "^" + _any_of("prep(?:aration)?", "cook(?:ing)?", "bak(?:e|ing)", "total", "active", "rest(?:ing)?", "chill(?:ing)?", "ready",
                  "hands[- ]on", "oven", "difficulty", "cuisine", "course", "category", "calories", "keywords", "level")
    + r"\b[^.:=]{0,20}[:=]", re.IGNORECASE)  # fmt: skip
CREDIT = re.compile(
    "^" + _any_of("adapted from", "recipe (?:by|from|courtesy)", "from the", "from a", r"source\s*:", "courtesy of", r"credit\s*:",
                  r"author\s*:", r"by\s+\w+(?:\s+\w+){0,3}$", "based on", "inspired by", "https?://", r"www\."),
    re.IGNORECASE)  # fmt: skip
CREDITED = re.compile(
    r"\b" + _any_of("from", "by", "adapted", "courtesy", "source", "cookbook", "book", "leaflet", "card", "grandmother", "grandma",
                    "mother", "aunt", "magazine", "newspaper", "newsletter", "pamphlet", "collection", r"(?:1[89]|20)\d\d")
    + r"\b", re.IGNORECASE)  # fmt: skip
NUMBERED = re.compile(r"^(?:step\s*)?\(?\d{1,2}\s*[.):\-]\s*(?=[^\d\s])|^step\s*\d{1,2}\s*", re.IGNORECASE)
COMPONENTS = word_set("""
dough filling icing frosting glaze crust topping sauce batter ganache coating streusel crumb base garnish shell cream
buttercream caramel custard syrup marinade dressing crumble cake pastry biscuit biscuits cookie cookies wafer wafers
sponge meringue assembly starter poolish levain finish decoration layer layers brownie fudge marshmallow jam curd mousse
praline nougat nougatine croquant enrobing dip drizzle wash seasoning rub chocolate
""")
"""What a part of a recipe may be called."""
FOODS_TOO = word_set("cream chocolate jam syrup caramel custard sauce sponge biscuit biscuits cookies crumb")
"""Names of parts that are ingredients as well."""
