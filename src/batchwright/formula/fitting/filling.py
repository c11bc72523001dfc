"""A filling less sweet with the same body: fat, powder and water shares kept, no other sweetener brought in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from batchwright.base.errors import Fault, InputError
from batchwright.formula.fitting.fit import fit, fits, value_of
from batchwright.formula.fitting.lines import Bench, bench_of, named
from batchwright.formula.fitting.records import Fitted, Rules, Target
from batchwright.formula.fitting.targets import composition_target, powder_target, sweetness_target
from batchwright.formula.records import Formula

BODY_WITHIN = {"fat_g": 1.0, "powder": 2.0, "water_g": 1.0}
"""Points that a share may move before a filling spreads, sets or cuts otherwise (judgement; a trial decides)."""
SWEETNESS_SLACK = 2.0  # percent of the present sweetness: nobody tastes so small a difference (judgement)
FIRMNESS_POINTS = 1.5  # a move of saturated fat that is worth telling: it is what sets at room temperature (judgement)
USUAL_POWDERS = ("skimmed milk powder", "whole milk powder", "cocoa powder", "corn starch", "rice flour",
                 "buttermilk powder", "coconut flour", "oat flour", "almond flour")  # fmt: skip
"""What is commonly to be had and takes the place of sugar in a filling (common practice)."""
MOST_STRONG = 2.0  # times what it was: more cocoa than that is another filling (judgement)
STRONG = frozenset({"cocoa"})
RAW = frozenset({"flour", "whole flour", "starch", "grain"})


def body_targets(bench: Bench, part: str = "", within: float = 1.0) -> tuple[Target, ...]:
    """Return the targets that keep a filling's body: shares of fat, of dry powders and of water as mixed.

    part: the part that is the filling, the whole where empty; within: times the usual play [1 = 1 point of fat, 2 of
    powder, 1 of water].
    """
    found = []
    for key, points in BODY_WITHIN.items():
        reach = points * within
        bare = _body_target(bench, key, part, 0.0, 100.0, 1.0)
        now = value_of(bare, bench.start)
        found.append(_body_target(bench, key, part, max(0.0, now - reach), now + reach, 1.0 / reach))
    return tuple(found)


def _body_target(bench: Bench, key: str, part: str, low: float, high: float, cost: float) -> Target:
    if key == "powder":
        return powder_target(bench, low, high, part, cost)
    return composition_target(bench, key, low, high, mixed=True, part=part, importance=cost)


def less_sweet(
    formula: Formula, less_percent: float, rules: Rules | None = None, same_body: bool = True,
    also: Sequence[Target] = (),
) -> Fitted:  # fmt: skip
    """Return a filling less sweet by a stated amount, gram for gram, by the fewest and smallest changes.

    formula: in grams; less_percent: how much less sweet [0 < % < 100]; rules: what is on hand (`extras`), locks; no
    sweetener may enter or grow whatever they say; same_body: keep the shares of fat, powder and water; also: further
    targets, in the order of the bench of these rules. Where it cannot be done, the nearest is given, with how far it
    can go and which usual powder would help. Raises as `fit` does.
    """
    if not 0.0 < less_percent < 100.0:
        raise InputError([Fault("less sweet", less_percent, "more than 0 and less than 100 %")])
    rules = replace(rules or Rules(), no_sweeter=True)
    bench = bench_of(formula, rules)
    rules, held = _gently(bench, rules)
    targets = [_sweetness(bench, rules, less_percent)]
    targets += body_targets(bench, rules.only_part) if same_body else ()
    found = fit(formula, [*targets, *also], rules)
    notes = list(_cautions(bench, found))
    if not found.met and not also:
        asked = (formula, rules, less_percent, same_body)
        notes = [*_how_far(*asked), *_would_do(*asked), *notes]
    return replace(found, notes=(*notes, *held, *found.notes))


def _gently(bench: Bench, rules: Rules) -> tuple[Rules, list[str]]:
    """Return the rules with strong tastes held to twice what they are and raw powders taken last; and that in words."""
    told = {at for name in (*rules.bounds, *rules.locks) for at in named(name, bench.candidates)}
    strong = [each for at, each in enumerate(bench.candidates)
              if each.ingredient_class in STRONG and each.grams > 0 and at not in told]  # fmt: skip
    bounds = {f"{each.part}: {each.name}" if each.part else each.name: (0.0, MOST_STRONG * each.grams)
              for each in strong}  # fmt: skip
    raw = [each.name for each in bench.candidates if each.ingredient_class in RAW and each.grams <= 0]
    said = [f"{each.name}: at most twice what it was, for its taste; --bounds says otherwise" for each in strong]
    return replace(rules, bounds={**bounds, **rules.bounds}, last=(*rules.last, *raw)), said


def _sweetness(bench: Bench, rules: Rules, less_percent: float) -> Target:
    left = 100.0 - less_percent
    return sweetness_target(bench, (left - SWEETNESS_SLACK) / 100.0, left / 100.0, rules.only_part)


def _wishes(formula: Formula, rules: Rules, less_percent: float, same_body: bool) -> list[Target]:
    bench = bench_of(formula, rules)
    return [_sweetness(bench, rules, less_percent), *(body_targets(bench, rules.only_part) if same_body else ())]


def _how_far(formula: Formula, rules: Rules, less_percent: float, same_body: bool) -> list[str]:
    """Return in words how much less sweet it can be with what is on hand."""
    could, could_not = 0.0, less_percent
    for _ in range(7):  # to within a hundredth of what was asked
        middle = (could + could_not) / 2.0
        if fits(formula, _wishes(formula, rules, middle, same_body), rules):
            could = middle
        else:
            could_not = middle
    held = "with the same body and what is on hand" if same_body else "with what is on hand"
    if could < 0.5:
        return [f"{held}, it cannot be made less sweet at all"]
    return [f"{held}, at most about {could:.0f} % less sweet can be reached"]


def _would_do(formula: Formula, rules: Rules, less_percent: float, same_body: bool) -> list[str]:
    """Return in words which usual powders, each by itself, would make it possible."""
    helpful = []
    for powder in USUAL_POWDERS:
        wider = replace(rules, extras=(*rules.extras, powder))
        if fits(formula, _wishes(formula, wider, less_percent, same_body), wider):
            helpful.append(powder)
    if helpful:
        return [f"it could be done with any of these on hand: {', '.join(helpful)}"]
    return ["none of the usual powders by itself would do it (milk powders, cocoa, starch, rice or nut flour)"]


def _cautions(bench: Bench, found: Fitted) -> list[str]:
    """Return what a cook should know of the new filling."""
    said = []
    grown = [each for each in found.changes if each.after_g > each.before_g]
    kinds = {(each.name, each.part): each.ingredient_class for each in bench.candidates}
    raw = [each.name for each in grown if kinds.get((each.name, each.part)) in RAW]
    if raw:
        said.append(f"caution: {', '.join(raw)} raw in a filling that is not baked is not safe to eat; heat-treat it "
                    "first and follow local rules")  # fmt: skip
    firm = next((shift for shift in found.composition if shift.key == "saturated_fat_g"), None)
    if firm is not None and abs(firm.after - firm.before) > FIRMNESS_POINTS:
        way = "softer" if firm.after < firm.before else "firmer"
        said.append(f"saturated fat goes from {firm.before:.1f} to {firm.after:.1f} %: it will set {way}")
    said.append("sweetness is reckoned gram for gram against table sugar; bitterness, acid and warmth are not in it")
    return said
