"""What may enter a recipe on its way to an original: what the original lists, and what a kitchen has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from batchwright.base.estimate import Estimate
from batchwright.formula.axes import class_group
from batchwright.formula.comparing.compare import paired_parts
from batchwright.formula.comparing.distance import COUNTED
from batchwright.formula.comparing.records import Band
from batchwright.formula.contents import PLACE, Contents, contents_of, contents_of_line, match_of
from batchwright.formula.finish import FLOURY, RAISED, UNBAKED, finish_of
from batchwright.formula.mixture import flat_lines
from batchwright.formula.moving.allowed import ALWAYS_AT_HAND, Rule
from batchwright.formula.records import Formula, Line
from batchwright.pantry.ingredient import load_ingredients
from batchwright.pantry.supply import supply_of

STAPLES = (
    "wheat flour", "sugar", "brown sugar", "icing sugar", "molasses", "honey", "golden syrup", "corn starch", "butter",
    "vegetable shortening", "coconut oil", "sunflower oil", "whole egg", "egg white", "milk, whole",
    "skimmed milk powder", "cocoa powder", "hazelnuts", "almonds", "dates", "raisins", "salt", "sodium bicarbonate",
    "cinnamon",
)  # fmt: skip
"""What kitchens of the trade and of homes have as a rule (common practice); names of the shelf."""
NEVER = frozenset({"fortificant", "colour", "preservative", "other", "emulsifier", "flavour"})
"""Classes that act in traces: no move towards a composition is made of them."""
BAKED_ONLY = FLOURY | RAISED | {"egg"}  # raw flour and raw egg do not enter a part that is not baked
MOST_LISTED = 20
ALIKE = 0.03  # grams per gram: lots of one flour differ as much


def with_pool(band: Band, formula: Formula, rule: Rule) -> tuple[Formula, frozenset[int]]:
    """Return the recipe with lines of 0 g for what may enter each part, and their places in `flat_lines`.

    What may enter: the ingredients the original lists, the staples that can stand in for them (with a list of what is
    on hand: that alone), and water, as far as the cook allows them. Flour, leavening and egg enter no part that is not
    baked; what other parts have the like of enters those, or the one part in which the label names it.
    """
    shelf = load_ingredients()
    listed = [name for name, _ in band.ingredients][:MOST_LISTED]
    names: Sequence[str] = [*listed, *_stand_ins(listed, rule)] if rule.on_hand is None else rule.on_hand
    names = [name for name in dict.fromkeys((*names, ALWAYS_AT_HAND)) if name in shelf and not rule.refuses(name)]
    names = [name for name in names if shelf[name].ingredient_class not in NEVER]
    mine = {theirs: own for own, theirs in paired_parts(band, formula) if theirs}
    homes: dict[str, list[str]] = {}
    for name, theirs in band.ingredients:
        homes.setdefault(name, []).append(mine.get(theirs, ""))
    having: dict[str, set[int]] = {}
    for each in flat_lines(formula):
        if each.line.grams is not None:
            having.setdefault(class_group(match_of(each.line).ingredient_class or ""), set()).add(each.part)
    fresh: list[Line] = []
    parts = []
    for place, part in enumerate(formula.parts):
        weighed = [line for line in flat_lines(replace(formula, parts=(part,))) if line.line.grams is not None]
        there = {match_of(each.line).ingredient for each in weighed}
        kinds = {match_of(each.line).ingredient_class for each in weighed}
        baked = finish_of(formula, part).sort != UNBAKED and bool(kinds & FLOURY)
        more: list[Line] = []
        held = [contents_of_line(each.line) for each in weighed]
        for name in names if weighed else ():
            kind = shelf[name].ingredient_class
            what = contents_of(name, kind)
            if any(_alike(what, other) for other in held):
                continue
            if name in there or (kind in BAKED_ONLY and not baked) or (kind in RAISED and not kinds & RAISED):
                continue
            kin = having.get(class_group(kind), set())
            elsewhere = bool(kin) and place not in kin and homes.get(name) != [part.name]
            if elsewhere and name != ALWAYS_AT_HAND:
                continue
            held.append(what)
            more.append(Line(name, name, Estimate(0.0, 0.0, 0.0, unit="g"), name, "name"))
        fresh += more
        parts.append(replace(part, lines=(*part.lines, *more)))
    wider = replace(formula, parts=tuple(parts))
    marked = {id(line) for line in fresh}
    return wider, frozenset(at for at, each in enumerate(flat_lines(wider)) if id(each.line) in marked)


def _stand_ins(listed: Sequence[str], rule: Rule) -> list[str]:
    """Return the staples of groups of which the original lists something, but nothing that a grocer sells.

    Almonds are not to enter for hazelnuts that the label names, nor milk where it names none. All, where it lists
    nothing.
    """
    shelf = load_ingredients()
    groups = {class_group(shelf[name].ingredient_class) for name in listed if name in shelf}
    named = {class_group(shelf[name].ingredient_class) for name in listed if name in shelf and not rule.refuses(name)
             and supply_of(name, shelf[name].ingredient_class).sold == "supermarket"}  # fmt: skip
    wanted = groups - named if groups else None
    return [name for name in STAPLES if wanted is None or class_group(shelf[name].ingredient_class) in wanted]


def _alike(one: Contents, other: Contents) -> bool:
    """Return whether two ingredients are one to a recipe: of a class, and as good as alike in what they hold."""
    places = [PLACE[key] for key in COUNTED]
    return one.ingredient_class == other.ingredient_class and bool(
        (abs(one.likely[places] - other.likely[places]) < ALIKE).all()
    )
