"""The lines a fit may move: those of the formula, those that may enter, and what a gram of each brings to the food."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.shown import small_g
from batchwright.formula.axes import matrix_of
from batchwright.formula.contents import CONTENT_KEYS, PLACE, Floats, match_of
from batchwright.formula.fitting.records import Rules
from batchwright.formula.mixture import Mixture, flat_lines, mixture_of, one_recipe
from batchwright.formula.records import Formula, Line
from batchwright.pantry import shelf
from batchwright.science.sweetness import knows_sweetness, relative_sweetness

FLOURS = frozenset({"flour", "whole flour"})
SMALL = frozenset({"acid", "colour", "emulsifier", "flavour", "fortificant", "gum", "leavening", "preservative", "salt",
                   "spice", "yeast"})  # fmt: skip
"""Classes that act by more than what they hold: they stay where they are unless the cook frees them."""
SWEETENERS = frozenset({"sugar", "syrup", "sweetener", "confection"})
SWEET_PER_G = 0.35  # a line this sweet, table sugar = 1, is there to sweeten: dried fruit and milk chocolate are
_OTHER_SUGAR = 1.0  # sugars whose kind is not told count as table sugar (sucrose = 1 by definition)
_SUGARS = {"sucrose_g": "sucrose", "glucose_g": "glucose", "fructose_g": "fructose", "lactose_g": "lactose",
           "maltose_g": "maltose"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Candidate:
    """One line that may be moved. `place` is its place in `mixture.flat_lines` of the formula with what may enter,
    `part_place` the number of its part.

    `per_gram`: contents that reach the mix per gram as written [order of CONTENT_KEYS]; `mixed_g`: grams that do.
    """

    name: str
    part: str
    line: Line
    grams: float
    ingredient: str
    ingredient_class: str
    per_gram: Floats
    mixed_g: float
    known: bool
    place: int
    entering: bool
    part_place: int

    def holds(self, key: str) -> float:
        """Return the content of a key per gram as written, after its process."""
        return float(self.per_gram[PLACE[key]])

    @property
    def sweetness(self) -> float:
        """How sweet a gram is, table sugar = 1."""
        if knows_sweetness(self.ingredient):
            return relative_sweetness(self.ingredient).likely
        told = {key: self.holds(key) for key in _SUGARS}
        rest = max(0.0, self.holds("sugars_g") - sum(told.values()))
        return rest * _OTHER_SUGAR + sum(held * relative_sweetness(_SUGARS[key]).likely for key, held in told.items())

    @property
    def sweetens(self) -> bool:
        """Whether the line is there to sweeten."""
        return self.ingredient_class in SWEETENERS or self.sweetness >= SWEET_PER_G


@dataclass(frozen=True, slots=True)
class Bench:
    """A formula laid out for fitting: `formula` with what may enter at 0 g, its `candidates` (n) in order.

    `finished` (n, K): contents of the finished food per gram written [order of CONTENT_KEYS]; `finished_g` (n,): grams
    finished per gram written. Baked parts end as dry as they do now. `losses`: loss of each part that goes by its loss
    (fractions low, likely, high).
    """

    formula: Formula
    candidates: tuple[Candidate, ...]
    finished: Floats
    finished_g: Floats
    losses: tuple[tuple[float, float, float] | None, ...]

    @property
    def start(self) -> Floats:
        """Amounts as they stand (n,) [g]."""
        return np.array([each.grams for each in self.candidates])

    @property
    def mixed(self) -> Floats:
        """Contents as mixed per gram written (n, K) [order of CONTENT_KEYS]."""
        return np.array([each.per_gram for each in self.candidates])

    @property
    def mixed_g(self) -> Floats:
        """Grams mixed per gram written (n,)."""
        return np.array([each.mixed_g for each in self.candidates])

    def inside(self, part: str) -> Floats:
        """Return 1 for each line of a part, 0 for the others; all 1 where no part is named."""
        return np.array([1.0 if not part or each.part.casefold() == part.casefold() else 0.0
                         for each in self.candidates])  # fmt: skip


def bench_of(formula: Formula, rules: Rules | None = None) -> Bench:
    """Return a formula laid out for fitting: its lines that have grams, and at 0 g what the rules let enter.

    Raises InputError where nothing has grams, an extra is not on the shelf, or a part has no such name.
    """
    one_recipe(formula)
    wider, first_new = (formula, None) if rules is None else _with_extras(formula, rules)
    mix = mixture_of(wider)
    matrix = matrix_of(wider, CONTENT_KEYS)
    candidates = tuple(_candidate(mix, at, first_new) for at in range(len(mix.lines)))
    losses = tuple(finish.loss for finish in mix.finishes)
    return Bench(wider, candidates, matrix.tops.T, matrix.bottom, losses)


def _candidate(mix: Mixture, at: int, new: frozenset[int] | None) -> Candidate:
    each, contents = mix.lines[at], mix.contents[at]
    return Candidate(
        each.line.item or each.line.text, each.part_name, each.line, float(mix.grams[at]),
        match_of(each.line).ingredient or "", contents.ingredient_class, mix.held[at], float(mix.factor[at]),
        contents.known, mix.at[at], new is not None and mix.at[at] in new, each.part,
    )  # fmt: skip


def _with_extras(formula: Formula, rules: Rules) -> tuple[Formula, frozenset[int]]:
    """Return the formula with what may enter at the end of its part, and the places of those in `flat_lines`."""
    faults: list[Fault] = []
    parts = [part.name for part in formula.parts]
    if rules.only_part and rules.only_part.casefold() not in [part.casefold() for part in parts]:
        raise InputError([Fault("part", rules.only_part, ", ".join(parts), "A part goes by its heading.")])
    there = [(each.part, match_of(each.line).ingredient) for each in flat_lines(formula) if each.line.grams is not None]
    added: dict[int, list[Line]] = {}
    for text in dict.fromkeys(extra.strip() for extra in rules.extras if extra.strip()):
        head, colon, name = text.partition(":")
        place = _part_place(parts, head) if colon else None
        name = name.strip() if place is not None else text
        if place is None:
            place = _part_place(parts, rules.only_part)
        if place is None:
            place = _largest(formula)
        match = shelf.match(name)
        if match.ingredient is None:
            faults.append(Fault("on hand", name, "an ingredient of the shelf",
                                "Look it up: batchwright pantry find TEXT"))  # fmt: skip
        elif (place, match.ingredient) not in there:
            there.append((place, match.ingredient))
            nothing = Estimate(0.0, 0.0, 0.0, unit="g")
            added.setdefault(place, []).append(Line(name, name, nothing, match.ingredient, match.how))
    if faults:
        raise InputError(faults)
    wider = replace(formula, parts=tuple(
        replace(part, lines=(*part.lines, *added.get(at, ()))) for at, part in enumerate(formula.parts)
    ))  # fmt: skip
    fresh = {id(line) for lines in added.values() for line in lines}
    return wider, frozenset(at for at, each in enumerate(flat_lines(wider)) if id(each.line) in fresh)


def _part_place(parts: Sequence[str], name: str) -> int | None:
    wanted = name.strip().casefold()
    return next((at for at, part in enumerate(parts) if part.casefold() == wanted), None) if wanted else None


def _largest(formula: Formula) -> int:
    """Return the number of the part with the most grams."""
    grams = [0.0] * len(formula.parts)
    for each in flat_lines(formula):
        grams[each.part] += each.line.grams.likely if each.line.grams is not None else 0.0
    return grams.index(max(grams))


def named(text: str, candidates: Sequence[Candidate], part: str = "") -> list[int]:
    """Return the places of the lines that a cook's word means: "butter", "filling: butter", or a part's own name.

    The line's own words come first, then the shelf's name for it, then any line with the word in it. Empty where none.
    """
    head, colon, name = text.partition(":")
    if colon and any(each.part.casefold() == head.strip().casefold() for each in candidates):
        return named(name, candidates, head.strip())
    asked, wanted = text.strip().casefold(), shelf.match(text.strip()).ingredient
    inside = [at for at, each in enumerate(candidates) if not part or each.part.casefold() == part.casefold()]
    ways = (
        [at for at in inside if candidates[at].name.casefold() == asked],
        [at for at in inside if wanted is not None and candidates[at].ingredient == wanted],
        [at for at in inside if re.search(rf"\b{re.escape(asked.removesuffix('s'))}", candidates[at].name.casefold())],
        [at for at in inside if candidates[at].part.casefold() == asked],
    )
    return next((found for found in ways if found and asked), [])


def refilled(bench: Bench, grams: Floats) -> Formula:
    """Return the formula with other amounts: grams (n,) [>= 0] of each candidate; lines at 0 g are left out.

    Amounts that moved lose their kitchen measure, since it is no longer true; the others keep theirs and their doubt.
    A part that goes by its loss gets the loss that leaves it as dry as it was.
    """
    amounts = {each.place: float(amount) for each, amount in zip(bench.candidates, grams, strict=True)}
    entering = frozenset(each.place for each in bench.candidates if each.entering)
    places = iter(range(sum(1 for _ in flat_lines(bench.formula))))
    parts = tuple(
        replace(part, lines=_refilled_lines(part.lines, places, amounts, entering),
                bake_loss_percent=_new_loss(bench, at, grams)) for at, part in enumerate(bench.formula.parts)
    )  # fmt: skip
    return replace(bench.formula, parts=parts)


def _new_loss(bench: Bench, part: int, grams: Floats) -> Estimate | None:
    """Return the loss [%] that leaves a part as dry as it was, its doubt as before; None where it has none."""
    loss = bench.losses[part]
    inside = np.array([each.part_place == part for each in bench.candidates], dtype=float)
    mixed = float((bench.mixed_g * inside) @ grams)
    if loss is None or mixed <= 0 or np.array_equal(grams * inside, bench.start * inside):
        return bench.formula.parts[part].bake_loss_percent
    likely = max(0.0, 100.0 * (1.0 - float((bench.finished_g * inside) @ grams) / mixed))
    ends = (likely - 100.0 * (loss[1] - loss[0]), likely + 100.0 * (loss[2] - loss[1]))
    return Estimate(likely, max(0.0, ends[0]), min(100.0, ends[1]), unit="%", method="as dry as before the fit")


def _refilled_lines(
    lines: Sequence[Line], places: Iterator[int], amounts: Mapping[int, float], entering: frozenset[int]
) -> tuple[Line, ...]:
    found: list[Line] = []
    for line in lines:
        place = next(places)
        also = _refilled_lines(line.also, places, amounts, entering)
        grams = amounts.get(place)
        if grams is None or line.grams is None or (grams == line.grams.likely and grams > 0):
            found.append(line if also == line.also else replace(line, also=also))
        elif grams > 0:
            said = "entered by the fit" if place in entering else f"fitted: was {small_g(line.grams.likely)} g"
            found.append(replace(line, text=f"{small_g(grams)} g {line.item or line.text}", amounts=(), also=also,
                                 grams=Estimate(grams, grams, grams, unit="g"),
                                 assumptions=(*line.assumptions, said)))  # fmt: skip
        else:
            found += also
    return tuple(found)


def price_per_g(candidates: Sequence[Candidate], prices: Mapping[str, float]) -> tuple[Floats, list[str]]:
    """Return the price per gram of each line [money/g] and the names of the lines without one.

    prices: name to price per kg. Raises InputError for a price that names no line or is below 0.
    """
    found = np.full(len(candidates), np.nan)
    faults = []
    for name, price in prices.items():
        places = named(name, candidates)
        if price < 0:
            faults.append(Fault(f"price of {name}", price, "0 or more per kg"))
        if not places:
            faults.append(Fault("price", name, ", ".join(dict.fromkeys(each.name for each in candidates))))
        found[places] = price / 1000.0
    if faults:
        raise InputError(faults)
    missing = [each.name for each, price in zip(candidates, found, strict=True) if np.isnan(price)]
    return np.where(np.isnan(found), 0.0, found), missing
