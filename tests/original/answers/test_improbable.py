"""Labels that are possible but far from usual: the slip is named; consistent labels raise no alarm."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from batchwright.cli.decode import answer_text
from batchwright.original.answers.conflicts import doubt_about
from batchwright.original.answers.improbable import FAR, improbable
from batchwright.original.decode import decode
from batchwright.original.labels.file import label_from_text
from batchwright.original.records import Conflict
from batchwright.original.region.bounds import region, sure_bounds
from batchwright.original.region.problem import PanelRow, Problem
from batchwright.original.region.strain import fits
from batchwright.original.sampling.plausible import lean
from batchwright.original.sampling.prior import Prior
from tests.original.invented import Invented, invented_label, panel_row


def usual_of(label: Invented, spread: float = 0.3) -> Prior:
    """Return a prior that knows the food well: its shares within a spread of their logarithm."""
    shares = label.truth[: label.problem.n]
    return Prior(np.log(np.maximum(shares, 1e-4)), np.full(len(shares), spread), 8.0, 0.5, 0.1, 0.1)


def vague(problem: Problem) -> Problem:
    """Return a label of which only the widest intervals are left: much is possible."""
    panel = tuple(replace(row, low=0.6 * row.low, high=1.4 * row.high + 1.0) for row in problem.panel)
    return replace(problem, panel=panel)


def swapped(problem: Problem, a: int, b: int) -> Problem:
    """Return the label with two items in each other's place."""
    exchange = {a: b, b: a}
    rows = tuple(
        replace(row, coefficients={exchange.get(k, k): v for k, v in row.coefficients.items()}) for row in problem.rows
    )
    return replace(problem, rows=rows)


def test_usual_labels_raise_no_alarm() -> None:
    """Labels printed from a formula that lies where the prior expects it."""
    luck = np.random.default_rng(3)
    for number in range(60):
        label = invented_label(luck, n=4 + number % 6)
        assert doubt_about(label.problem, usual_of(label)) is None
        assert doubt_about(vague(label.problem), usual_of(label)) is None


def test_possible_but_improbable_swaps_are_named() -> None:
    """First and last of the list exchanged on a label vague enough to allow it: most are named, with both names."""
    luck = np.random.default_rng(8)
    possible = named = 0
    for _ in range(70):
        label = invented_label(luck, n=5)
        problem = swapped(vague(label.problem), 0, 4)
        if not fits(region(problem)):
            continue
        possible += 1
        found = doubt_about(problem, usual_of(label))
        if found is None:
            continue
        assert found.possible
        assert found.check.startswith("possible, but")
        assert found.slips[0].score >= FAR
        first, last = problem.names[4], problem.names[0]
        named += first in found.check and last in found.check and "swapped" in found.check
    assert possible >= 20
    assert named >= 0.7 * possible


def test_a_possible_lost_digit_is_named() -> None:
    """The last digit of the sodium lost, on a label that says little else: the figure is named with what it was."""
    luck = np.random.default_rng(12)
    possible = named = 0
    for _ in range(240):
        label = invented_label(luck, n=5)
        text = label.printed["sodium_mg"]
        if len(text) < 2:
            continue
        row = panel_row("sodium_mg", text[:-1], label.serving_g)
        problem = replace(label.problem, panel=(row,))
        if not fits(region(problem)):
            continue
        possible += 1
        found = doubt_about(problem, usual_of(label, 0.15))
        named += found is not None and f"{row.line}: was a digit" in found.check
    assert possible >= 12
    assert named >= 0.7 * possible


def test_only_impossible_labels_are_said_to_contradict_themselves() -> None:
    """An impossible label stays one for `smallest_conflict`; its slips are ranked under the prior."""
    luck = np.random.default_rng(2)
    label = invented_label(luck, n=6)
    energy = next(row for row in label.problem.panel if row.nutrient == "energy_kcal")
    wrong = PanelRow("energy_kcal", energy.low * 4.184, energy.high * 4.184, energy.line)
    problem = replace(label.problem, panel=tuple(wrong if row is energy else row for row in label.problem.panel))
    assert improbable(problem, usual_of(label)) is None
    found = doubt_about(problem, usual_of(label))
    assert found is not None
    assert not found.possible


def test_lean_is_least_at_what_is_usual() -> None:
    """The strain of a region that holds the prior's centre is none; it grows as the region leaves it."""
    luck = np.random.default_rng(4)
    for _ in range(10):
        label = invented_label(luck, n=5)
        prior = usual_of(label)
        here = lean(label.problem, prior)
        assert here is not None
        assert here.strain < 0.3
        bare = lean(replace(label.problem, rows=(), panel=()), prior)
        assert bare is not None
        assert bare.strain <= here.strain + 0.1
        away = lean(label.problem, replace(prior, mean=prior.mean[::-1].copy()))
        assert away is not None
        assert away.strain > here.strain


def test_lean_agrees_with_a_search_by_hand() -> None:
    """Two ingredients, one share free between two ends: the least penalty on a fine grid."""
    label = invented_label(np.random.default_rng(9), n=2)
    problem = replace(label.problem, panel=())
    prior = Prior(np.log(np.array([0.2, 0.8])), np.array([0.3, 0.4]), 8.0, 0.9, 0.0, 0.1)
    ends = sure_bounds(problem)
    first = np.linspace(max(float(ends.low[0]), 1e-6), min(float(ends.high[0]), 1.0 - 1e-6), 20001)
    off = (np.log(np.stack([first, 1.0 - first])) - prior.mean[:, None]) / prior.sd[:, None]
    least = float((4.5 * np.log1p(off**2 / 8.0)).sum(axis=0).min())
    found = lean(problem, prior)
    assert found is not None
    assert abs(found.strain - least) < 0.05


def test_the_cook_is_told_that_it_is_possible() -> None:
    """The table of a label that is possible but improbable does not claim that nothing fits it."""
    text = 'statement = "wheat flour, sugar, butter"\nserving_g = 40\n[panel]\nenergy_kcal = 190\nfat_g = 9\n'
    answer = decode(label_from_text(text))
    assert answer.consistent
    assert answer.conflicts == ()
    assert "LOOK AT THIS LABEL AGAIN" not in answer_text(answer)
    line = "order: wheat flour before sugar"
    words = "possible, but far from how such foods are made: order: are sugar and wheat flour swapped?"
    doubted = replace(answer, conflicts=(Conflict((line,), words),))
    said = answer_text(doubted)
    assert "LOOK AT THIS LABEL AGAIN" in said
    assert words in said
    assert line in said
    assert "NOTHING FITS" not in said
    assert doubted.to_json()["consistent"] is True
    assert doubted.to_json()["conflicts"] == [{"lines": [line], "check": words}]
