"""Wishes and rules as a cook writes them: "fat 18..22", "sugars <= 30", "sweetness -20 %", "butter=9.8/kg"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from batchwright.base.errors import Fault, InputError
from batchwright.formula.axes import class_groups
from batchwright.formula.contents import PLACE
from batchwright.formula.fitting.lines import Bench, price_per_g
from batchwright.formula.fitting.records import Rules, Target
from batchwright.formula.fitting.targets import (
    class_target,
    composition_target,
    cost_target,
    key_of,
    mass_target,
    part_target,
    powder_target,
    sweetness_target,
)

_NUMBER = r"[-+]?\d+(?:[.,]\d+)?"
_RANGE = re.compile(rf"^(.*?)[\s:=]*?({_NUMBER})\s*(?:\.\.+|–|\bto\b)\s*({_NUMBER})\s*([^\d]*)$", re.I)
_SIGN = r"(<=|>=|=|<|>|:|\bat most\b|\bat least\b|\bunder\b|\bover\b|\s)"
_ONE = re.compile(rf"^(.*?)\s*{_SIGN}\s*({_NUMBER})(?!\.?[\de])\s*([^\d]*)$", re.I)
_PRICE = re.compile(rf"\s*[^\d+-]{{0,3}}\s*({_NUMBER})\s*[^\d/]{{0,4}}(?:/\s*(100 ?g|kg|g|lb|oz|each))?\s*")
_MOST, _LEAST = ("<=", "<", "at most", "under"), (">=", ">", "at least", "over")
_PER_KG = {"kg": 1.0, "": 1.0, "100g": 10.0, "g": 1000.0, "lb": 1.0 / 0.45359237, "oz": 1.0 / 0.028349523125,
           "each": 20.0}
"""Price of so much to price of a kg; pound and ounce by NIST Handbook 44; an egg is 50 g without its shell."""
ALLOWED = ("fat, saturated fat, sugars, protein, fibre, salt, water, starch ...; class NAME; part NAME; sweetness; "
           "powder; cost; batch; piece")  # fmt: skip
LEAST_LEFT = 50.0  # percent: "sweetness 20" may mean a fifth less or a fifth left, so it is asked back
LARGEST_COST_GAP = 0.01  # of the batch: lines without a price that together weigh less may be left out of the cost


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish as read: what it speaks of, as written, and its limits [unit of the thing]."""

    what: str
    low: float | None
    high: float | None
    text: str


def read_wish(text: str) -> Wish:
    """Return a wish as read from "NAME LOW..HIGH", "NAME <= X", "NAME >= X" or "NAME X".

    A single figure means what it rounds to: "fat 20" is 19.5 to 20.5, "salt 1.2" is 1.15 to 1.25. "sweetness -20" is
    20 % less than now. Raises InputError for anything else.
    """
    ranged = _RANGE.match(text.strip())
    if ranged and re.search(r"[a-z]", ranged.group(1), re.I):
        return Wish(_bare(ranged.group(1)), _figure(ranged.group(2)), _figure(ranged.group(3)), text)
    one = _ONE.match(text.strip())
    if one is None or not re.search(r"[a-z]", one.group(1), re.I):
        raise InputError([Fault("target", text, "NAME LOW..HIGH, NAME <= X, NAME >= X or NAME X",
                                "For example: fat 18..22")])  # fmt: skip
    sign, figure = one.group(2).strip().casefold(), _figure(one.group(3))
    if sign in _MOST:
        return Wish(_bare(one.group(1)), None, figure, text)
    if sign in _LEAST:
        return Wish(_bare(one.group(1)), figure, None, text)
    places = len(one.group(3).replace(",", ".").partition(".")[2])
    half = 0.5 * 10.0**-places
    low = max(0.0, figure - half) if figure >= 0 else figure - half
    return Wish(_bare(one.group(1)), low, figure + half, text)


def _bare(text: str) -> str:
    return re.sub(r"\s+", " ", text.strip(" :=%\t")).casefold()


def _figure(text: str) -> float:
    return float(text.replace(",", "."))


def asked_targets(texts: Sequence[str], bench: Bench, rules: Rules, pieces: float | None = None) -> list[Target]:
    """Return the targets that a cook wrote; raises InputError with every one that cannot be read or be.

    texts: see `read_wish`; pieces: how many pieces the batch makes [count, > 0], for "piece".
    """
    found: list[Target] = []
    faults: list[Fault] = []
    for text in texts:
        try:
            wish = read_wish(text)
            negative = [end for end in (wish.low, wish.high) if end is not None and end < 0]
            if negative and not wish.what.startswith("sweet"):
                raise InputError([Fault(f"target {wish.what}", negative[0], "0 or more")])
            found.append(_target(wish, bench, rules, pieces))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return found


def _target(wish: Wish, bench: Bench, rules: Rules, pieces: float | None) -> Target:
    """Return the target of one wish."""
    what, low, high = wish.what, wish.low, wish.high
    parts = list(dict.fromkeys(each.part for each in bench.candidates))
    head, colon, rest = what.partition(":")
    part = next((each for each in parts if colon and each.casefold() == head.strip()), rules.only_part)
    what = rest.strip() if colon and part and head.strip() == part.casefold() else what
    mixed = what.endswith(("as mixed", "mixed", "raw"))
    what = re.sub(r"\s*\b(?:as )?(?:mixed|raw|finished)$", "", what)
    if what.startswith("sweet"):
        if any(end is not None and 0 < end < LEAST_LEFT for end in (low, high)):
            raise InputError([Fault("target sweetness", wish.text, "-20 for a fifth less, 80 for what is left of it")])
        ends = [None if end is None else (100.0 + end) / 100.0 if end <= 0 else end / 100.0 for end in (low, high)]
        return sweetness_target(bench, ends[0], ends[1], part)
    if what.startswith("powder"):
        return powder_target(bench, low, high, part)
    if what == "cost":
        return _cost(bench, rules, low, high)
    if what.startswith(("batch", "total", "piece")):
        if what.startswith("piece") and not pieces:
            raise InputError([Fault("target piece", wish.text, "a recipe that says how many it makes",
                                    "Add its yield, or ask for the batch weight.")])  # fmt: skip
        count = float(pieces or 1.0) if what.startswith("piece") else 1.0
        return mass_target(bench, low, high, finished=not mixed and what.startswith("piece"), pieces=count)
    if what.startswith("class "):
        group = _class_named(what.removeprefix("class ").strip(), wish)
        return class_target(bench, group, low, high)
    if what.startswith("part "):
        named = next((each for each in parts if each.casefold() == what.removeprefix("part ").strip()), None)
        if named is None:
            raise InputError([Fault("target part", wish.text, ", ".join(parts) or "a formula with parts")])
        return part_target(bench, named, low, high)
    key = key_of(what)
    if key is None or key not in PLACE:
        raise InputError([Fault("target", wish.text, ALLOWED, "It names nothing that a formula can be held to.")])
    return composition_target(bench, key, low, high, mixed=mixed, part=part)


def _class_named(name: str, wish: Wish) -> str:
    found = [group for group in class_groups() if name in (group, f"{group}s") or name == group.rstrip("s")]
    if not found:
        raise InputError([Fault("target class", wish.text, ", ".join(class_groups()))])
    return found[0]


def _cost(bench: Bench, rules: Rules, low: float | None, high: float | None) -> Target:
    per_g, missing = price_per_g(bench.candidates, rules.prices)
    start = {each.name: each.grams for each in bench.candidates}
    gap = sum(start[name] for name in missing) / max(sum(start.values()), 1e-9)
    unpriced = [name for name in missing if name != "water"]
    entering = [each.name for each in bench.candidates if each.entering and each.name in unpriced]
    if gap > LARGEST_COST_GAP or entering:
        raise InputError([Fault("price", ", ".join(unpriced), "a price for every line of weight",
                                'Give it: --price "butter=9.8/kg"')])  # fmt: skip
    return cost_target(bench, tuple(per_g), low, high)


def read_prices(texts: Sequence[str]) -> dict[str, float]:
    """Return prices per kg by name, from "butter=9.8/kg" (also /100g, /g, /lb, /oz) or "eggs=0.3/each".

    Raises InputError with every price that cannot be read.
    """
    found: dict[str, float] = {}
    faults = []
    for text in texts:
        name, equals, price = text.partition("=")
        told = _PRICE.fullmatch(price)
        if told is not None and told.group(2) == "each" and "egg" not in name.casefold():
            told = None
        if not equals or not name.strip() or told is None:
            allowed = "NAME=PRICE/kg (or /100g, /g, /lb, /oz; eggs /each)"
            faults.append(Fault("price", text, allowed, 'For example: "butter=9.8/kg"'))
        else:
            found[name.strip()] = _figure(told.group(1)) * _PER_KG[(told.group(2) or "").replace(" ", "")]
    if faults:
        raise InputError(faults)
    return found


def read_grams(field: str, texts: Sequence[str]) -> dict[str, float]:
    """Return grams by name from "baking soda=0.6"; raises InputError naming `field`."""
    return {name: ends[0] for name, ends in _pairs(field, texts, r"NAME=GRAMS", 1).items()}


def read_bounds(texts: Sequence[str]) -> dict[str, tuple[float, float]]:
    """Return least and most [g] by name from "butter=100..150"; raises InputError."""
    return {name: (ends[0], ends[1]) for name, ends in _pairs("bounds", texts, "NAME=LEAST..MOST in grams", 2).items()}


def _pairs(field: str, texts: Sequence[str], allowed: str, count: int) -> Mapping[str, list[float]]:
    found: dict[str, list[float]] = {}
    faults = []
    for text in texts:
        name, equals, figures = text.partition("=")
        ends = re.split(r"\s*(?:\.\.+|–|\bto\b)\s*", re.sub(r"\s*(?:g|grams?)\s*$", "", figures.strip()))
        good = [re.fullmatch(_NUMBER, end.strip()) for end in ends]
        if not equals or not name.strip() or len(ends) != count or not all(good):
            faults.append(Fault(field, text, allowed))
        else:
            found[name.strip()] = [_figure(end) for end in ends]
    if faults:
        raise InputError(faults)
    return found
