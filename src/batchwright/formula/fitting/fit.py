"""Fit a formula: the fewest and smallest changes of amounts that meet targets, or what clashes and the nearest."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from math import isfinite

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.formula.axes import NUTRIENT_AXES
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import PLACE, Floats
from batchwright.formula.fitting.clash import Member, clashing, without
from batchwright.formula.fitting.lines import FLOURS, Bench, bench_of, refilled
from batchwright.formula.fitting.nearing import GIVEN_BACK, roughly_near, solve_near
from batchwright.formula.fitting.records import Change, Fitted, Outcome, Rules, Shift, Target
from batchwright.formula.fitting.rules import Limits, limits_of
from batchwright.formula.fitting.solver import Program, Solution, possible, solve
from batchwright.formula.records import Formula

TOUCH = 0.15  # a changed line counts as much as moving one line by 15 % (judgement: few changes teach more)
TOUCH_ENTERING = 0.30  # a new ingredient is to be bought, weighed and declared: twice a changed one (judgement)
TOUCH_LAST = 1.0  # what is named last counts as doubling a line (judgement)
LEAST_COUNTED = 0.02  # of the batch: a smaller line's change counts as if it were this large, else dust costs most
ENTERING_COUNTED = 0.05  # of the batch: size that an entering line's grams are counted against
LEAST_LEFT = 0.05  # of the batch: with less left there is no recipe, and any share of nothing would do
MET_WITHIN = 1e-5  # of a target's own size: what the solver's tolerance leaves


def fit(formula: Formula, targets: Sequence[Target], rules: Rules | None = None) -> Fitted:
    """Return the formula with the fewest and smallest changes that meet every target.

    Use it once a recipe is in grams and it is known what the food shall hold. Where not all targets can be met, the
    answer names a smallest set that clashes and gives the formula that comes nearest, misses weighed by importance.
    formula: in grams; lines without grams stay out of it. targets: see `fit_targets`, in the order of
    `bench_of(formula, rules).candidates`. rules: what may be done, by default flour kept and small lines held.
    Changes are counted relative to each line, with an extra charge for every line changed; the optimum is exact.
    Raises InputError for targets or rules that cannot be, or that name nothing.
    """
    began = time.perf_counter()
    rules = rules or Rules()
    bench = bench_of(formula, rules)
    limits = limits_of(bench, rules, _named_salt(targets))
    _checked(targets, bench)
    program, members = _program(bench, targets, limits)
    found = solve(program) if program.far is None else solve_near(program, rules.within)
    if found is None:
        raise InputError(_rules_alone(program, members, limits))
    ranked = program.far is not None
    outcomes = tuple(replace(_outcome(target, bench.start, found.grams), preference=ranked and target.distance == 0.0)
                     for target in targets)  # fmt: skip
    met = not any(outcome.missed for outcome in outcomes if not outcome.preference)
    clash = () if met else clashing(program, members, limits.free_high_g)
    answer = _fitted(bench, limits, found, outcomes, tuple(member.name for member in clash), 0.0)
    return replace(answer, met=met, seconds=time.perf_counter() - began)


def fits(formula: Formula, targets: Sequence[Target], rules: Rules) -> bool:
    """Return whether all targets can be met; quicker than the fit itself. Raises as `fit` does."""
    return possible(program_of(formula, targets, rules))


def worth_entering(formula: Formula, targets: Sequence[Target], rules: Rules) -> tuple[str, ...]:
    """Return those of the rules' extras that a fit with a distance would take, as "part: name"; raises as `fit` does.

    Lines are counted in part, so that very many extras can be tried; a fit with these alone is as near.
    """
    bench = bench_of(formula, rules)
    program = _program(bench, targets, limits_of(bench, rules, _named_salt(targets)))[0]
    found = roughly_near(program, rules.within)
    return () if found is None else tuple(
        f"{each.part}: {each.name}" if each.part else each.name
        for each, grams in zip(bench.candidates, found.grams, strict=True) if each.entering and grams > 0
    )  # fmt: skip


def program_of(formula: Formula, targets: Sequence[Target], rules: Rules | None = None) -> Program:
    """Return the task as the solver takes it, for holding it against another solver. Raises as `fit` does."""
    rules = rules or Rules()
    bench = bench_of(formula, rules)
    return _program(bench, targets, limits_of(bench, rules, _named_salt(targets)))[0]


def _named_salt(targets: Sequence[Target]) -> bool:
    return any(word in target.name for target in targets for word in ("salt", "sodium"))


def _checked(targets: Sequence[Target], bench: Bench) -> None:
    """Raise InputError with every target that cannot be."""
    faults: list[Fault] = []
    for target in targets:
        field = f"target {target.name}"
        sizes = {len(target.weights), len(target.weights if target.over is None else target.over)}
        ends = [end for end in (target.low, target.high) if end is not None]
        if sizes != {len(bench.candidates)}:
            faults.append(Fault(field, f"{max(sizes)} weights", f"{len(bench.candidates)}, one for each line"))
        elif not all(map(isfinite, (*target.weights, *(target.over or ()), *ends))):
            faults.append(Fault(field, "a figure that is not finite", "finite numbers"))
        elif not ends:
            faults.append(Fault(field, None, "a least or a largest figure", "Say what it should be."))
        elif len(ends) == 2 and ends[0] > ends[1]:
            faults.append(Fault(field, f"{ends[0]:g} to {ends[1]:g}", "the smaller figure first"))
        elif not target.importance > 0:
            faults.append(Fault(field, target.importance, "an importance above 0"))
        elif (target.low or 0.0) > 0 and target.distance == 0.0 and not any(weight > 0 for weight in target.weights):
            faults.append(Fault(field, f"at least {target.low:g}", "0: no line has any of it",
                                "Name an ingredient that brings it among those on hand."))  # fmt: skip
        elif target.over is not None and float(np.asarray(target.over) @ bench.start) <= 0:
            faults.append(Fault(field, "a share of nothing", "a share of lines that the formula has"))
    if faults:
        raise InputError(faults)


def _program(bench: Bench, targets: Sequence[Target], limits: Limits) -> tuple[Program, list[Member]]:
    """Return what the solver takes, and what may be blamed in the order of blaming last first."""
    start = bench.start
    total = float(start.sum())
    entering = np.array([each.entering for each in bench.candidates])
    counted = np.where(entering, ENTERING_COUNTED * total, np.maximum(start, LEAST_COUNTED * total))
    rows: list[Floats] = []
    low: list[float] = []
    high: list[float] = []
    cost: list[float] = []
    bases: list[Floats] = []
    far: list[float] = []
    ranked = any(target.distance > 0 for target in targets)
    wished: list[Member] = []
    for target in targets:
        weights = np.asarray(target.weights)
        over = None if target.over is None else np.asarray(target.over)
        size = 1.0 if over is None else float(over @ start)
        for end, words, least in ((target.low, "at least", True), (target.high, "at most", False)):
            if end is None:
                continue
            if target.distance > 0 or not ranked:
                wished.append(Member("row", len(rows), f"{target.name} {words} {_figure(end)} {target.unit}".rstrip()))
            rows.append(weights if over is None else weights - end * over)
            bound = end if over is None else 0.0
            low.append(bound if least else -np.inf)
            high.append(np.inf if least else bound)
            cost.append(0.0 if target.distance > 0 else target.importance / size)
            far.append(target.distance / size)
            bases.append(np.zeros(len(start)) if over is None else over / size)
    bought = np.array([each.entering and each.ingredient != "water" for each in bench.candidates])
    touch = np.where(limits.last, TOUCH_LAST, np.where(bought, TOUCH_ENTERING, TOUCH))
    program = Program(
        start, limits.low, limits.high, limits.step, touch, 1.0 / counted,
        np.vstack([limits.rules, bench.mixed_g]),
        np.append(limits.rules_low, LEAST_LEFT * float(bench.mixed_g @ start)), np.append(limits.rules_high, np.inf),
        np.array(rows).reshape(len(rows), len(start)), np.array(low), np.array(high), np.array(cost),
        np.array(bases).reshape(len(rows), len(start)), np.array(far) if ranked else None,
    )  # fmt: skip
    return program, [*limits.members, *wished]


def _figure(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _rules_alone(program: Program, members: Sequence[Member], limits: Limits) -> list[Fault]:
    """Return the fault that names rules which contradict each other."""
    wishes = [member for member in members if member.kind == "row"]
    bare = without(program, wishes, limits.free_high_g)
    blamed = clashing(bare, limits.members, limits.free_high_g)
    said = "; ".join(member.name for member in blamed) or "the amounts allowed"
    return [Fault("rules", said, "rules that can hold together", "Loosen one of them.")]


def _outcome(target: Target, start: Floats, grams: Floats) -> Outcome:
    before, after = value_of(target, start), value_of(target, grams)
    under = 0.0 if target.low is None else max(0.0, target.low - after)
    over = 0.0 if target.high is None else max(0.0, after - target.high)
    missed = max(under, over)
    size = max([abs(end) for end in (target.low, target.high) if end is not None])
    if missed <= MET_WITHIN * max(size, 1.0) or 0.0 < missed * target.distance < GIVEN_BACK:
        missed = 0.0
    return Outcome(target.name, target.unit, target.low, target.high, before, after, missed)


def value_of(target: Target, grams: Floats) -> float:
    """Return the figure of a target for amounts [g] of the candidates."""
    top = float(np.asarray(target.weights) @ grams)
    if target.over is None:
        return top
    bottom = float(np.asarray(target.over) @ grams)
    return top / bottom if bottom > 1e-12 else 0.0


def _fitted(
    bench: Bench, limits: Limits, found: Solution, outcomes: tuple[Outcome, ...], clash: tuple[str, ...], seconds: float
) -> Fitted:
    """Return the answer: formula, changes, composition before and after."""
    start, grams = bench.start, found.grams
    flour = np.array([each.ingredient_class in FLOURS for each in bench.candidates])
    has_flour = float(start[flour].sum()) > 0
    per = [100.0 / max(float(x[flour].sum() if has_flour else x.sum()), 1e-9) for x in (start, grams)]
    changes = tuple(
        Change(each.name, each.part, float(before), float(after), float(before) * per[0], float(after) * per[1],
               each.entering)
        for each, before, after in zip(bench.candidates, start, grams, strict=True) if before > 0 or after > 0
    )  # fmt: skip
    formula = refilled(bench, grams)
    formula = replace(formula, notes=(*formula.notes, "amounts fitted; not baked or tasted yet"))
    held = [100.0 * (bench.finished.T @ x) / float(bench.finished_g @ x) for x in (start, grams)]
    ranges = composition_of(formula).whole.finished
    shifts = tuple(
        Shift(key, name, float(held[0][PLACE[key]]), float(held[1][PLACE[key]]), ranges[key].low, ranges[key].high)
        for key, name in NUTRIENT_AXES.items() if held[0][PLACE[key]] > 0 or held[1][PLACE[key]] > 0
    )  # fmt: skip
    notes = limits.notes if found.proven else (*limits.notes, "time ran out: a formula with fewer changes may exist")
    return Fitted(formula, not any(each.missed for each in outcomes), changes, outcomes, shifts, clash, notes,
                  "flour" if has_flour else "the whole", found.proven, seconds)  # fmt: skip


__all__ = ["fit", "fits", "program_of", "value_of", "worth_entering"]
