"""What changed between two versions of a formula, in grams, in percent of the flour, and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from batchwright.base.shown import small_g
from batchwright.formula.formula import FlatLine, flat_lines, flour_g
from batchwright.formula.records import Formula

SAME_RATIO = 0.002  # relative: amounts that moved alike within a fifth of a percent were scaled together
LEAST_CHANGE_G = 0.05  # a kitchen scale for small amounts shows a tenth of a gram
LEAST_SHARE = 0.05  # of an amount, where that is less: a pinch is not weighed


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed: an ingredient of a part (grams before and after, percent of flour where there is flour),
    or something else (`what` alone). `words` says it in a sentence."""

    part: str
    what: str
    before_g: float | None
    after_g: float | None
    before_percent: float | None
    after_percent: float | None
    words: str

    def to_json(self) -> dict[str, Any]:
        """Return all fields, grams and percent to two decimals."""
        numbers = {"before_g": self.before_g, "after_g": self.after_g, "before_percent": self.before_percent,
                   "after_percent": self.after_percent}  # fmt: skip
        return {"part": self.part, "what": self.what, "words": self.words,
                **{key: None if value is None else round(value, 2) for key, value in numbers.items()}}  # fmt: skip


Key = tuple[str, str, str]  # part, ingredient, process


def difference(before: Formula, after: Formula) -> tuple[Change, ...]:
    """Return what changed from one version to the next, largest change first, other things last.

    Amounts of one ingredient in one part and process are taken together. Where every amount moved by the same factor it
    says so in one line. Nothing changed: an empty tuple.
    """
    old, new = _amounts(before), _amounts(after)
    flours = flour_g(before).likely, flour_g(after).likely
    factor = _common_factor(old, new)
    found: list[Change] = []
    if factor is not None and abs(factor - 1.0) > SAME_RATIO:
        totals = sum(old.values()), sum(new.values())
        words = f"the whole batch times {factor:.3g}, from {totals[0]:.0f} g to {totals[1]:.0f} g; no ratio changed"
        found.append(Change("", "whole batch", totals[0], totals[1], None, None, words))
    elif factor is None:
        several = len(before.parts) > 1 or len(after.parts) > 1
        for key in dict.fromkeys((*old, *new)):
            change = _change(key, old.get(key), new.get(key), flours, several)
            if change is not None:
                found.append(change)
        found.sort(key=lambda each: -abs((each.after_g or 0.0) - (each.before_g or 0.0)))
    return (*found, *_others(before, after))


def _key(each: FlatLine) -> Key:
    return each.part_name, each.line.ingredient or each.line.item or each.line.text, each.line.process


def _amounts(formula: Formula) -> dict[Key, float]:
    amounts: dict[Key, float] = {}
    for each in flat_lines(formula):
        if each.line.grams is not None:
            amounts[_key(each)] = amounts.get(_key(each), 0.0) + each.line.grams.likely
    return amounts


def _common_factor(old: dict[Key, float], new: dict[Key, float]) -> float | None:
    """Return the factor that all amounts share; None where they do not, or the ingredients differ."""
    if set(old) != set(new) or not old or any(old[key] <= 0.0 for key in old):
        return None
    factors = [new[key] / old[key] for key in old]
    middle = sorted(factors)[len(factors) // 2]
    alike = all(abs(each - middle) <= SAME_RATIO * middle for each in factors)
    return middle if alike and middle > 0.0 else None


def _change(
    key: Key, was: float | None, now: float | None, flours: tuple[float, float], several: bool
) -> Change | None:
    part, name, process = key
    if was is not None and now is not None and abs(now - was) < min(LEAST_CHANGE_G, LEAST_SHARE * max(was, now)):
        return None
    percents = [None if grams is None or flour <= 0.0 else 100.0 * grams / flour
                for grams, flour in zip((was, now), flours, strict=True)]  # fmt: skip
    shown = f"{name} ({process})" if process else name
    where = f" in {part}" if several and part else ""
    if was is None:
        words = f"{shown} added{where}: {_grams(now)}"
    elif now is None:
        words = f"{shown} left out{where}: {_grams(was)}"
    else:
        step = f", {100.0 * (now / was - 1.0):+.0f} %" if was > 0.0 else ""
        words = f"{shown}{where} from {_grams(was)} to {_grams(now)} ({now - was:+.1f} g{step})"
    told = [each for each in percents if each is not None]
    if told:
        words += "; of flour " + " to ".join(f"{each:.1f} %" for each in told)
    return Change(part, shown, was, now, percents[0], percents[1], words)


def _grams(grams: float | None) -> str:
    value = grams or 0.0
    return f"{value:.0f} g" if value >= 100.0 else f"{small_g(value)} g"


def _others(before: Formula, after: Formula) -> list[Change]:
    """Return changes of loss, piece weight, measuring convention and method."""
    found: list[str] = []
    losses = [{part.name: part.bake_loss_percent for part in each.parts} for each in (before, after)]
    for name in dict.fromkeys((*losses[0], *losses[1])):
        was, now = (each.get(name) for each in losses)
        ends = [f"{each.likely:.1f} %" if each is not None else "not given" for each in (was, now)]
        if ends[0] != ends[1]:
            found.append(f"bake loss{f' of {name}' if name else ''} from {ends[0]} to {ends[1]}")
    if before.piece_g != after.piece_g:
        shown = [f"{each:g} g" if each else "not given" for each in (before.piece_g, after.piece_g)]
        found.append(f"piece weight from {shown[0]} to {shown[1]}")
    if before.convention != after.convention:
        found.append(f"measured by {after.convention or 'no named convention'}, "
                     f"before by {before.convention or 'none'}")  # fmt: skip
    steps = [[step.text for step in each.method] for each in (before, after)]
    if steps[0] != steps[1]:
        new = [text for text in steps[1] if text not in steps[0]]
        gone = [text for text in steps[0] if text not in steps[1]]
        found.append(f"method: {len(new)} steps written anew, {len(gone)} taken out")
    return [Change("", "", None, None, None, None, words) for words in found]
