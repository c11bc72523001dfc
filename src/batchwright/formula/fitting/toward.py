"""Turn a recipe toward a decoded original: its likely ranges as targets, wide ones counting little."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.axes import class_group
from batchwright.formula.comparing.compare import paired_parts
from batchwright.formula.comparing.distance import COUNTED, LEAST_STEP, MINOR_CLASSES, ruler_of
from batchwright.formula.comparing.records import Band
from batchwright.formula.contents import PLACE
from batchwright.formula.fitting.fit import fit
from batchwright.formula.fitting.lines import FLOURS, SMALL, Bench, bench_of
from batchwright.formula.fitting.records import Fitted, Rules, Target
from batchwright.formula.fitting.targets import class_target, composition_target, part_target
from batchwright.formula.mixture import mixture_of
from batchwright.formula.records import Formula
from batchwright.pantry.ingredient import load_ingredients

WATER = "water_g"
DOUGH_WATER_WITHIN = 0.15  # of itself: dough that holds so much more or less water handles otherwise (judgement)
WORTH_ENTERING = 0.1  # of what is missed: label ingredients that bring less than this are not worth buying (judgement)
MOST_ENTERING = 8  # ingredients of the label that may enter, the largest first
ALIKE = frozenset({"cocoa", "egg"})  # classes of which the recipe's own does as well as the label's
WITHIN_FRACTION, WITHIN_STEP = 0.04, 0.1
"""Ranges are taken at least so wide to either side, of the figure and of a step: lots of one food differ by as much, so
that more changes for a closer hit would teach nothing (judgement)."""
TELLS_NOTHING = 50.0  # points: a range so wide says nothing of a food
TRACE_PERCENT = 0.5  # of the food: a class with less need not be brought in for its own sake (judgement)
PART_WEIGHT = 0.5  # of the whole's: what a part holds is known less well (judgement)

Pairs = tuple[tuple[str, str], ...]


def fit_toward(formula: Formula, band: Band, rules: Rules | None = None, may_enter: bool = True) -> Fitted:
    """Return the recipe with the fewest and smallest changes that bring it into, or nearest to, an original's ranges.

    formula: the base recipe in grams; band: the original (see `compare`); rules: what may be done; may_enter: whether
    ingredients that the label names may enter where the recipe's own cannot do. Baked parts are reckoned as dry as the
    original ends, and the fitted formula carries the bake loss that takes. Raises as `fit` does.
    """
    rules = rules or Rules()
    if not band.ingredients and all(axis.estimate.high - axis.estimate.low > TELLS_NOTHING for axis in band.axes
                                    if axis.kind == "nutrient" and axis.key in ("fat_g", "sugars_g")):  # fmt: skip
        raise InputError([Fault("original", band.name, "a label with an ingredient list or a panel",
                                "It says nothing that a recipe could be turned toward.")])  # fmt: skip
    nameless = [place for place, part in enumerate(formula.parts) if not part.name]
    formula = _parts_named(formula)
    pairs = paired_parts(band, formula)
    dry, wet = _dried(formula, band, pairs)
    found, missed = _tried(dry, band, pairs, rules)
    notes: list[str] = []
    if missed > 1e-6 and may_enter:
        offered = _offered(dry, band, pairs)
        wider = replace(rules, extras=(*rules.extras, *offered))
        other, less = _tried(dry, band, pairs, wider) if offered else (found, missed)
        came = [change.name for change in other.changes if change.entering and change.after_g > 0]
        if less < (1.0 - WORTH_ENTERING) * missed and came:
            could_not = [outcome.name for outcome in found.outcomes if outcome.missed]
            could_not += _none_of(dry, band, pairs)
            notes.append(f"its own ingredients cannot bring it to: {', '.join(could_not)}; "
                         f"let in from the label: {', '.join(came)}")  # fmt: skip
            found = other
    again, bakes = _baked(found.formula, wet)
    none = _none_of(found.formula, band, pairs)
    lacking = [f"the original has it and this formula does not: {', '.join(none)}"] if none else []
    again = _renamed(again, dict.fromkeys(nameless, ""))
    return replace(found, formula=again, notes=(*notes, *bakes, *lacking, *found.notes))


def _parts_named(formula: Formula) -> Formula:
    """Return the formula with a part that has no name called by its number, as `paired_parts` calls it."""
    numbers = {place: str(place + 1) for place, part in enumerate(formula.parts) if not part.name}
    return _renamed(formula, numbers) if len(formula.parts) > 1 else formula


def _renamed(formula: Formula, names: Mapping[int, str]) -> Formula:
    parts = [replace(part, name=names.get(place, part.name)) for place, part in enumerate(formula.parts)]
    return replace(formula, parts=tuple(parts))


def band_targets(bench: Bench, band: Band, pairs: Pairs) -> tuple[Target, ...]:
    """Return a target for each axis of the original that amounts can move.

    A miss counts in the steps that recipes are compared by, and less the wider the range. The water of dough stays near
    what it is, so that it handles alike; what the finished food holds is the oven's to settle where it is baked.
    """
    groups = [f"class:{group}" for group in {class_group(each.ingredient_class) for each in bench.candidates}]
    ruler = ruler_of(band.axes, sorted(groups))
    several = sum(1 for _, theirs in pairs if theirs) > 1
    mine = {theirs: name for name, theirs in pairs if theirs}
    found: list[Target] = []
    for at, (key, kind) in enumerate(zip(ruler.keys, ruler.kinds, strict=True)):
        low, high = _widened(ruler.ranges[at], LEAST_STEP.get(key, 0.0) if kind == "nutrient" else None)
        cost = float(ruler.weight[at]) / (float(ruler.step[at]) + (high - low) / 2.0)
        if kind == "nutrient":
            found.append(composition_target(bench, key, low, high, importance=cost))
        elif kind == "class" and ruler.names[at] not in MINOR_CLASSES and band.ingredients:
            low = low if low >= TRACE_PERCENT else 0.0
            found.append(class_target(bench, ruler.names[at], low, high, cost))
        elif kind == "part" and several and ruler.names[at] in mine:
            found.append(part_target(bench, mine[ruler.names[at]], low, high, cost))
    for part in band.parts if several else ():
        if part.name in mine:
            for key, estimate in part.contents.items():
                if key in COUNTED and key != WATER:
                    step = max(estimate.likely, LEAST_STEP[key]) + (estimate.high - estimate.low) / 2.0
                    low, high = _widened(estimate, LEAST_STEP[key])
                    found.append(composition_target(bench, key, low, high, part=mine[part.name],
                                                    importance=PART_WEIGHT / step))  # fmt: skip
    return (*found, *_dough_water(bench))


def _widened(estimate: Estimate, step: float | None) -> tuple[float, float]:
    """Return a range no narrower than a kitchen can tell; classes and parts (no step) as they are."""
    if step is None:
        return estimate.low, estimate.high
    reach = max(WITHIN_FRACTION * estimate.likely, WITHIN_STEP * step)
    return max(0.0, min(estimate.low, estimate.likely - reach)), max(estimate.high, estimate.likely + reach)


def _dough_water(bench: Bench) -> list[Target]:
    """Return the targets that keep the dough as wet as it is, for each baked part with flour."""
    found = []
    for part in dict.fromkeys(each.part for each in bench.candidates):
        inside = bench.inside(part)
        floury = any(each.part == part and each.ingredient_class in FLOURS for each in bench.candidates)
        mass = float((bench.mixed_g * inside) @ bench.start)
        if floury and float((bench.finished_g * inside) @ bench.start) < 0.999 * mass:
            now = 100.0 * float((bench.mixed[:, PLACE[WATER]] * inside) @ bench.start) / mass
            reach = DOUGH_WATER_WITHIN * now
            name = part if len({each.part for each in bench.candidates}) > 1 else ""
            found.append(composition_target(bench, WATER, now - reach, now + reach, mixed=True, part=name,
                                            importance=1.0 / (LEAST_STEP[WATER] + reach)))  # fmt: skip
    return found


def _tried(formula: Formula, band: Band, pairs: Pairs, rules: Rules) -> tuple[Fitted, float]:
    """Return the fit and what it misses in all, wishes that no line can answer counted in full."""
    bench = bench_of(formula, rules)
    wishes = band_targets(bench, band, pairs)
    open_ = [each for each in wishes if (each.low or 0.0) <= 0 or any(weight > 0 for weight in each.weights)]
    found = fit(formula, open_, rules)
    out_of_reach = sum(each.importance * (each.low or 0.0) for each in wishes if each not in open_)
    cost = sum(each.importance * outcome.missed for each, outcome in zip(open_, found.outcomes, strict=True))
    return found, cost + out_of_reach


def _none_of(formula: Formula, band: Band, pairs: Pairs) -> list[str]:
    """Return the names of what the original has for certain and no line of the formula brings."""
    wishes = band_targets(bench_of(formula), band, pairs)
    return [each.name for each in wishes if (each.low or 0.0) > 0 and not any(weight > 0 for weight in each.weights)]


def _offered(formula: Formula, band: Band, pairs: Pairs) -> list[str]:
    """Return the ingredients of the label that may enter, each in the part it belongs in.

    That is the part the label names, else the one with most of its kind, else the largest as finished; water goes into
    the baked part with flour.
    """
    bench = bench_of(formula)
    mine = {theirs: name for name, theirs in pairs if theirs}
    there = {each.ingredient_class for each in bench.candidates}
    names = list(dict.fromkeys(each.part for each in bench.candidates))
    finished = {name: float((bench.finished_g * bench.inside(name)) @ bench.start) for name in names}
    offered: list[str] = []
    for ingredient, part in band.ingredients:
        item = load_ingredients().get(ingredient)
        if item is None or item.ingredient_class in SMALL:
            continue
        if item.ingredient_class in ALIKE & there or (item.ingredient_class in FLOURS and FLOURS & there):
            continue
        kin = dict.fromkeys(names, 0.0)
        for each in bench.candidates:
            if class_group(each.ingredient_class) == class_group(item.ingredient_class):
                kin[each.part] += each.grams
        into = mine.get(part) or max(names, key=lambda name: (kin[name], finished[name]))
        offered.append(_placed(into, item.name))
    floury = [each.part for each in bench.candidates if each.ingredient_class in FLOURS]
    return [*dict.fromkeys(offered)][:MOST_ENTERING] + [_placed(part, "water") for part in floury[:1]]


def _placed(part: str, name: str) -> str:
    return f"{part}: {name}" if part else name


def _wanted_water(formula: Formula, band: Band, pairs: Pairs) -> dict[str, Estimate]:
    """Return the original's water for each part of the recipe that answers to one."""
    parts = {part.name: part.contents.get(WATER) for part in band.parts}
    whole = next((axis.estimate for axis in band.axes if axis.key == WATER), None)
    if len(formula.parts) == 1:
        return {formula.parts[0].name: whole} if whole is not None else {}
    found = {name: parts.get(theirs) for name, theirs in pairs if theirs}
    return {name: water for name, water in found.items() if water is not None}


def _dried(formula: Formula, band: Band, pairs: Pairs) -> tuple[Formula, dict[str, float]]:
    """Return the recipe baked as dry as the original likely ends, and that water by part [0..1].

    Parts that are not baked, and parts whose loss the cook measured, stay as they are.
    """
    mix, wanted = mixture_of(formula), _wanted_water(formula, band, pairs)
    wet: dict[str, float] = {}
    for part, finish in zip(formula.parts, mix.finishes, strict=True):
        if finish.water is not None and part.name in wanted:
            wet[part.name] = wanted[part.name].likely / 100.0
    return _baked(formula, wet)[0], wet


def _baked(formula: Formula, wet: dict[str, float]) -> tuple[Formula, list[str]]:
    """Return the formula with the bake loss that leaves so much water in each part named, and that in words."""
    mix = mixture_of(formula)
    parts, said = [], []
    for at, part in enumerate(formula.parts):
        inside = mix.part == at
        if part.name in wet and inside.any():
            mass = float(mix.factor[inside] @ mix.grams[inside])
            water = float(mix.held[inside, PLACE[WATER]] @ mix.grams[inside])
            loss = 100.0 * (1.0 - (mass - water) / (1.0 - wet[part.name]) / mass)
            if loss > 0:
                part = replace(part, bake_loss_percent=Estimate(loss, loss, loss, unit="%", method="to this water"))
                named = f"{part.name}: " if len(formula.parts) > 1 else ""
                said.append(f"{named}bake until {loss:.0f} % of its weight is gone: about {100 * wet[part.name]:.0f} % "
                            "water is left, likely that of the original")  # fmt: skip
        parts.append(part)
    return replace(formula, parts=tuple(parts)), said
