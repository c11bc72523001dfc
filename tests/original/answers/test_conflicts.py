"""Contradicting lines, the slip behind them, the nearest label, and the lines that pin a bound."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from batchwright.original.answers.conflicts import nearest, pins, scaled, smallest_conflict, suspects
from batchwright.original.region.bounds import region, sure_bounds
from batchwright.original.region.problem import PanelRow, Problem, Row
from batchwright.original.region.strain import fits
from tests.clock import within
from tests.original.invented import Invented, invented_label, panel_row


def with_line(problem: Problem, old: PanelRow, new: PanelRow) -> Problem:
    """Return the problem with one panel row in the place of another."""
    return replace(problem, panel=tuple(new if row is old else row for row in problem.panel))


def figure(label: Invented, nutrient: str) -> PanelRow:
    """Return the panel row of a nutrient."""
    return next(row for row in label.problem.panel if row.nutrient == nutrient)


def slipped(label: Invented, luck: np.random.Generator, slip: str) -> tuple[Problem, str] | None:
    """Return the label with a slip in it and a piece of the words that name it; None where it cannot be made."""
    problem = label.problem
    if slip == "kilojoules":
        text = str(round(float(label.printed["energy_kcal"]) * 4.184))
        row = panel_row("energy_kcal", text, label.serving_g)
        return with_line(problem, figure(label, "energy_kcal"), row), f"{row.line}: is this kJ"
    if slip == "serving":
        return scaled(problem, 0.1), "serving weight: is it ten times too large"
    if slip == "digit":
        keys = [key for key, text in label.printed.items() if sum(c.isdigit() for c in text) >= 2]
        key = str(luck.choice(keys))
        text = label.printed[key]
        place = int(luck.choice([i for i, c in enumerate(text) if c.isdigit()]))
        short = (text[:place] + text[place + 1 :]).rstrip(".")
        short = "0" + short if short.startswith(".") else short
        if float(short) == float(text):
            return None
        row = panel_row(key, f"{float(short):g}", label.serving_g)
        return with_line(problem, figure(label, key), row), f"{row.line}: was a digit"
    a, b = sorted(luck.choice(problem.n, 2, replace=False).tolist())
    exchange = {a: b, b: a}
    rows = tuple(
        replace(row, coefficients={exchange.get(k, k): v for k, v in row.coefficients.items()}) for row in problem.rows
    )
    first, second = problem.names[a], problem.names[b]
    return replace(problem, rows=rows), f"are {second} and {first} swapped"


def test_clean_labels_raise_no_alarm() -> None:
    """A label printed from a formula contradicts nothing."""
    luck = np.random.default_rng(31)
    for number in range(100):
        problem = invented_label(luck, parts=1 + number % 2, n=8, doubt=0.1 * (number % 2)).problem
        assert smallest_conflict(problem) is None
        assert suspects(problem) == ()
        assert nearest(problem) is problem


def test_conflict_is_the_smallest_there_is() -> None:
    """No smaller set of lines, of all that could be chosen, contradicts itself; the set found does."""
    luck = np.random.default_rng(17)
    seen = 0
    for number in range(24):
        label = invented_label(luck, n=5)
        planted = slipped(label, luck, ("digit", "swap", "kilojoules", "serving")[number % 4])
        if planted is None:
            continue
        found = region(planted[0])
        conflict = smallest_conflict(planted[0])
        if conflict is None:
            assert fits(found)
            continue
        seen += 1
        assert conflict.smallest
        assert conflict.check
        assert not fits(found.only(conflict.lines))
        for size in range(len(conflict.lines)):
            for lines in combinations(found.label_lines(), size):
                assert fits(found.only(lines))
    assert seen >= 12


def test_rows_of_one_line_go_together() -> None:
    """A declared percentage is two rows; the conflict names its line once, and no structure."""
    problem = invented_label(np.random.default_rng(40), n=4, quid=True).problem
    rows = (*problem.rows, Row({0: 1.0}, 0.0, 0.05, "item 0 at most 5 %", "minor"))
    rows = (*rows, Row({1: 1.0}, 0.5, 0.5, "item 1 half", "quid"))
    conflict = smallest_conflict(replace(problem, rows=rows, panel=()))
    assert conflict is not None
    assert len(conflict.lines) == len(set(conflict.lines)) == 2
    assert set(conflict.lines) <= {row.line for row in rows}


def test_impossible_structure_is_said() -> None:
    """A loss no part can have: no label line to blame."""
    problem = invented_label(np.random.default_rng(41), n=4).problem
    broken = replace(problem, rows=(Row({0: 1.0}, 2.0, 3.0, "structure", "structure"),))
    conflict = smallest_conflict(broken)
    assert conflict is not None
    assert conflict.lines == ()
    with pytest.raises(ValueError):
        nearest(broken)


def test_planted_slips_are_named() -> None:
    """Of 200 invented labels with one slip, those it makes impossible: named among the first three in nine of ten."""
    luck = np.random.default_rng(23)
    impossible = named = first = 0
    for number in range(200):
        label = invented_label(luck, n=int(luck.integers(5, 10)))
        planted = slipped(label, luck, ("digit", "swap", "kilojoules", "serving")[number % 4])
        if planted is None:
            continue
        found = suspects(planted[0])
        if not found:
            assert sure_bounds(planted[0]).feasible
            continue
        impossible += 1
        words = [one.check for one in found[:3]]
        named += any(planted[1] in text for text in words)
        first += planted[1] in words[0]
    assert impossible >= 130
    assert named >= 0.9 * impossible
    assert first >= 0.8 * impossible


def test_mended_label_is_possible() -> None:
    """A slip with room left is one whose mended problem has a formula."""
    luck = np.random.default_rng(5)
    label = invented_label(luck, n=6)
    planted = slipped(label, luck, "kilojoules")
    assert planted is not None
    found = suspects(planted[0])
    assert found[0].kind == "kilojoules"
    for one in found:
        if one.room >= 0.0:
            assert sure_bounds(one.mended).feasible


def test_nearest_label_is_possible_and_moves_few_lines() -> None:
    """With one absurd figure, that line moves and the answer stays a range around the truth of the rest."""
    luck = np.random.default_rng(51)
    for _ in range(20):
        label = invented_label(luck, n=7)
        old = figure(label, "energy_kcal")
        row = replace(old, low=old.low + 3000.0, high=old.high + 3000.0, line="energy absurd")
        problem = with_line(label.problem, old, row)
        near = nearest(problem)
        found = sure_bounds(near)
        assert found.feasible
        assert [one.line for one in near.panel] == [one.line for one in problem.panel]
        moved = [a.line for a, b in zip(problem.panel, near.panel, strict=True) if a != b]
        moved += [a.line for a, b in zip(problem.rows, near.rows, strict=True) if a != b]
        assert "energy absurd" in moved
        assert len(moved) <= 4


def test_pins_alone_reproduce_the_bound_and_none_can_go() -> None:
    """Checked by solving with and without each line."""
    luck = np.random.default_rng(61)
    told = 0
    for number in range(12):
        problem = invented_label(luck, n=6, doubt=0.1 * (number % 2)).problem
        full = sure_bounds(problem)
        wanted = [(leaf, side) for leaf in range(problem.n) for side in ("low", "high")]
        for (leaf, side), lines in zip(wanted, pins(problem, wanted), strict=True):
            end = (full.low if side == "low" else full.high)[leaf]
            trivial = end <= 0.001 if side == "low" else end >= 0.999
            if trivial:
                assert lines == ()

            def again(kept: set[str], leaf: int = leaf, side: str = side, problem: Problem = problem) -> float:
                some = replace(
                    problem,
                    rows=tuple(row for row in problem.rows if row.line in kept),
                    panel=tuple(row for row in problem.panel if row.line in kept),
                )
                found = sure_bounds(some)
                return float((found.low if side == "low" else found.high)[leaf])

            if lines:
                told += 1
                assert abs(again(set(lines)) - end) <= 0.001 + 1e-9
                for line in lines:
                    assert abs(again(set(lines) - {line}) - end) > 0.001 - 1e-9
            else:
                assert trivial or abs(again(set()) - end) <= 0.001 + 1e-9
    assert told >= 60


def test_long_impossible_list_within_ten_seconds() -> None:
    """A list of 400 items with a lost digit: an answer, marked where it may not be the smallest."""
    luck = np.random.default_rng(7)
    label = invented_label(luck, n=400)
    planted = None
    while planted is None or sure_bounds(planted[0]).feasible:
        planted = slipped(label, luck, "digit")
    with within(10.0):
        conflict = smallest_conflict(planted[0])
        near = nearest(planted[0])
    assert conflict is not None
    assert not fits(region(planted[0]).only(conflict.lines))
    assert fits(region(near))
