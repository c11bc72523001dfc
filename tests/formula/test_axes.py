"""Axes and the linear maps behind them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.formula.axes import NUTRIENT_AXES, axes_of, class_group, class_groups, matrix_of
from batchwright.formula.composition import composition_of
from batchwright.formula.formula import flat_lines, with_grams
from batchwright.formula.records import Formula, Part
from batchwright.pantry.ingredient import classes
from tests.formula.invented import line, pier_snaps
from tests.formula.test_composition import formulas


@settings(deadline=None, max_examples=60)
@given(formulas())
def test_matrix_gives_the_axes(formula: Formula) -> None:
    matrix = matrix_of(formula)
    flat = flat_lines(formula)
    grams = np.array([flat[place].line.grams.likely for place in matrix.at])  # type: ignore[union-attr]
    values = dict(zip(matrix.keys, matrix.values(grams), strict=True))
    for axis in axes_of(formula):
        assert values[axis.key] == pytest.approx(axis.estimate.likely, rel=1e-9, abs=1e-9), axis.key


def test_matrix_holds_while_amounts_move() -> None:
    formula = pier_snaps()
    matrix = matrix_of(formula)
    moved = with_grams(formula, {1: 100.0, 2: 90.0, 8: 260.0})
    grams = np.array([each.line.grams.likely for each in flat_lines(moved)])  # type: ignore[union-attr]
    values = dict(zip(matrix.keys, matrix.values(grams), strict=True))
    for axis in axes_of(moved):
        assert values[axis.key] == pytest.approx(axis.estimate.likely, rel=1e-9, abs=1e-9), axis.key


def test_a_line_of_no_grams_has_its_column() -> None:
    formula = Formula("", (Part("filling", (line("butter", 100), line("sugar", 200), line("cocoa powder", 0))),))
    matrix = matrix_of(formula, ["fat_g", "class:cocoa and chocolate", "class:egg"])
    assert matrix.tops[1].tolist() == [0, 0, 1]
    assert not matrix.tops[2].any()
    assert matrix.values(np.array([100.0, 200.0, 30.0]))[1] == pytest.approx(100 * 30 / 330)


def test_axes_are_what_they_say() -> None:
    formula = pier_snaps()
    axes = {axis.key: axis for axis in axes_of(formula)}
    whole = composition_of(formula).whole
    assert axes["fat_g"].estimate == whole.finished["fat_g"]
    assert axes["class:flour"].estimate.likely == pytest.approx(100 * 300 / whole.finished_g.likely)
    browned = axes["class:fat"].estimate.likely * whole.finished_g.likely / 100
    assert 155 < browned < 161, "72 g of butter browned is about 58.5 g, and 100 g as it is"
    shares = [axis.estimate.likely for axis in axes.values() if axis.kind == "part"]
    assert sum(shares) == pytest.approx(100)
    assert [axis.key for axis in axes.values() if axis.kind == "nutrient"] == list(NUTRIENT_AXES)


def test_every_class_of_the_shelf_has_a_group() -> None:
    assert {class_group(kind) for kind in classes()} <= set(class_groups())
    assert class_group("flour") == class_group("whole flour") == "flour"
    assert class_group(None) == class_group("no such class") == "other"


@settings(deadline=None, max_examples=60)
@given(st.floats(0.05, 20))
def test_axes_do_not_know_the_batch_size(factor: float) -> None:
    formula = pier_snaps()
    matrix = matrix_of(formula)
    grams = np.array([each.line.grams.likely for each in flat_lines(formula)])  # type: ignore[union-attr]
    assert matrix.values(grams * factor) == pytest.approx(matrix.values(grams))
