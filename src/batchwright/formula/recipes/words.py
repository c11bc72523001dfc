"""Headings and signal words of a pasted recipe."""

from __future__ import annotations

import re

from batchwright.formula.lines.words import word_set


def _phrases(table: str, before: str = "", after: str = "") -> re.Pattern[str]:
    """Return a pattern for any phrase of a table, one per line or separated by semicolons."""
    phrases = [each.strip() for each in table.replace("\n", ";").split(";")]
    return re.compile(f"{before}(?:{'|'.join(each for each in phrases if each)}){after}", re.IGNORECASE)


INGREDIENTS = _phrases(r"""
(?:the )?ingredients?(?: list)?; you(?:'ll| will)? need; what you(?:'ll)? need; shopping list
zutaten; ingrédients; ingredientes; ingredienti
""")
INGREDIENTS_FOR = re.compile(r"ingredients? (for (?:the |a )?[\w ]+)", re.IGNORECASE)
STEP_NUMBER = re.compile(r"(?:step\s*)?\d{1,2}\s*[.):]?", re.IGNORECASE)
METHOD = _phrases(r"""
(?:the )?method; directions?; instructions?; procedure; steps?; preparation; how to make(?: it)?; to make; make it
cooking instructions; what to do; zubereitung; préparation
""")
NOTES = _phrases(r"""
notes?; tips?; storage; variations?; nutrition(?:al)?(?: facts| information)?; equipment; to store; make[- ]ahead
comments?; special equipment; introduction; about this recipe
""", "(?:recipe |cook's |chef's |baker's )?")  # fmt: skip
BRACKETED = re.compile(r"^\[([^\W\d][\w ]{2,40})\]$")  # [Method]
HEADINGS = (("ingredients", INGREDIENTS), ("method", METHOD), ("notes", NOTES))
"""Bare headings and what follows them."""
TIMES = _phrases(r"""
prep(?:aration)?; cook(?:ing)?; bak(?:e|ing); total; active; rest(?:ing)?; chill(?:ing)?; ready; hands[- ]on; oven
difficulty; cuisine; course; category; calories; keywords; level
""", "^", r"\b[^.:=]{0,20}[:=]")  # fmt: skip
CREDIT = _phrases(r"""
adapted from; recipe (?:by|from|courtesy); from the; from a; source\s*:; courtesy of; credit\s*:; author\s*:
by\s+[\w.]+(?:\s+[\w.]+){0,3}$; based on; inspired by; https?://; www\.
""", "^")  # fmt: skip
CREDITED = _phrases(r"""
from; by; adapted; courtesy; source; cookbook; book; leaflet; card; grandmother; grandma; mother; aunt; magazine
newspaper; newsletter; pamphlet; collection; (?:1[89]|20)\d\d
""", r"\b", r"\b")  # fmt: skip
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
