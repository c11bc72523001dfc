"""A formula as arrays: lines times contents, and every doubt as a shifted copy reckoned through to the finish."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.contents import (
    CONTENT_KEYS,
    Contents,
    Floats,
    class_group,
    class_groups,
    contents_of_line,
    match_of,
)
from batchwright.formula.finish import UNBAKED, Finish, finish_of
from batchwright.formula.processes import (
    ALCOHOL,
    ENERGY,
    KCAL_PER_G_ALCOHOL,
    WATER,
    Changed,
    changed,
    figures_of,
)
from batchwright.formula.records import Formula, Line

ALCOHOL_KEPT = (0.05, 0.35, 0.45)
"""Share of the alcohol left in baked food, low, likely, high: USDA retention factors give 45 % after 25 minutes of
baking and 25 % after an hour in a stew (Release 6, 2007; from memory); thin pieces keep less."""

MOST_LINES = 300  # of one recipe; a large one of several parts has about 40 (common practice)
_NONE = Estimate(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class FlatLine:
    """One weighed ingredient of a formula: its part by number and name, and the line (further ingredients of a line
    stand behind it as lines of their own)."""

    part: int
    part_name: str
    line: Line


def flat_lines(formula: Formula) -> tuple[FlatLine, ...]:
    """Return every line of a formula in order, the further ingredients of a line behind it, with their part."""
    found: list[FlatLine] = []

    def walk(place: int, name: str, lines: Sequence[Line]) -> None:
        for line in lines:
            found.append(FlatLine(place, name, line))
            walk(place, name, line.also)

    for place, part in enumerate(formula.parts):
        walk(place, part.name, part.lines)
    return tuple(found)


def one_recipe(formula: Formula) -> None:
    """Raise InputError for more lines than one recipe has; call it before work that grows faster than they do."""
    count = len(flat_lines(formula))
    if count > MOST_LINES:
        hint = "Take one recipe at a time; weigh, measures and card read longer lists."
        raise InputError([Fault("recipe", f"{count} lines", f"at most {MOST_LINES}", hint)])


@dataclass(frozen=True, slots=True)
class Mixture:
    """The weighed lines (n) of a formula as arrays.

    `grams`, `up`, `down`: (n,) as written and 90 % doubts; `held`: (n, K) contents per gram as written, after the
    process; `factor`: (n,) grams mixed per gram written; `kept`: (n, K) share of each content the process leaves;
    `part`: (n,) number of the part; `group`: (n,) lines of the same ingredient share their doubts; `finishes`: one per
    part; `at`: (n,) place of each line in `flat_lines`.
    """

    lines: tuple[FlatLine, ...]
    contents: tuple[Contents, ...]
    changes: tuple[Changed, ...]
    grams: Floats
    up: Floats
    down: Floats
    held: Floats
    factor: Floats
    kept: Floats
    part: np.ndarray
    group: np.ndarray
    finishes: tuple[Finish, ...]
    at: tuple[int, ...]
    left_out: tuple[str, ...]

    @property
    def part_count(self) -> int:
        """Number of parts, empty ones included."""
        return len(self.finishes)


def mixture_of(formula: Formula) -> Mixture:
    """Return a formula as arrays; raises InputError where no line has grams, or a process cannot be."""
    flat = flat_lines(formula)
    at = tuple(place for place, each in enumerate(flat) if each.line.grams is not None)
    if not any((flat[place].line.grams or _NONE).likely > 0 for place in at):
        hint = "write how much of each ingredient goes in, or weigh the recipe first"
        raise InputError([Fault("formula", formula.name or "no name", "at least one line with an amount", hint)])
    lines = tuple(flat[place] for place in at)
    left_out = tuple(each.line.text for each in flat if each.line.grams is None)
    contents = tuple(contents_of_line(each.line) for each in lines)
    faults: list[Fault] = []
    changes: list[Changed] = []
    for each, what in zip(lines, contents, strict=True):
        try:
            figures = figures_of(each.line, what)
        except InputError as fault:
            faults.extend(fault.faults)
            figures = {}
        process = each.line.process if figures else ""
        changes.append(changed(process, what.likely, {name: three[1] for name, three in figures.items()}))
    if faults:
        raise InputError(faults)
    estimates = [each.line.grams for each in lines if each.line.grams is not None]
    names: dict[str, int] = {}
    keys = [match_of(each.line).ingredient or each.line.item or each.line.text for each in lines]
    group = [names.setdefault(key, len(names)) for key in keys]
    return Mixture(
        lines, contents, tuple(changes),
        np.array([each.likely for each in estimates], dtype=float),
        np.array([max(0.0, each.high - each.likely) for each in estimates]),
        np.array([max(0.0, each.likely - each.low) for each in estimates]),
        np.array([each.contents for each in changes]), np.array([each.mixed_g for each in changes]),
        np.array([each.kept for each in changes]), np.array([each.part for each in lines]), np.array(group),
        tuple(finish_of(formula, part) for part in formula.parts), at, left_out,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Copies:
    """The formula (copy 0) and its shifted copies (S), reckoned to the finish.

    `mixed_g`, `finished_g`: (S, P); `mixed`, `finished`: (S, P, K) grams, milligrams or kilocalories of each content;
    `classes`: (S, P, C) grams of each group of ingredients as they go in [order of class_groups]. `off_up` and
    `off_down`: (P, G, K) how far the contents of each ingredient may be off, by the composition of real lots.
    """

    mixed_g: Floats
    finished_g: Floats
    mixed: Floats
    finished: Floats
    classes: Floats
    off_up: Floats
    off_down: Floats


def copies_of(mix: Mixture) -> Copies:
    """Return a formula and one shifted copy for each end of each doubt: amounts, processes, loss, alcohol kept."""
    parts, groups, width = mix.part_count, int(mix.group.max()) + 1, len(CONTENT_KEYS)
    known = class_groups()
    group_at = np.array([known.index(class_group(what.ingredient_class)) for what in mix.contents])
    one_class = np.zeros((len(mix.grams), len(known)))
    one_class[np.arange(len(mix.grams)), group_at] = 1.0
    held = np.hstack([mix.held, mix.factor[:, None] * one_class, mix.factor[:, None]])  # contents, classes, mass

    def gathered(rows: Floats) -> Floats:
        """Return the sums of rows (n, X) over the lines of each group and part: (G, P, X)."""
        sums = np.zeros((groups, parts, rows.shape[1]))
        np.add.at(sums, (mix.group, mix.part), rows)
        return sums

    base = gathered(mix.grams[:, None] * held).sum(axis=0)
    shifts = np.stack([gathered(mix.up[:, None] * held), -gathered(mix.down[:, None] * held)], axis=1)
    steps = []
    for line, contents, factor in _process_steps(mix):
        step = np.zeros_like(base)
        after = np.hstack([contents, factor * one_class[line], factor])
        step[mix.part[line]] = mix.grams[line] * (after - held[line])
        steps.append(step)
    ends = [(part, end) for part, finish in enumerate(mix.finishes) if finish.loss or finish.water for end in (0, 2)]
    moved = [np.zeros_like(base), *shifts.reshape(-1, *base.shape), *steps]
    copies = base + np.array(moved + [moved[0]] * (len(ends) + 2))
    pinned = np.tile(np.array([_middle(finish) for finish in mix.finishes]), (len(copies), 1))
    for place, (part, end) in enumerate(ends, start=len(moved)):
        finish = mix.finishes[part]
        pinned[place, part] = (finish.loss or finish.water or (0.0, 0.0, 0.0))[end]
    alcohol = np.full(len(copies), ALCOHOL_KEPT[1])
    alcohol[-2:] = ALCOHOL_KEPT[0], ALCOHOL_KEPT[2]
    mixed, classes, mixed_g = copies[:, :, :width], copies[:, :, width:-1], copies[:, :, -1]
    finished_g, finished = _finished(mix, mixed_g, mixed, pinned, alcohol)
    off = [np.swapaxes(gathered(mix.grams[:, None] * mix.kept * np.array(doubts)), 0, 1) for doubts in
           ([each.up for each in mix.contents], [each.down for each in mix.contents])]  # fmt: skip
    return Copies(mixed_g, finished_g, mixed, finished, classes, off[0], off[1])


def _middle(finish: Finish) -> float:
    if finish.loss is not None:
        return finish.loss[1]
    return finish.water[1] if finish.water is not None else 0.0


def _process_steps(mix: Mixture) -> list[tuple[int, Floats, float]]:
    """Return (line, contents, factor) of each line with a process, for each end of each figure and of its water."""
    steps: list[tuple[int, Floats, float]] = []
    for place, (each, what) in enumerate(zip(mix.lines, mix.contents, strict=True)):
        if not each.line.process:
            continue
        figures = figures_of(each.line, what)
        likely = {name: three[1] for name, three in figures.items()}
        tries = [(what.likely, {**likely, name: three[end]}) for name, three in figures.items() for end in (0, 2)]
        for shift in (what.up[WATER], -what.down[WATER]):
            wetter = what.likely.copy()
            wetter[WATER] = max(0.0, wetter[WATER] + shift)
            tries.append((wetter, likely))
        for vector, chosen in tries:
            after = changed(each.line.process, vector, chosen)
            steps.append((place, after.contents, after.mixed_g))
    return steps


def _finished(
    mix: Mixture, mixed_g: Floats, mixed: Floats, pinned: Floats, alcohol_kept: Floats
) -> tuple[Floats, Floats]:
    """Return finished mass (S, P) and contents (S, P, K): water goes first, alcohol of baked parts in its share."""
    finished, finished_g = mixed.copy(), mixed_g.copy()
    for part, finish in enumerate(mix.finishes):
        if finish.loss is None and finish.water is None:
            continue
        water, spirit = mixed[:, part, WATER], mixed[:, part, ALCOHOL]
        gone = spirit * (1.0 - alcohol_kept)
        solids = mixed_g[:, part] - water - gone
        if finish.loss is not None:
            gone = np.minimum(gone, pinned[:, part] * mixed_g[:, part])
            left = mixed_g[:, part] - water - gone
            ends = np.maximum((1.0 - pinned[:, part]) * mixed_g[:, part], left)
            solids = left
        else:
            ends = np.minimum(solids / (1.0 - pinned[:, part]), mixed_g[:, part] - gone)
        finished_g[:, part] = ends
        finished[:, part, WATER] = ends - solids
        finished[:, part, ALCOHOL] = spirit - gone
        finished[:, part, ENERGY] = np.maximum(0.0, mixed[:, part, ENERGY] - KCAL_PER_G_ALCOHOL * gone)
    return finished_g, finished


def impossible_losses(formula: Formula, mix: Mixture, copies: Copies) -> list[Fault]:
    """Return a fault for each part whose loss is more than the water (and alcohol) in it, even at the wet end."""
    faults = []
    for place, finish in enumerate(mix.finishes):
        if finish.loss is None or finish.taken:
            continue
        mass = float(copies.mixed_g[0, place])
        named = formula.parts[place].name or "the whole"
        volatile = copies.mixed[:, place, WATER] + copies.mixed[:, place, ALCOHOL]
        wettest = float((volatile / np.maximum(copies.mixed_g[:, place], 1e-12)).max())
        wettest += float(np.sqrt((copies.off_up[place, :, WATER] ** 2).sum())) / max(mass, 1e-12)
        if finish.loss[1] > wettest + 0.005:  # half a percent: crumbs and flour left behind (common practice)
            hint = f"{named} holds {100 * float(volatile[0]) / max(mass, 1e-12):.1f} % water; is a liquid missing?"
            given = f"{100 * finish.loss[1]:g} %"
            allowed = f"0 to {100 * wettest:.1f} %: water is all it can lose"
            faults.append(Fault("bake_loss_percent", given, allowed, hint))
    return faults


__all__ = ["ALCOHOL_KEPT", "UNBAKED", "Copies", "FlatLine", "Mixture", "copies_of", "flat_lines", "impossible_losses",
           "mixture_of"]  # fmt: skip
