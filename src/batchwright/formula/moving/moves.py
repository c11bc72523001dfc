"""The first moves: the few single changes in grams that together bring a recipe closest to an original."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.comparing.compare import compared
from batchwright.formula.comparing.records import Band, FirstMoves, Move
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import PLACE, Floats
from batchwright.formula.formula import with_grams
from batchwright.formula.mixture import flat_lines, mixture_of
from batchwright.formula.moving.allowed import Rule, named_lines
from batchwright.formula.moving.pool import with_pool
from batchwright.formula.moving.search import Change, Table, closest, table_of
from batchwright.formula.moving.words import dough_notes, reason
from batchwright.formula.records import Formula, Line

WATER = "water_g"
MOST_MOVES = 6
WORTH = 0.05  # of the distance at the start: a move that brings less is left out


def first_moves(band: Band, formula: Formula, rule: Rule, count: int = 3) -> FirstMoves:
    """Return at most `count` single changes that together bring a recipe closest to the original.

    band: the original; formula: the recipe, in grams; rule: what the cook allows; count [1 to 6]. A move adds, leaves
    out, raises or lowers one ingredient, or swaps one for another. What the cook does not allow in the food is taken
    out first. Then moves are chosen one after the other from the best few of each round, and the amounts of the chosen
    set are worked out together on the same distance that ranks the recipes; baked parts end as dry as they do now.
    Raises InputError where nothing may be changed, or `count` is not in range.
    """
    if not 1 <= count <= MOST_MOVES:
        raise InputError([Fault("--moves", count, f"0 to {MOST_MOVES}")])
    before = compared(band, formula)
    wider, entering = with_pool(band, formula, rule)
    locked = {place for lock in rule.asked.locked for place in named_lines(lock, wider)}
    table = table_of(band, wider, entering, frozenset(locked))
    lines = flat_lines(wider)
    why_gone = {at: why for at, place in enumerate(table.at) if (why := rule.forbids(lines[place]))}
    if not table.free.any():
        hint = "Take a lock off, or name more that is on hand."
        raise InputError([Fault("--lock", ", ".join(rule.asked.locked), "at least one line that may change", hint)])
    changes = closest(table, tuple(why_gone), count, WORTH)
    moves, grams = _told(table, changes, why_gone)
    notes = _notes(table, rule, wider, why_gone, grams)
    if not moves:
        notes.insert(0, "no single change that is allowed brings it closer")
    after, distance, exact = formula, before.distance.likely, []
    amounts = table.start
    for move, made in moves:
        amounts = made.put(amounts)
        after = _as_dry(formula, _changed(wider, table, amounts))
        distance = compared(band, after).distance.likely
        exact.append(replace(move, distance_after=distance))
    return FirstMoves(before.name, tuple(exact), before.distance.likely, distance, after.to_json(), tuple(notes))


def _told(
    table: Table, changes: Sequence[Change], why_gone: dict[int, str]
) -> tuple[tuple[tuple[Move, Change], ...], Floats]:
    """Return the moves in words, the required first, then the largest gain first; and the grams after all of them."""
    grams = table.start.copy()
    left = list(changes)
    told: list[tuple[Move, Change]] = []
    while left:
        tried = [change.put(grams) for change in left]
        gains = [
            (not after.any(), change.line not in why_gone, table.distance(after))
            for change, after in zip(left, tried, strict=True)
        ]
        place = min(range(len(left)), key=lambda at: gains[at])
        change = left.pop(place)
        after = change.put(grams)
        told.append((_move(table, change, grams, after, why_gone), change))
        grams = after
    return tuple(told), grams


def _move(table: Table, change: Change, grams: Floats, after: Floats, why_gone: dict[int, str]) -> Move:
    at, other = change.line, change.other
    kind = "swap" if other is not None else _kind(grams[at], after[at])
    required = at in why_gone and bool(after[at] == 0.0)
    text = reason(table, grams, after)
    if required:
        text = f"{table.names[at]} is {why_gone[at]}" + (f"; {text}" if text else "")
    move = Move(kind, table.parts[at], table.names[at], float(grams[at]), float(after[at]), text,
                table.distance(after), required=required)  # fmt: skip
    if other is None:
        return move
    return replace(move, for_item=table.names[other], for_from_g=float(grams[other]), for_to_g=float(after[other]))


def _kind(before: float, after: float) -> str:
    if before == 0.0:
        return "add"
    if after == 0.0:
        return "leave out"
    return "raise" if after > before else "lower"


def _changed(wider: Formula, table: Table, grams: Floats) -> Formula:
    """Return the recipe after the moves: what moved is weighed anew, what fell to nothing is gone."""
    amounts = {table.at[at]: _shifted(flat_lines(wider)[table.at[at]].line, float(grams[at]))
               for at in range(len(grams)) if grams[at] != table.start[at]}  # fmt: skip
    moved = with_grams(wider, amounts)
    parts = tuple(replace(part, lines=tuple(line for line in part.lines if not _gone(line))) for part in moved.parts)
    return replace(moved, parts=parts)


def _as_dry(before: Formula, after: Formula) -> Formula:
    """Return the recipe after the moves with each bake loss that it carries set so that the part ends as dry as now."""
    wet = {part.name: part.finished[WATER].likely / 100.0 for part in composition_of(before).parts}
    mix = mixture_of(after)
    parts = []
    for place, part in enumerate(after.parts):
        inside, loss = mix.part == place, part.bake_loss_percent
        if loss is not None and part.name in wet and inside.any():
            mass = float(mix.factor[inside] @ mix.grams[inside])
            water = float(mix.held[inside, PLACE[WATER]] @ mix.grams[inside])
            percent = max(0.0, 100.0 * (1.0 - (mass - water) / (1.0 - wet[part.name]) / max(mass, 1e-9)))
            shift = percent - loss.likely
            ends = max(0.0, loss.low + shift), max(0.0, min(loss.high + shift, 100.0 * water / max(mass, 1e-9)))
            part = replace(part, bake_loss_percent=replace(loss, likely=percent, low=min(ends[0], percent),
                                                           high=max(ends[1], percent)))  # fmt: skip
        parts.append(part)
    return replace(after, parts=tuple(parts))


def _shifted(line: Line, grams: float) -> Estimate:
    """Return a new amount that keeps the doubt of the old one: so many grams more or less than the recipe's measure."""
    old = line.grams or Estimate(0.0, 0.0, 0.0, unit="g")
    if grams <= 0.0:
        return Estimate(0.0, 0.0, 0.0, unit="g")
    return Estimate(grams, max(0.0, grams - (old.likely - old.low)), grams + (old.high - old.likely), unit="g")


def _gone(line: Line) -> bool:
    return line.grams is not None and line.grams.likely == 0.0 and not line.also


def _notes(table: Table, rule: Rule, wider: Formula, why_gone: dict[int, str], grams: Floats) -> list[str]:
    """Return what else the cook must know: what still has to go, packs to read, the water of the dough."""
    lines = flat_lines(wider)
    notes = [f"also to go: {table.names[at]} ({why})" for at, why in why_gone.items() if grams[at] > 0.0]
    for at, place in enumerate(table.at):
        read = rule.asks_for_the_pack(lines[place]) if grams[at] > 0.0 else ""
        if read:
            notes.append(f"read the pack of {table.names[at]}: it may be {read}")
    for at, group in enumerate(table.groups):
        if group == "water" and grams[at] < table.start[at] and not table.baked[at]:
            where = f"{table.parts[at]}: " if table.parts[at] else ""
            notes.append(f"{where}water left out or cooked away on the stove comes to the same")
    notes += dough_notes(table, grams)
    return list(dict.fromkeys(notes))
