"""The demonstration: an invented food from its packet to a recipe card, and the answer held to the formula it has."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from batchwright.actions.compare import Wishes, band_of, compare_formulas
from batchwright.actions.formula import Weighing, weigh_text
from batchwright.actions.original import decode_file
from batchwright.actions.writeup import make_card
from batchwright.base.estimate import Estimate
from batchwright.formula.comparing.records import Comparison
from batchwright.formula.fitting.records import Fitted
from batchwright.formula.fitting.toward import fit_toward
from batchwright.original.labels.file import LabelFile, label_from_text
from batchwright.original.records import Answer, Share
from batchwright.writeup.records import Card

FOOD = "ferry_boats"
RECIPES = ("ferry_boats_recipe_1.txt", "ferry_boats_recipe_2.txt", "ferry_boats_recipe_3.txt")


@dataclass(frozen=True, slots=True)
class Truth:
    """One true figure [%] beside the estimate of it; the estimate is None where the answer does not name the thing."""

    name: str
    part: str
    true_percent: float
    estimate: Estimate | None

    @property
    def within_likely(self) -> bool:
        """Whether the truth lies in the likely range."""
        return self.estimate is not None and self.estimate.low <= self.true_percent <= self.estimate.high

    @property
    def within_sure(self) -> bool:
        """Whether the truth lies in the sure range."""
        if self.estimate is None or self.estimate.sure_low is None or self.estimate.sure_high is None:
            return False
        return self.estimate.sure_low - 0.01 <= self.true_percent <= self.estimate.sure_high + 0.01

    def to_json(self) -> dict[str, Any]:
        """Return the figure, and whether each range holds it."""
        return {"name": self.name, "part": self.part, "true_percent": round(self.true_percent, 3),
                "within_likely": self.within_likely, "within_sure": self.within_sure}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Demonstration:
    """An invented food: what was entered, what was answered, what is true."""

    label: LabelFile
    answer: Answer
    truths: tuple[Truth, ...]

    def to_json(self) -> dict[str, Any]:
        """Return answer and truth; the label as its text and panels."""
        return {"label": {"text": self.label.text, "panels": [dict(panel) for panel in self.label.panels]},
                "answer": self.answer.to_json(), "truth": [truth.to_json() for truth in self.truths]}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The way from packet to card: what the packet says, recipes in grams, beside it, the fitted one, its card."""

    packet: Demonstration
    recipes: tuple[Weighing, ...]
    compared: Comparison
    fitted: Fitted
    card: Card

    def to_json(self) -> dict[str, Any]:
        """Return every step; that of the packet under its own keys."""
        return {**self.packet.to_json(), "recipes": [recipe.to_json() for recipe in self.recipes],
                "comparison": self.compared.to_json(), "fit": self.fitted.to_json(),
                "card": self.card.to_json()}  # fmt: skip


def demo_text(name: str) -> str:
    """Return a file of the demonstration as text: `ferry_boats.toml`, or `ferry_boats_truth.toml`."""
    return (files("batchwright") / "data" / "demo" / name).read_text(encoding="utf-8")


def demonstrate(mix: str = "") -> Demonstration:
    """Return the invented food, decoded, beside its true formula.

    mix: "300g-flour" or "40-pieces", what the formula to mix is scaled to. The truth is read after the answer is made.
    """
    text = demo_text(f"{FOOD}.toml")
    answer = decode_file(text, mix)
    truth = tomllib.loads(demo_text(f"{FOOD}_truth.toml"))
    return Demonstration(label_from_text(text), answer, truths_of(truth, answer))


def rebuild_demo() -> Rebuilt:
    """Return the whole way: the packet decoded, three recipes weighed and compared, the nearest fitted, its card."""
    packet = demonstrate()
    recipes = tuple(weigh_text(demo_text(name)) for name in RECIPES)
    band = band_of(packet.answer)
    compared = compare_formulas(band, [recipe.formula for recipe in recipes], Wishes(supermarket=True))
    nearest = recipes[compared.recipes[0].place].formula
    fitted = fit_toward(nearest, band)
    return Rebuilt(packet, recipes, compared, fitted, make_card(json.dumps(fitted.formula.to_json())))


def truths_of(truth: Mapping[str, Any], answer: Answer) -> tuple[Truth, ...]:
    """Return each true share as added, the bake loss and the dough water, beside what was answered.

    truth: a table of grams for each part, and `bake_loss_percent` and `dough_water_percent` of the listed mass.
    """
    parts = {name: table for name, table in truth.items() if isinstance(table, Mapping)}
    whole_g = sum(sum(table.values()) for table in parts.values())
    found = [
        Truth(name, part, 100.0 * mass_g / whole_g, _answered(answer.ingredients, name, part))
        for part, table in parts.items()
        for name, mass_g in table.items()
    ]
    found.append(Truth("bake loss", "", truth["bake_loss_percent"], answer.bake_loss_percent))
    found.append(Truth("dough water", "", truth["dough_water_percent"], answer.dough_water_percent))
    return tuple(found)


def _answered(shares: tuple[Share, ...], name: str, part: str) -> Estimate | None:
    """Return the share of an ingredient in a part, None where the answer has no such line."""
    return next((share.added_percent for share in shares if share.name == name and share.part == part), None)
