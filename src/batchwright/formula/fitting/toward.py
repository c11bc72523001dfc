"""Turn a recipe toward a decoded original: its likely ranges as targets, wide ones counting little."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.axes import class_group
from batchwright.formula.comparing.compare import compared, paired_parts
from batchwright.formula.comparing.distance import COUNTED, LEAST_STEP, ruler_of
from batchwright.formula.comparing.records import Band
from batchwright.formula.contents import PLACE
from batchwright.formula.finish import UNBAKED, finish_of
from batchwright.formula.fitting.fit import fit, worth_entering
from batchwright.formula.fitting.lines import FLOURS, Bench, bench_of
from batchwright.formula.fitting.records import Fitted, Rules, Target
from batchwright.formula.fitting.targets import class_target, composition_target, part_target
from batchwright.formula.mixture import flat_lines, mixture_of
from batchwright.formula.moving.allowed import ALWAYS_AT_HAND, Allowed, rule_of
from batchwright.formula.moving.moves import first_moves
from batchwright.formula.moving.pool import with_pool
from batchwright.formula.moving.search import LEAST_GAIN
from batchwright.formula.records import Formula

WATER = "water_g"
DOUGH_WATER_WITHIN = 0.15  # of itself: dough that holds so much more or less water handles otherwise (judgement)
NO_FARTHER = 1e-3  # of a distance: so much is none
NO_PART = "\n"  # a name that no part has
WITHIN_FRACTION, WITHIN_STEP = 0.04, 0.1
"""Ranges are taken at least so wide to either side, of the figure and of a step: lots of one food differ by as much, so
that more changes for a closer hit would teach nothing (judgement)."""
TELLS_NOTHING = 50.0  # points: a range so wide says nothing of a food
HANDLING = 3.0  # steps that the water of dough counts for: a dough that does not hold is none (judgement)
PART_WEIGHT = 0.5  # of the whole's: what a part holds is known less well (judgement)

Pairs = tuple[tuple[str, str], ...]


def fit_toward(formula: Formula, band: Band, rules: Rules | None = None, may_enter: bool = True) -> Fitted:
    """Return the recipe with the fewest and smallest changes that bring it into, or nearest to, an original's ranges.

    formula: the base recipe in grams; band: the original (see `compare`); rules: what may be done; may_enter: whether
    ingredients that the label names may enter where the recipe's own cannot do. Baked parts are reckoned as dry as the
    original ends, and the fitted formula carries the bake loss that takes. Raises as `fit` does.
    """
    rules = _wide(rules or Rules(), formula)
    if not band.ingredients and all(axis.estimate.high - axis.estimate.low > TELLS_NOTHING for axis in band.axes
                                    if axis.kind == "nutrient" and axis.key in ("fat_g", "sugars_g")):  # fmt: skip
        raise InputError([Fault("original", band.name, "a label with an ingredient list or a panel",
                                "It says nothing that a recipe could be turned toward.")])  # fmt: skip
    nameless = [place for place, part in enumerate(formula.parts) if not part.name]
    formula = _parts_named(formula)
    pairs = paired_parts(band, formula)
    dry, wet = _dried(formula, band, pairs)
    rules = replace(rules, within=_moves_end(formula, band, rules, may_enter))
    if may_enter:  # water is at hand in every kitchen
        rules = replace(rules, extras=(*rules.extras, *_water_for(dry)))
    found, missed = _tried(dry, band, pairs, rules)
    notes: list[str] = []
    if missed > min(LEAST_GAIN, rules.within) and may_enter:
        offered = _offered(dry, band, pairs, rules)
        wider = replace(rules, extras=(*rules.extras, *offered))
        other, less = _tried(dry, band, pairs, wider) if offered else (found, missed)
        came = [change.name for change in other.changes if change.entering and change.after_g > 0
                and change.name != ALWAYS_AT_HAND]  # fmt: skip
        if less < missed - (LEAST_GAIN if missed <= rules.within + NO_FARTHER else 0.0) and came:
            could_not = [each.name for each in found.outcomes if each.missed and not each.preference]
            short = f"cannot bring it to: {', '.join(could_not)}" if could_not else "leave it farther off"
            notes.append(f"its own ingredients {short}; let in from the label: {', '.join(came)}")
            found = other
    again, bakes = _baked(found.formula, wet)
    none = _none_of(found.formula, band, pairs)
    lacking = [f"the original has it and this formula does not: {', '.join(none)}"] if none else []
    again = _renamed(again, dict.fromkeys(nameless, ""))
    return replace(found, formula=again, notes=(*notes, *bakes, *lacking, *found.notes))


def _wide(rules: Rules, formula: Formula) -> Rules:
    """Return the rules with what a way toward an original needs: kinds of flour may change places, amounts go far."""
    flours = [each.name for each in bench_of(formula).candidates if each.ingredient_class in FLOURS]
    return replace(rules, free=(*rules.free, *flours), roomy=True)


def _parts_named(formula: Formula) -> Formula:
    """Return the formula with a part that has no name called by its number, as `paired_parts` calls it."""
    numbers = {place: str(place + 1) for place, part in enumerate(formula.parts) if not part.name}
    return _renamed(formula, numbers) if len(formula.parts) > 1 else formula


def _renamed(formula: Formula, names: Mapping[int, str]) -> Formula:
    parts = [replace(part, name=names.get(place, part.name)) for place, part in enumerate(formula.parts)]
    return replace(formula, parts=tuple(parts))


def band_targets(bench: Bench, band: Band, pairs: Pairs) -> tuple[Target, ...]:
    """Return a target for each axis by which recipes are compared, and preferences beside them.

    A miss of an axis adds to the distance as it does in `compare`. Preferences: what each part holds, and the water of
    dough near what it is, so that it handles alike; what the finished food holds is the oven's to settle.
    """
    groups = [f"class:{group}" for group in {class_group(each.ingredient_class) for each in bench.candidates}]
    several = sum(1 for _, theirs in pairs if theirs) > 1 and len(band.parts) > 1
    ruler = ruler_of([axis for axis in band.axes if axis.kind != "part" or several], sorted(groups))
    mine = {theirs: name for name, theirs in pairs if theirs}
    found: list[Target] = []
    for at, (key, kind) in enumerate(zip(ruler.keys, ruler.kinds, strict=True)):
        low, high = ruler.ranges[at].low, ruler.ranges[at].high
        adds = float(np.sqrt(ruler.weight[at] / len(COUNTED)) / ruler.step[at])
        if kind == "nutrient":
            target = composition_target(bench, key, low, high)
        elif kind == "class":
            target = class_target(bench, ruler.names[at], low, high)
        else:
            target = part_target(bench, mine.get(ruler.names[at], NO_PART), low, high)
        found.append(replace(target, distance=adds))
    for part in band.parts if several else ():
        if part.name in mine:
            for key, estimate in part.contents.items():
                if key in COUNTED and key != WATER:
                    step = max(estimate.likely, LEAST_STEP[key]) + (estimate.high - estimate.low) / 2.0
                    low, high = _widened(estimate, LEAST_STEP[key])
                    found.append(composition_target(bench, key, low, high, part=mine[part.name],
                                                    importance=PART_WEIGHT / step))  # fmt: skip
    return (*found, *_dough_water(bench))


def _widened(estimate: Estimate, step: float) -> tuple[float, float]:
    """Return a range no narrower than a kitchen can tell."""
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
                                            importance=HANDLING / (LEAST_STEP[WATER] + reach)))  # fmt: skip
    return found


def _tried(formula: Formula, band: Band, pairs: Pairs, rules: Rules) -> tuple[Fitted, float]:
    """Return the fit and the distance it leaves."""
    bench = bench_of(formula, rules)
    found = fit(formula, _reachable(band_targets(bench, band, pairs)), rules)
    return found, compared(band, found.formula).distance.likely


def _moves_end(formula: Formula, band: Band, rules: Rules, may_enter: bool) -> float:
    """Return the distance at which a few single moves end: a whole fit is not to end farther."""
    try:
        allowed = Allowed(rules.locks, None if may_enter else ())
        return first_moves(band, formula, rule_of(allowed, [formula])).distance_after
    except InputError:  # nothing is left to move
        return float("inf")


def _reachable(wishes: Sequence[Target]) -> list[Target]:
    """Return the wishes without preferences that no line can answer."""
    return [each for each in wishes if each.distance > 0 or (each.low or 0.0) <= 0 or max(each.weights) > 0]


def _none_of(formula: Formula, band: Band, pairs: Pairs) -> list[str]:
    """Return the names of what the original has for certain and no line of the formula brings."""
    wishes = band_targets(bench_of(formula), band, pairs)
    return [each.name for each in wishes if (each.low or 0.0) > 0 and not any(weight > 0 for weight in each.weights)]


def _offered(formula: Formula, band: Band, pairs: Pairs, rules: Rules) -> list[str]:
    """Return what of all that moves may bring in is worth its place, as "part: name"."""
    rule = rule_of(Allowed(locked=()), [formula])
    wider, entering = with_pool(band, formula, rule)
    lines = flat_lines(wider)
    extras = [_placed(lines[at].part_name, lines[at].line.item) for at in sorted(entering)]
    asked = replace(rules, extras=(*rules.extras, *extras))
    wishes = _reachable(band_targets(bench_of(formula, asked), band, pairs))
    return list(worth_entering(formula, wishes, asked))


def _water_for(formula: Formula) -> list[str]:
    """Return water for each part with flour, as an ingredient that may enter it."""
    floury = [each.part for each in bench_of(formula).candidates if each.ingredient_class in FLOURS]
    return [_placed(part, ALWAYS_AT_HAND) for part in dict.fromkeys(floury)]


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

    Parts that are not cooked, and parts whose loss the cook measured, stay as they are.
    """
    mix, wanted = mixture_of(formula), _wanted_water(formula, band, pairs)
    wet: dict[str, float] = {}
    for part, finish in zip(formula.parts, mix.finishes, strict=True):
        if (finish.water is not None or finish.loss is not None) and finish.taken and part.name in wanted:
            wet[part.name] = wanted[part.name].likely / 100.0
    return _baked(formula, wet)[0], wet


def _baked(formula: Formula, wet: dict[str, float]) -> tuple[Formula, list[str]]:
    """Return the formula with the bake loss that leaves so much water in each part named, and that in words."""
    mix = mixture_of(formula)
    stove = [part.name for part in formula.parts
             if finish_of(formula, replace(part, bake_loss_percent=None)).sort == UNBAKED]  # fmt: skip
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
                verb = "cook" if part.name in stove else "bake"
                said.append(f"{named}{verb} until {loss:.0f} % of its weight is gone: about "
                            f"{100 * wet[part.name]:.0f} % water is left, likely that of the original")  # fmt: skip
        parts.append(part)
    return replace(formula, parts=tuple(parts)), said
