"""Invented formulas that several tests use."""

from __future__ import annotations

from batchwright.base.estimate import Estimate
from batchwright.formula.records import Formula, Line, Part, Step


def line(item: str, grams: float, doubt: float = 0.05, process: str = "", preparation: str = "") -> Line:
    """Return a line of an item with its grams and a relative doubt."""
    estimate = Estimate(grams, grams * (1 - doubt), grams * (1 + doubt), unit="g")
    return Line(f"{grams:g} g {item}", item, estimate, process=process, preparation=preparation)


def pier_snaps() -> Formula:
    """Return a filled biscuit of two parts, one baked, with browned butter."""
    dough = (line("wheat flour", 300), line("butter", 72, process="browned"), line("brown sugar", 132),
             line("egg", 50), line("salt", 3), line("baking soda", 3), line("semisweet chocolate", 50))  # fmt: skip
    filling = (line("butter", 100), line("icing sugar", 200), line("rum", 10))
    return Formula("Pier snaps", (Part("biscuit", dough), Part("filling", filling)), (Step("Bake for 12 minutes."),))
