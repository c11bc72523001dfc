"""The search for the moves: single changes tried on the distance itself, the best few kept, amounts tuned together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from batchwright.formula.axes import class_group, matrix_of
from batchwright.formula.comparing.compare import paired_parts, ruler_for
from batchwright.formula.comparing.distance import Ruler
from batchwright.formula.comparing.records import Band
from batchwright.formula.contents import PLACE, Floats, contents_of_line
from batchwright.formula.finish import UNBAKED, finish_of
from batchwright.formula.mixture import flat_lines
from batchwright.formula.records import Formula

KEPT = 8  # sets of moves kept in each round
MOVING = 0.1  # distance that moving as much as the whole batch must bring: of like ways the smaller (judgement)
DOWN = (0.0, 0.2, 0.4, 0.6, 0.8, 0.9)  # of a line's grams, tried when it is lowered
UP = tuple(float(share) for share in np.geomspace(0.001, 0.5, 14))  # of the batch, tried when a line is raised
WET = frozenset({"egg", "milk", "fruit"})  # groups that these may stand in for, for they wet and hold a dough too
MOIST = frozenset({"water", "milk", "fruit", "syrup"})
REST, REST_OF_EGG = 0.08, 0.25  # of a line: what is left of it is not worth the weighing, it goes altogether
MOST_SWAPPED = 2.5  # grams that come in a swap for a gram that goes: beyond it is an addition, not a swap (judgement)
ACTING = frozenset({"colour", "emulsifier", "flavour", "gum", "leavening", "preservative", "spice", "yeast"})
"""Classes of which no move is made: they act by more than what they hold, and a label's ranges say nothing of it."""
LEAST_GAIN = 0.01  # distance: a move that brings less is not worth a trial (judgement)
LEAST_SWAPPED = 0.15  # likewise the least, in a dough: below it water fills the place
NOTHING_LEFT = 0.01  # of the finished food: a recipe with less left is none
ROUGH, FINE = 2, 12  # rounds of tuning while sets are compared, and of the set that is chosen
NINE = np.linspace(0.0, 1.0, 9)
EQUAL_G = 0.05  # a change below what a kitchen scale shows


@dataclass(frozen=True, slots=True)
class Table:
    """A recipe with what may enter as arrays over its lines (n) and the axes that count (Q).

    `at` places in `flat_lines`; `start` [g]; `tops` (Q, n) and `bottom` (n,) as in `AxisMatrix`; `free` lines that may
    change, `entering` those at 0 g that may be added; `water`, `fat` and `solids` per gram as written; `baked`.
    """

    ruler: Ruler
    tops: Floats
    bottom: Floats
    start: Floats
    at: tuple[int, ...]
    names: tuple[str, ...]
    parts: tuple[str, ...]
    part_of: tuple[int, ...]
    groups: tuple[str, ...]
    free: np.ndarray
    entering: np.ndarray
    water: Floats
    fat: Floats
    baked: np.ndarray

    def values(self, grams: Floats) -> Floats:
        """Return every axis (Q,) for grams (n,)."""
        return np.asarray(100.0 * (self.tops @ grams) / max(float(self.bottom @ grams), 1e-9))

    def distance(self, grams: Floats) -> float:
        """Return the distance for grams (n,)."""
        return float(self.ruler.distance(self.values(grams)))

    def cost(self, grams: Floats) -> float:
        """Return the distance with a little for what is moved, so that of equal ways the smaller is taken."""
        return float(self.costs(grams, np.zeros((1, 0), dtype=int), np.zeros((1, 0)))[0])

    def costs(self, grams: Floats, lines: np.ndarray, amounts: Floats) -> Floats:
        """Return the cost (T,) of trials: grams (n,) with `lines` (T, k) set to `amounts` (T, k) [g].

        A line may stand twice in a row only with the amount it has.
        """
        change = amounts - grams[lines]
        tops = self.tops @ grams + np.einsum("tk,tkq->tq", change, self.tops.T[lines])
        whole = float(self.bottom @ grams) + (change * self.bottom[lines]).sum(axis=1)
        moved = np.abs(amounts - self.start[lines]) - np.abs(grams - self.start)[lines]
        far = self.ruler.distance(100.0 * tops / np.maximum(whole, 1e-9)[:, None])
        share = (np.abs(grams - self.start).sum() + moved.sum(axis=1)) / self.start.sum()
        return np.where(whole > NOTHING_LEFT * float(self.bottom @ self.start), far + MOVING * share, np.inf)


@dataclass(frozen=True, slots=True)
class Change:
    """One move: `line` gets `line_g`, and in a swap `other` gets `other_g` [g]."""

    line: int
    line_g: float
    other: int | None = None
    other_g: float = 0.0

    def put(self, grams: Floats) -> Floats:
        """Return grams (n,) with this move made."""
        after = grams.copy()
        after[self.line] = self.line_g
        if self.other is not None:
            after[self.other] = self.other_g
        return after


@dataclass(frozen=True, slots=True)
class _Option:
    """A kind of move: `line` goes down (`way` -1) or up (1); in a swap `other` goes up."""

    line: int
    way: int
    other: int = -1
    must: bool = False

    @property
    def lines(self) -> tuple[int, ...]:
        return (self.line,) if self.other < 0 else (self.line, self.other)


State = tuple[tuple[_Option, ...], Floats]


def table_of(band: Band, wider: Formula, entering: frozenset[int], locked: frozenset[int]) -> Table:
    """Return a recipe with what may enter, laid out for the search; `entering` and `locked`: places in `flat_lines`."""
    lines = flat_lines(wider)
    kinds = [contents_of_line(each.line) for each in lines]
    groups = [class_group(what.ingredient_class) for what in kinds]
    ruler = ruler_for(band, wider, [f"class:{group}" for group in groups])
    mine = {f"part:{theirs}": f"part:{name}" for name, theirs in paired_parts(band, wider) if theirs}
    matrix = matrix_of(wider, [mine.get(key, key) for key in ruler.keys])
    at = matrix.at
    floury = {each.part for each, group in zip(lines, groups, strict=True) if group == "flour"}

    def acts(place: int) -> bool:  # vanilla, lecithin, cloves: there for more than what they hold
        return place not in entering and kinds[place].ingredient_class in ACTING

    def wet_dough(place: int) -> bool:  # the water of a dough or batter bakes off: no move is made of it
        return lines[place].part in floury and groups[place] == "water" and place not in entering

    finishes = [finish_of(wider, part) for part in wider.parts]
    weighed = [lines[place].line.grams for place in at]
    start = np.array([grams.likely for grams in weighed if grams is not None])  # the matrix has weighed lines alone
    return Table(
        ruler, matrix.tops, matrix.bottom, start, at,
        tuple(lines[place].line.item or lines[place].line.text for place in at),
        tuple(lines[place].part_name for place in at), tuple(lines[place].part for place in at),
        tuple(groups[place] for place in at),
        np.array([place not in locked and kinds[place].known and not (wet_dough(place) or acts(place))
                  for place in at]),
        np.array([place in entering for place in at]),
        np.array([kinds[place].likely[PLACE["water_g"]] for place in at]),
        np.array([kinds[place].likely[PLACE["fat_g"]] for place in at]),
        np.array([finishes[lines[place].part].sort != UNBAKED for place in at]),
    )  # fmt: skip


def closest(table: Table, must_go: Sequence[int], count: int, worth: float) -> tuple[Change, ...]:
    """Return at most `count` changes that together bring the distance lowest.

    must_go: lines that have to leave, the heaviest first; they come before all others. worth: what a change must
    bring to be kept [fraction of the distance at the start].
    """
    states: list[State] = [((), table.start.copy())]
    forced = sorted(must_go, key=lambda line: -table.start[line])[:count]
    for line in forced:
        options = [_Option(line, -1, must=True), *_swaps(table, line, must=True)]
        states = [state for state in _round(table, states, options) if np.isfinite(table.cost(state[1]))] or states
    best = min(states, key=lambda state: table.cost(state[1]))
    options = _options(table, frozenset(must_go))
    for _ in range(count - len(forced)):
        states = _round(table, states, options)
        if not states:
            break
        best = min([best, *states], key=lambda state: table.cost(state[1]))
    return _pruned(table, (best[0], tuned(table, best[1], best[0], FINE)), worth)


def _options(table: Table, must_go: frozenset[int]) -> list[_Option]:
    """Return every kind of move that is allowed."""
    found: list[_Option] = []
    for line in np.flatnonzero(table.free):
        if line in must_go:
            continue
        if table.start[line] > 0.0:
            found.append(_Option(int(line), -1))
            found += [swap for swap in _swaps(table, int(line)) if swap.other not in must_go]
        found.append(_Option(int(line), 1))
    return found


def _swaps(table: Table, line: int, must: bool = False) -> list[_Option]:
    """Return the swaps of one line for another of the same group in its part, or a wet one for another wet one."""
    found = []
    for other in np.flatnonzero(table.free):
        same = table.groups[other] == table.groups[line]
        wet = table.groups[other] in MOIST and table.groups[line] in WET
        if other != line and table.part_of[other] == table.part_of[line] and (same or wet):
            found.append(_Option(line, -1, int(other), must))
    return found


def _round(table: Table, states: Sequence[State], options: Iterable[_Option]) -> list[State]:
    """Return the best few sets of moves with one move more, their amounts tuned."""
    tried: list[tuple[float, tuple[_Option, ...], Floats]] = []
    options = list(options)
    for chosen, grams in states:
        used = {line for option in chosen for line in option.lines}
        fresh = [option for option in options if not used & set(option.lines)]
        lines, amounts, owners = _trials(table, grams, fresh)
        if not len(lines):
            continue
        costs = table.costs(grams, lines, amounts)
        best: dict[int, int] = {}
        for row in np.argsort(costs):
            best.setdefault(owners[row], int(row))
            if len(best) >= 3 * KEPT:
                break
        for owner, row in best.items():
            after = grams.copy()
            after[lines[row]] = amounts[row]
            tried.append((float(costs[row]), (*chosen, fresh[owner]), after))
    tried.sort(key=lambda one: one[0])
    kept: list[State] = []
    seen: set[frozenset[_Option]] = set()
    for _, chosen, grams in tried:
        if frozenset(chosen) not in seen:
            seen.add(frozenset(chosen))
            kept.append((chosen, tuned(table, grams, chosen, ROUGH)))
        if len(kept) >= 2 * KEPT:
            break
    kept.sort(key=lambda state: table.cost(state[1]))
    return kept[:KEPT]


def _trials(table: Table, grams: Floats, options: Sequence[_Option]) -> tuple[np.ndarray, Floats, list[int]]:
    """Return the lines (T, 2) and amounts (T, 2) of every trial, and which option each is of.

    A move of one line names a line that no option moves for its second, with the amount that has.
    """
    rows: list[tuple[int, float, int, float]] = []
    owners: list[int] = []
    batch = float(table.start.sum())
    for owner, option in enumerate(options):
        line, other, old = option.line, option.other, float(table.start[option.line])
        if option.way > 0:
            ends = [(old + share * batch, 0.0) for share in UP]
        elif other < 0:
            ends = [(0.0, 0.0)] if option.must else [(old * share, 0.0) for share in DOWN]
        else:
            shares = (0.0,) if option.must else (0.0, 0.3, 0.6, 0.8)
            ends = [(old * share, old * (1.0 - share) * ratio) for share in shares
                    for ratio in _ratios(table, line, other)]  # fmt: skip
        still = 0 if line else min(1, len(grams) - 1)
        for line_g, other_g in ends:
            if other < 0:
                rows.append((line, line_g, still, float(grams[still])))
            else:
                rows.append((line, line_g, other, float(table.start[other]) + other_g))
            owners.append(owner)
    table_of_rows = np.array(rows).reshape(-1, 4)
    return table_of_rows[:, [0, 2]].astype(int), table_of_rows[:, [1, 3]], owners


def _ratios(table: Table, line: int, other: int) -> tuple[float, ...]:
    """Return grams of the other for a gram of a line: as much, as much that is not water, as much fat."""
    found = [1.0, (1.0 - table.water[line]) / max(1.0 - table.water[other], 0.05)]
    if min(table.fat[line], table.fat[other]) > 0.1:
        found.append(table.fat[line] / table.fat[other])
    if table.groups[other] == "water":
        found = [table.water[line]]
    return tuple(float(min(ratio, 3.0)) for ratio in found)


def tuned(table: Table, grams: Floats, chosen: Sequence[_Option], sweeps: int) -> Floats:
    """Return amounts (n,) of a set of moves tuned together: one after the other on ever finer steps, in turns."""
    grams = grams.copy()
    most = float(table.start.sum())
    limits: list[tuple[int, float, float]] = []
    for option in chosen:
        old = float(table.start[option.line])
        if not option.must:
            limits.append((option.line, 0.0, old) if option.way < 0 else (option.line, old, old + most))
        if option.other >= 0:
            other = float(table.start[option.other])
            limits.append((option.other, other, other + MOST_SWAPPED * old))
    now = table.cost(grams)
    for _ in range(sweeps):
        before = now
        for line, low, high in limits:
            reach = max(0.5 * float(grams[line]), 0.02 * most)
            for _ in range(4):
                ends = max(low, grams[line] - reach), min(high, grams[line] + reach)
                steps = ends[0] + (ends[1] - ends[0]) * NINE
                costs = table.costs(grams, np.full((len(NINE), 1), line), steps[:, None])
                best = int(costs.argmin())
                if costs[best] < now:
                    now, grams[line] = float(costs[best]), steps[best]
                reach /= 4.0
        if before - now < 1e-5:
            break
    return grams


def _pruned(table: Table, best: State, worth: float) -> tuple[Change, ...]:
    """Return the changes of a set in kitchen amounts, without those that bring next to nothing."""
    chosen, grams = list(best[0]), best[1]
    least = max(worth * table.distance(table.start), LEAST_GAIN)
    while True:
        here = table.distance(grams)
        losses = []
        for option in chosen:
            without = grams.copy()
            without[list(option.lines)] = table.start[list(option.lines)]
            losses.append(np.inf if option.must else table.distance(without) - here)
        if not losses or min(losses) >= least:
            break
        gone = chosen.pop(int(np.argmin(losses)))
        grams[list(gone.lines)] = table.start[list(gone.lines)]
        grams = tuned(table, grams, chosen, FINE)
    changes = [_change(table, option, grams) for option in chosen]
    return tuple(change for change in changes if change is not None)


def _change(table: Table, option: _Option, grams: Floats) -> Change | None:
    """Return one move in amounts a cook weighs; a swap of which one side does not move is a plain move."""
    line_g = kitchen_grams(float(grams[option.line]))
    rest = REST_OF_EGG if table.groups[option.line] == "egg" else REST
    if option.way < 0 and line_g < rest * table.start[option.line]:
        line_g = 0.0
    moved = abs(line_g - table.start[option.line]) > EQUAL_G
    if option.other < 0:
        watered = _watered(table, option, line_g)
        return (watered or Change(option.line, line_g)) if moved else None
    other_g = kitchen_grams(float(grams[option.other]))
    if abs(other_g - table.start[option.other]) <= EQUAL_G:
        return (_watered(table, option, line_g) or Change(option.line, line_g)) if moved else None
    if not moved:
        return Change(option.other, other_g)
    if other_g - table.start[option.other] < LEAST_SWAPPED * (table.start[option.line] - line_g):
        watered = _watered(table, option, line_g)
        if watered is not None:
            return watered
    return Change(option.line, line_g, option.other, other_g)


def _watered(table: Table, option: _Option, line_g: float) -> Change | None:
    """Return a wet line that leaves a dough as a swap for its water, which the dough needs and which bakes off."""
    line = option.line
    gone = (float(table.start[line]) - line_g) * float(table.water[line])
    if table.groups[line] not in WET or not table.baked[line] or gone < 1.0:
        return None
    for other in np.flatnonzero(table.free):
        if table.groups[other] == "water" and table.part_of[other] == table.part_of[line]:
            return Change(line, line_g, int(other), kitchen_grams(float(table.start[other]) + gone))
    return None


def kitchen_grams(mass_g: float) -> float:
    """Return a mass as kitchens weigh it: to 1 g from 20 g on, to 0.5 g from 5 g, else to 0.1 g (common practice)."""
    step = 1.0 if mass_g >= 20.0 else 0.5 if mass_g >= 5.0 else 0.1
    return round(round(mass_g / step) * step, 1)
