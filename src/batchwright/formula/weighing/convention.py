"""Which convention a recipe follows, read off the lines that print both a cup and a weight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import log
from statistics import median

from batchwright.formula.records import ReadLine
from batchwright.formula.weighing.amount import mechanical, weighed, writings
from batchwright.formula.weighing.item import FILLED, named
from batchwright.pantry.measures_conventions import FLOUR, Convention, convention_of, cup_weights, us_cups

NAMED_WITHIN = 0.02  # ln; nearer to a named convention than this, its name is used: 120, 125 and 128 g stay apart
AGREE_WITHIN = 0.08  # ln; printed weights of one recipe that follow one convention differ by no more
BELIEVED_G_CUP = (95.0, 185.0)  # a cup of wheat flour outside this is a slip (sifted to packed, common practice)
BRITISH = ("plain flour", "self-raising flour", "strong flour", "caster sugar", "castor sugar", "icing sugar",
           "bicarb", "cornflour", "treacle", "golden syrup", "double cream", "single cream", "sultanas")  # fmt: skip
BRITISH_WORDS_NEEDED = 2
PLACES_ML = (("US", 231.0, 243.0), ("metric", 246.0, 256.0), ("imperial", 280.0, 290.0))


@dataclass(frozen=True, slots=True)
class Inferred:
    """The convention a recipe is weighed by, and in words how it was found."""

    convention: Convention
    notes: tuple[str, ...] = ()


def inferred(lines: Iterable[ReadLine], chosen: Convention) -> Inferred:
    """Return the convention that a recipe's own printed weights follow, else the chosen one.

    Weights of flour that stand beside cups are turned into what a US cup of wheat flour weighs; where most of them
    agree they decide over the choice, and the notes say so. Millilitres beside cups decide whose cup it is.
    """
    every = [one for line in lines for one in (line, *line.also)]
    place, place_notes = _place(every, chosen)
    found = sorted(_flour_cups(every, place, wheat_only=True)) or sorted(_flour_cups(every, place, wheat_only=False))
    notes = list(place_notes)
    if not found:
        if place == chosen.place:
            return Inferred(chosen, tuple(notes))
        return Inferred(Convention(_joined(_filling(chosen), place), place, chosen.cups), tuple(notes))
    middle = median(found)
    agreeing = [each for each in found if abs(log(each / middle)) <= AGREE_WITHIN]
    if len(agreeing) <= len(found) / 2:
        notes.append(f"Printed weights put a cup of flour anywhere from {found[0]:.0f} to {found[-1]:.0f} g: they "
                     "follow no one convention.")  # fmt: skip
        return Inferred(Convention(_joined(_filling(chosen), place), place, chosen.cups), tuple(notes))
    flour_g = sum(agreeing) / len(agreeing)
    filling = _called(flour_g, place)
    name = _joined(filling, place)
    many, prints = ("1 line", "prints") if len(agreeing) == 1 else (f"{len(agreeing)} lines", "print")
    wanted = chosen.cups.get(FLOUR, (0.0, 0.0))[0] * us_cups(place)
    if wanted and abs(log(wanted / flour_g)) > NAMED_WITHIN:
        notes.append(f"The convention chosen ({chosen.name}: {wanted:.0f} g a cup of flour) is contradicted by "
                     f"{many} that {prints} {flour_g:.0f} g a cup: weighed by those.")  # fmt: skip
    else:
        notes.append(f"A cup of flour weighs {flour_g:.0f} g by the weights printed in {many}: {filling}.")
    return Inferred(convention_of(name), tuple(notes))


def _filling(chosen: Convention) -> str:
    return ", ".join(part for part in chosen.name.split(", ") if not part.endswith(" cup"))


def _joined(filling: str, place: str) -> str:
    return ", ".join(part for part in (filling, f"{place} cup" if place else "") if part)


def _called(flour_g: float, place: str) -> str:
    """Return the named convention nearest to a cup of flour [g], or the weight itself as a name.

    The names speak of US cups: for a cup of another size only the weight is named.
    """
    name, weight = min(cup_weights(FLOUR).items(), key=lambda pair: abs(log(pair[1] / flour_g)))
    us = abs(us_cups(place) - 1.0) < 0.02
    return name if us and abs(log(weight / flour_g)) <= NAMED_WITHIN else f"{flour_g:.0f} g a cup of flour"


def _british(lines: list[ReadLine]) -> tuple[str, ...]:
    """Return the words of a recipe that only British kitchens use, each once."""
    items = [line.item.lower() for line in lines]
    return tuple(word for word in BRITISH if any(word in item for item in items))


def _place(lines: list[ReadLine], chosen: Convention) -> tuple[str, list[str]]:
    """Return whose cup it is: by millilitres printed beside cups, else as chosen."""
    cups_ml = []
    for line in lines:
        volumes = {}
        for terms in writings(line.amounts):
            if len(terms) == 1 and len(terms[0]) == 1:
                volumes[terms[0][0].unit] = terms[0][0]
        for name, ml in (("millilitre", 1.0), ("decilitre", 100.0), ("litre", 1000.0)):
            if "cup" in volumes and name in volumes and volumes["cup"].low > 0 and not volumes["cup"].place:
                cups_ml.append(volumes[name].low * ml / volumes["cup"].low)
    if not cups_ml:
        cups = any(one.unit == "cup" for line in lines for one in line.amounts)
        words = () if chosen.place or cups else _british(lines)
        if len(words) >= BRITISH_WORDS_NEEDED:
            note = f"British words ({', '.join(words)}): pints, fluid ounces, spoons and eggs are taken as UK ones."
            return "UK", [note]
        return chosen.place, []
    for place, low, high in PLACES_ML:
        if low <= median(cups_ml) <= high:
            if place == (chosen.place or "US") or (place == "metric" and chosen.place in ("UK", "AU")):
                return chosen.place or place, []
            return place, [f"A cup is {median(cups_ml):.0f} ml by the millilitres printed beside cups: {place} cup."]
    return chosen.place, []


def _flour_cups(lines: list[ReadLine], place: str, wheat_only: bool) -> Iterator[float]:
    """Give what the recipe's cup of wheat flour weighs [g] by each line that prints a flour's cups and its weight.

    wheat_only: leave out whole and cake flour, which charts set further apart.
    """
    plain = Convention(place=place)
    usual_g = cup_weights(FLOUR)["dip and sweep"]
    for line in lines:
        if len(writings(line.amounts)) < 2:
            continue
        what = named(line)
        choices = cup_weights(what.ingredient or "")
        if "flour" not in (what.ingredient or "") or not choices or any(form in FILLED for form in what.forms):
            continue
        pair = both(line, plain)
        if pair is None:
            continue
        grams, cups, is_mechanical = pair
        dipped = choices.get("dip and sweep", usual_g)
        if wheat_only and dipped != usual_g:
            continue
        flour_g = grams / cups * us_cups(place) * usual_g / dipped
        if not is_mechanical and BELIEVED_G_CUP[0] <= flour_g <= BELIEVED_G_CUP[1]:
            yield flour_g


def both(line: ReadLine, convention: Convention) -> tuple[float, float, bool] | None:
    """Return (grams printed, US cups written, whether the grams are only millilitres); None where one is not there."""
    what = named(line)
    weights, cups = [], []
    for terms in writings(line.amounts):
        flat = tuple(one for term in terms for one in term)
        alone = ReadLine(line.text, flat, line.item)
        found, _ = weighed(alone, what, convention)
        if found is not None and found.kind == "weight":
            weights.append(found)
        elif found is not None and found.kind == "volume" and found.cups >= 0.2:
            cups.append(found)
    if not weights or not cups:
        return None
    return weights[0].likely, cups[0].cups, mechanical(weights[0], cups[0])
