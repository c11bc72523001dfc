"""What a fit may do to each line: locks, bounds, steps, what stays as it is, in the solver's arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from batchwright.base.errors import Fault, InputError
from batchwright.formula.contents import Floats
from batchwright.formula.fitting.clash import Member
from batchwright.formula.fitting.lines import FLOURS, SMALL, Bench, Candidate, named
from batchwright.formula.fitting.records import KEEPS, Rules

MOST_TIMES, MOST_MORE = 3.0, 0.15  # a line may become three times what it was, or 15 % of the batch more (judgement)
MOST_ROOMY = 1.0  # of the batch: likewise where a fit is to go as far as it can
MOST_ENTERING = 0.4  # of the batch: what enters is not to become most of the food (judgement)
DUST = 0.005  # of the batch: lines smaller than this season, raise or colour; they stay unless freed
FREE_HIGH = 4.0  # times the batch: as good as without a limit
EGG_G = {"whole egg": 50.0, "egg white": 33.0, "egg yolk": 17.0}
"""Grams of one large egg without its shell, and of its parts: 50, 33 and 17 g in USDA's household measures."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Arrays for the solver: low, high and step of each line (n,) [g], rules (Q, n) with their ends, who may be blamed.

    `members`: rules in words for naming a clash, those nobody asked for first. `free_high_g`: how far a line may go
    when its own bounds are left out. `last` (n,): lines taken only where little else will do.
    """

    low: Floats
    high: Floats
    step: Floats
    rules: Floats
    rules_low: Floats
    rules_high: Floats
    members: tuple[Member, ...]
    free_high_g: float
    notes: tuple[str, ...]
    last: NDArray[np.bool_]


def limits_of(bench: Bench, rules: Rules, salt_is_wished: bool = False) -> Limits:
    """Return what the rules leave open; raises InputError with every rule that names nothing or cannot be.

    salt_is_wished: a target speaks of salt, so that salt may move.
    """
    candidates, start = bench.candidates, bench.start
    total = float(start.sum())
    more = MOST_ROOMY if rules.roomy else MOST_MORE
    low, high = np.zeros(len(start)), np.maximum(MOST_TIMES * start, start + more * total)
    high[[each.entering for each in candidates]] = (MOST_ROOMY if rules.roomy else MOST_ENTERING) * total
    faults: list[Fault] = []
    notes: list[str] = []
    usual: list[Member] = []
    asked: list[Member] = []
    free = {at for name in rules.free for at in _places("free", name, bench, faults)}
    bounded = {at for name in rules.bounds for at in named(name, candidates)}
    _hold(candidates, rules, free | bounded, salt_is_wished, low, high, usual, notes)
    for name in rules.locks:
        for at in _places("lock", name, bench, faults):
            low[at] = high[at] = start[at]
            asked.append(Member("line", at, f"{candidates[at].name} stays at {start[at]:.4g} g"))
    for name, (least, most) in rules.bounds.items():
        if not 0 <= least <= most:
            faults.append(Fault(f"bounds of {name}", f"{least:g} to {most:g} g", "0 or more, the smaller one first"))
            continue
        for at in _places("bounds", name, bench, faults):
            if any(at == member.place for member in asked):
                if not least <= start[at] <= most:
                    allowed = f"its {start[at]:g} g: it is locked"
                    hint = "Unlock it or widen the bounds."
                    faults.append(Fault(f"bounds of {name}", f"{least:g} to {most:g} g", allowed, hint))
                continue
            low[at], high[at] = least, most
            asked.append(Member("line", at, f"{candidates[at].name} between {least:g} and {most:g} g"))
    told = {member.place for member in (*usual, *asked)}
    usual += [Member("line", at, f"{each.name} at most {high[at]:.4g} g (no more where nobody gives bounds)")
              for at, each in enumerate(candidates) if at not in told]  # fmt: skip
    step = _steps(bench, rules, low, high, faults, usual)
    kept, kept_members = _kept(bench, rules, faults)
    if faults:
        raise InputError(faults)
    ends = kept @ start
    last = np.zeros(len(start), dtype=bool)
    last[[at for name in rules.last for at in named(name, candidates)]] = True
    return Limits(low, high, step, kept, ends, ends, (*usual, *kept_members, *asked), FREE_HIGH * total,
                  tuple(notes), last)  # fmt: skip


def _places(field: str, name: str, bench: Bench, faults: list[Fault]) -> list[int]:
    """Return the lines a rule names; a fault where it names none."""
    places = named(name, bench.candidates)
    if not places:
        there = ", ".join(dict.fromkeys(each.name for each in bench.candidates))
        faults.append(Fault(field, name, there, "It names no line of the formula and nothing on hand."))
    return places


def _hold(
    candidates: tuple[Candidate, ...], rules: Rules, free: set[int], salt_is_wished: bool, low: Floats, high: Floats,
    usual: list[Member], notes: list[str],
) -> None:  # fmt: skip
    """Hold what stays unless freed: small lines, unknown ones, other parts; sweeteners where none may grow."""
    small: list[str] = []
    unknown: list[str] = []
    barred: list[str] = []
    total = sum(each.grams for each in candidates)
    for at, each in enumerate(candidates):
        is_small = each.ingredient_class in SMALL or each.grams < DUST * total
        is_small &= not (each.ingredient_class == "salt" and salt_is_wished)
        outside = bool(rules.only_part) and each.part.casefold() != rules.only_part.casefold()
        if outside or (at not in free and (is_small or not each.known) and not each.entering):
            low[at] = high[at] = each.grams
            if not outside:
                (small if each.known else unknown).append(each.name)
            usual.append(Member("line", at, f"{each.name} stays at {each.grams:.4g} g"))
        elif rules.no_sweeter and each.sweetens:
            high[at] = each.grams
            usual.append(Member("line", at, f"{each.name} no more than its {each.grams:.4g} g: it sweetens"))
            if each.entering:
                barred.append(each.name)
    if small:
        notes.append(f"held, since they act by more than what they hold: {', '.join(dict.fromkeys(small))}")
    if unknown:
        notes.append(f"held, since the shelf does not know what they hold: {', '.join(dict.fromkeys(unknown))}")
    if barred:
        notes.append(f"not let in, since they sweeten: {', '.join(barred)}")


def _steps(
    bench: Bench, rules: Rules, low: Floats, high: Floats, faults: list[Fault], usual: list[Member]
) -> Floats:
    """Return the step of each line that may move [g]: what the cook says, whole eggs, else 0."""
    step = np.zeros(len(low))
    if rules.whole_eggs:
        for at, each in enumerate(bench.candidates):
            step[at] = EGG_G.get(each.ingredient, 0.0)
    for name, size in rules.steps.items():
        if not size > 0:
            faults.append(Fault(f"step of {name}", size, "grams above 0"))
            continue
        for at in _places("step", name, bench, faults):
            step[at] = size
    step[low == high] = 0.0
    usual += [Member("step", int(at), f"{bench.candidates[at].name} in steps of {step[at]:g} g")
              for at in np.flatnonzero(step)]  # fmt: skip
    return step


def _kept(bench: Bench, rules: Rules, faults: list[Fault]) -> tuple[Floats, list[Member]]:
    """Return the rows that stay as they are: flour, or the whole mass as mixed.

    Each flour by itself, all together where the cook lets one enter or gives one bounds: then kinds may change places.
    """
    if rules.keep not in KEEPS:
        faults.append(Fault("keep", rules.keep, ", ".join(each for each in KEEPS if each)))
    start, inside = bench.start, bench.inside(rules.only_part)
    flour = np.array([each.ingredient_class in FLOURS for each in bench.candidates]) * inside
    grams = float(flour @ start)
    keep = rules.keep or ("flour" if grams > 0 else "total")
    if keep == "flour":
        if grams <= 0:
            faults.append(Fault("keep", "flour", "total or nothing", "There is no flour in this formula."))
        lines = [int(at) for at in np.flatnonzero(flour)]
        asked = {at for name in (*rules.bounds, *rules.free) for at in named(name, bench.candidates)}
        if len(lines) == 1 or asked & set(lines) or any(bench.candidates[at].entering for at in lines):
            return flour[None, :], [Member("rule", 0, f"flour stays at {grams:.4g} g")]
        said = [f"{bench.candidates[at].name} stays at {start[at]:.4g} g" for at in lines]
        return np.eye(len(start))[lines], [Member("rule", row, words) for row, words in enumerate(said)]
    if keep == "total":
        mass = bench.mixed_g * inside
        return mass[None, :], [Member("rule", 0, f"the batch stays at {float(mass @ start):.4g} g")]
    return np.zeros((0, len(start))), []
