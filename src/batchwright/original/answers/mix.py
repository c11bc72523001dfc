"""One coherent formula in grams, dough water included, for the flour or the pieces a cook has in mind."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.tables import number, rows
from batchwright.original.labels.tree import Tree, words
from batchwright.original.records import FormulaLine
from batchwright.original.region.problem import Floats

FLOUR_KINDS = ("flour", "whole_flour")
FAT_KINDS = ("oil", "shortening", "butter", "margarine")
SUGAR_KINDS = ("sugar", "syrup")
BAKED_KINDS = ("leavening", "yeast")
DEFAULT_FLOUR_G = 300.0
DEFAULT_FOOD_G = 500.0
ALLOWED_MIX = "a flour weight such as 300g-flour, or a count such as 40-pieces"


@dataclass(frozen=True, slots=True)
class Mix:
    """What to scale a formula to: `flour_g` [g] or `pieces` [count], the other absent."""

    flour_g: float | None = None
    pieces: int | None = None


def mix_from_text(text: str) -> Mix:
    """Return what a cook asks for, "300g-flour" or "40-pieces"; raises InputError for anything else."""
    plain = text.strip().casefold()
    flour = re.fullmatch(r"(\d{1,6}(?:[.,]\d{1,3})?)\s*(k?g)?[\s-]*(?:of )?flour", plain)
    pieces = re.fullmatch(r"(\d{1,6})[\s-]*(?:pieces?|pcs?)", plain)
    if flour:
        grams = float(flour.group(1).replace(",", ".")) * (1000.0 if flour.group(2) == "kg" else 1.0)
        if grams > 0:
            return Mix(flour_g=grams)
    elif pieces and int(pieces.group(1)) > 0:
        return Mix(pieces=int(pieces.group(1)))
    raise InputError([Fault("mix", text, ALLOWED_MIX)])


@cache
def _sorts() -> tuple[tuple[str, frozenset[str], float, float], ...]:
    found = []
    for row in rows("label_dough_water"):
        low, high = number(row["low_percent_of_flour"]), number(row["high_percent_of_flour"])
        found.append((row["sort"], frozenset(row["words"].split("|")), (low or 0.0) / 100.0, (high or 0.0) / 100.0))
    return tuple(found)


def dough_water_per_flour(said: str, tree: Tree, part: int, baked: bool | None) -> tuple[str, float, float]:
    """Return (sort of food, least, greatest) water added and baked off, as a fraction of the flour of a part.

    said: the food's name and sort in the cook's words; baked: what the cook says, None to judge by the list. (…, 0, 0)
    where the part is not baked, holds no flour, or lists its water.
    """
    inside = [leaf for leaf in tree.leaves if leaf.part == part]
    floury = any(leaf.kind in FLOUR_KINDS for leaf in inside)
    if baked is False or not floury or any(leaf.kind == "water" for leaf in inside):
        return "", 0.0, 0.0
    spoken = words(f"{tree.part_names[part]} {said}")
    for sort, its_words, low, high in _sorts():
        if spoken & its_words:
            return sort, low, high
    raised = any(leaf.kind in BAKED_KINDS for leaf in inside)
    sort, _, low, high = _sorts()[-1]
    return (sort, low, high) if raised or baked else ("", 0.0, 0.0)


def one_formula(
    tree: Tree, shares: Floats, finished: Floats, water_per_flour: Sequence[tuple[float, float]], mix: Mix | None,
    piece: Estimate | None,
) -> tuple[tuple[FormulaLine, ...], str]:  # fmt: skip
    """Return one formula that sums to what is mixed, and in words what it is scaled to.

    shares: (n,) one coherent formula as added [fractions]; finished: (m,) finished mass of each part; water_per_flour:
    (least, greatest) for each part, the middle is taken; mix: what is asked for (300 g of flour, or 500 g of food where
    there is none); piece: the weight of one finished piece [g]. Raises InputError where pieces are asked for and none
    was weighed, or flour and there is none.
    """
    flour = float(sum(share for share, leaf in zip(shares, tree.leaves, strict=True) if leaf.kind in FLOUR_KINDS))
    whole = float(finished.sum())
    if mix is not None and mix.pieces is not None:
        if piece is None:
            hint = "weigh three pieces and give them under [teardown]"
            raise InputError([Fault("mix", f"{mix.pieces}-pieces", "a flour weight while no piece is weighed", hint)])
        scale = mix.pieces * piece.likely / whole
        said = f"{mix.pieces} pieces of {piece.likely:.1f} g"
    elif mix is not None and mix.flour_g is not None:
        if flour <= 1e-9:
            raise InputError([Fault("mix", f"{mix.flour_g:g}g-flour", "pieces: this food lists no flour")])
        scale, said = mix.flour_g / flour, f"{mix.flour_g:g} g of flour"
    elif flour > 1e-3:
        scale, said = DEFAULT_FLOUR_G / flour, f"{DEFAULT_FLOUR_G:g} g of flour"
    else:
        scale, said = DEFAULT_FOOD_G / whole, f"{DEFAULT_FOOD_G:g} g of food"
    several = len(tree.part_names) > 1
    lines: list[FormulaLine] = []
    for part, part_name in enumerate(tree.part_names):
        inside = [place for place, leaf in enumerate(tree.leaves) if leaf.part == part]
        shown = part_name if several else ""
        for place in inside:
            grams = float(shares[place]) * scale
            if grams >= 0.0005:
                lines.append(FormulaLine(tree.leaves[place].name, grams, shown))
        part_flour = sum(float(shares[place]) for place in inside if tree.leaves[place].kind in FLOUR_KINDS)
        water = float(np.mean(water_per_flour[part])) * part_flour * scale
        if water >= 0.05:
            lines.append(FormulaLine("dough water (bakes off)", water, shown))
    return tuple(lines), said
