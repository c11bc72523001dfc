"""Amounts as written to grams: sums, writings of the same twice, packages of a size, pieces, cups and spoons."""

from __future__ import annotations

from dataclasses import dataclass

from batchwright.base.estimate import Estimate
from batchwright.formula.records import ReadLine, Written
from batchwright.formula.weighing.item import FRUIT_YIELDS, Named, fill_for
from batchwright.pantry.measures_conventions import Convention
from batchwright.pantry.measures_counts import Piece, piece_of
from batchwright.pantry.measures_printed import printed_range
from batchwright.pantry.measures_units import US_CUP_ML, KitchenUnit, unit_of
from batchwright.pantry.shelf import dictionary, match

HEAPED = {"heaped": (1.1, 1.25, 1.4), "scant": (0.85, 0.93, 0.99)}  # times level; common practice
MECHANICAL_G_CUP = (225.0, 237.0, 240.0, 250.0)
"""Cups turned into grams as if all were water: half a pint of 8 oz, the US cup, the label's cup, the metric cup."""
MECHANICAL_WITHIN = 0.012  # two thirds of a cup printed as 160 g
FLUID = frozenset({"alcohol", "cream", "juice", "milk", "oil", "water"})
FL_OZ_ML = 29.57353  # NIST Handbook 44, Appendix C
THICK_G_ML = 1.15  # syrups and condensed milk are sold by weight (common practice)
POURED = FLUID | {"acid", "syrup"}
CUPS = frozenset({"cup", "tablespoon", "teaspoon"})
POURED_WITHIN = 0.025  # density of one liquid between makers, once the volume itself is sure (common practice)
TRIMMED = frozenset({"cored", "hulled", "husked", "peeled", "pitted", "seeded", "skinned", "stemmed", "trimmed"})
AS_BOUGHT = 1.25  # peel, core and ends are a tenth to a third of fruit and vegetables (USDA SR: refuse)
CHECK_SLACK = 0.02  # a printed weight rounded to 5 g
MOST_G = 1_000_000.0
"""From here on an amount of one line is told to be odd: no kitchen mixes a tonne."""
UNITS_SAID = "cup, tablespoon, teaspoon, stick, ounce, pound, gram, millilitre"
Three = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Weighed:
    """One writing of an amount in grams. `kind` is "weight", "volume" or "count", what it rests on."""

    low: float
    likely: float
    high: float
    kind: str
    cups: float = 0.0
    said: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


def writings(amounts: tuple[Written, ...]) -> list[list[list[Written]]]:
    """Return the writings of the same amount, each a sum of terms, each a product (2 packages of 8 ounces)."""
    found: list[list[list[Written]]] = []
    for one in amounts:
        if not found or one.join in ("first", "same"):
            found.append([[one]])
        elif one.join == "each":
            found[-1][-1].append(one)
        else:
            found[-1].append([one])
    return found


def weighed(read: ReadLine, what: Named, convention: Convention) -> tuple[Weighed | None, tuple[str, ...]]:
    """Return the line's grams and what was assumed; None where no writing of its amount can be weighed.

    A printed weight wins over a measure, which then is a check; a weight that is only the cup's millilitres is said
    and not trusted.
    """
    tried = [_sum(terms, read, what, convention) for terms in writings(read.amounts)]
    found = [one for one in tried if one is not None]
    if not found:
        if not read.amounts:
            return None, ("no amount is written" + (": to taste" if "to taste" in read.marks else ""),)
        return None, (_no_weight(read),)
    if max(one.high for one in found) <= 0.0:
        return found[0], ("the amount is 0: nothing of it is weighed; write the amount, or take the line out",)
    if min(one.likely for one in found) > MOST_G:
        return found[0], (f"more than {MOST_G / 1000:.0f} kg: is the amount right?", *found[0].said)
    printed = next((one for one in found if one.kind == "weight"), None)
    measures = [one for one in found if one.kind != "weight"]
    if not measures and printed is not None:
        return printed, printed.said
    measure = min(measures, key=lambda one: one.high / one.low if one.low > 0 else 9.9)
    if printed is None:
        return measure, measure.said
    return _printed_against(printed, measure)


def _no_weight(read: ReadLine) -> str:
    """Return why an amount has no grams: a word where a unit stands that is none, or a unit without a weight."""
    unit, (first, _, rest) = read.amounts[0].unit, read.item.partition(" ")
    if not unit and rest and first.lower() not in dictionary() and match(rest).ingredient is not None:
        return f"“{first}” is no unit known here: write {UNITS_SAID}, or weigh it"
    return f"what one {unit or 'of it'} weighs is not known: weigh it"


def _printed_against(printed: Weighed, measure: Weighed) -> tuple[Weighed, tuple[str, ...]]:
    """Return which of a printed weight and a measure counts, and the words for it."""
    if measure.low * (1.0 - CHECK_SLACK) <= printed.likely <= measure.high * (1.0 + CHECK_SLACK):
        return printed, printed.said
    if mechanical(printed, measure):
        return measure, (*measure.said, f"the {printed.likely:.0f} g printed are the cup's millilitres, not a weight: "
                                        "not trusted")  # fmt: skip
    words = f"the measure alone gives {measure.low:.0f} to {measure.high:.0f} g: one of the two may be a slip"
    return printed, (*printed.said, f"printed {printed.likely:.0f} g taken; {words}")


def mechanical(printed: Weighed, measure: Weighed) -> bool:
    """Return whether a printed weight is nothing but the volume of its cups in millilitres."""
    if measure.kind != "volume" or measure.cups < 0.2:
        return False
    per_cup = printed.likely / measure.cups
    return any(abs(per_cup / ml - 1.0) <= MECHANICAL_WITHIN for ml in MECHANICAL_G_CUP)


def _sum(terms: list[list[Written]], read: ReadLine, what: Named, convention: Convention) -> Weighed | None:
    parts = [_term(term, read, what, convention) for term in terms]
    known = [one for one in parts if one is not None]
    if len(known) < len(parts) or not known:
        return None
    kinds = {one.kind for one in known}
    return Weighed(
        sum(one.low for one in known), sum(one.likely for one in known), sum(one.high for one in known),
        kinds.pop() if len(kinds) == 1 else "volume", sum(one.cups for one in known),
        tuple(dict.fromkeys(words for one in known for words in one.said)),
        tuple(dict.fromkeys(source for one in known for source in one.sources)),
    )  # fmt: skip


def _term(term: list[Written], read: ReadLine, what: Named, convention: Convention) -> Weighed | None:
    """Return one term: the last amount is weighed, those before it are counts of it."""
    one = _single(term[-1], read, what, convention)
    if one is None:
        return None
    least = likely = most = 1.0
    for count in term[:-1]:
        least, likely, most = least * count.low, likely * (count.low + count.high) / 2.0, most * count.high
    return Weighed(one.low * least, one.likely * likely, one.high * most, one.kind, one.cups * likely, one.said,
                   one.sources)  # fmt: skip


def _single(one: Written, read: ReadLine, what: Named, convention: Convention) -> Weighed | None:
    place = one.place or convention.place or "US"
    unit = unit_of(one.unit, place) if one.unit else None
    middle = (one.low + one.high) / 2.0
    piece = None if unit is not None and unit.mass_g else _piece(one, read, what, place)
    if piece is not None and (unit is None or not piece.kin):
        said = _piece_words(piece.kin, piece.what, one.unit, read, what)
        return Weighed(one.low * piece.low_g, middle * piece.likely_g, one.high * piece.high_g, "count", 0.0, said,
                       (piece.source,))  # fmt: skip
    if unit is None:
        return None
    if unit.mass_g is not None:
        return _by_weight(one, unit.mass_g, what)
    return _by_volume(one, unit, read, what, convention)


def _piece(one: Written, read: ReadLine, what: Named, place: str) -> Piece | None:
    if what.words and what.words[-1] in FRUIT_YIELDS and one.unit in ("", *what.words):
        return piece_of(what.words[:-1], None, None, what.words[-1])
    unit, size = one.unit, read.size
    if unit in ("small", "medium", "large", "extra-large", "jumbo"):
        unit, size = "", unit
    if not unit and what.kind not in ("egg", "fruit", "vegetable") and what.ingredient is None and not what.words:
        return None
    return piece_of(what.words, what.ingredient, what.kind, unit, "" if size == "bite-size" else size, place)


def _piece_words(kin: bool, name: str, unit: str, read: ReadLine, what: Named) -> tuple[str, ...]:
    if what.kind == "egg" and not read.size:
        return ("size of the egg not said: medium to extra large, weighed without shell",)
    if kin:
        kind = "any food" if name == "any" else name.split(":", 1)[1]
        return (f"no weight of one {unit or 'piece'} of its own: weighed as one of {kind}",)
    if not unit and not read.size and what.kind in ("fruit", "vegetable"):
        return ("size not said: small to large",)
    return ()


def _by_weight(one: Written, unit_g: float, what: Named) -> Weighed:
    low, high = one.low * unit_g, one.high * unit_g
    middle = (low + high) / 2.0
    per_ml = fill_for(what, Convention())[0].per_ml()[1] if one.unit == "ounce" and what.kind in FLUID else 0.0
    if 0.0 < per_ml < THICK_G_ML:
        fluid = sorted((low, high, one.low * FL_OZ_ML * per_ml, one.high * FL_OZ_ML * per_ml))
        return Weighed(fluid[0], middle, fluid[-1], "weight", 0.0, ("ounces by weight; fluid ounces are in the range",),
                       ("nist_hb44",))  # fmt: skip
    return Weighed(low, middle, high, "weight", 0.0, (), ("nist_hb44",))


def _by_volume(one: Written, unit: KitchenUnit, read: ReadLine, what: Named, convention: Convention) -> Weighed:
    ml = unit.volume_ml or 0.0
    low_ml, high_ml = unit.low_ml or ml, unit.high_ml or ml
    fill, said = fill_for(what, convention)
    low, likely, high = fill.per_ml()
    sure = what.kind in POURED and bool(unit.name not in CUPS or one.place or convention.place)
    if sure:
        low, high = likely * (1.0 - POURED_WITHIN), likely * (1.0 + POURED_WITHIN)
    lift: Three = HEAPED.get(read.filling, (1.0, 1.0, 1.0))
    if read.filling in HEAPED:
        said = (*said, f"{read.filling}: {lift[0]:g} to {lift[2]:g} times a level one")
    if _trimmed(read, what, unit.name):
        lift = lift[0], lift[1], lift[2] * AS_BOUGHT
        said = (*said, f"as bought, before it is peeled or trimmed, up to {AS_BOUGHT:g} times as much")
    of_one = low_ml * low * lift[0], ml * likely * lift[1], high_ml * high * lift[2]
    ends = one.low * of_one[0], one.high * of_one[2]
    if not sure and (what.ingredient or "") not in convention.cups:
        ends = _printed(one.low, of_one)[0], _printed(one.high, of_one)[1]
    middle = (one.low + one.high) / 2.0
    words = (f"a {unit.name} as cooks mean it: {low_ml:g} to {high_ml:g} ml",) if high_ml > 1.5 * low_ml else ()
    if fill.basis == "from_memory":
        words = (*words, f"weight of a cup of {fill.what.split(':')[-1]} from memory, no source at hand")
    return Weighed(
        ends[0], middle * of_one[1], ends[1], "volume", middle * ml / US_CUP_ML, (*said, *words), (fill.source,)
    )  # fmt: skip


def _trimmed(read: ReadLine, what: Named, unit: str) -> bool:
    """Return whether recipes may print the weight as bought for cups of a fruit or vegetable that is trimmed."""
    if what.kind not in ("fruit", "vegetable") or unit in ("tablespoon", "teaspoon") or "canned" in what.forms:
        return False
    words = " ".join((*read.before, read.after)).lower().replace(",", " ").split()
    return not TRIMMED.isdisjoint(words)


def _printed(count: float, of_one: Three) -> tuple[float, float]:
    """Return between which weights recipes print `count` measures of which one weighs `of_one` [g]."""
    low, likely, high = (count * each for each in of_one)
    return printed_range(low, likely, high)


def estimate_of(found: Weighed) -> Estimate:
    """Return the grams as an estimate with what they rest on."""
    how = {"weight": "weight as printed", "volume": "volume times what a cup of it weighs", "count": "pieces"}
    return Estimate(found.likely, found.low, found.high, unit="g", method=how[found.kind], sources=found.sources)
