"""Flour basis, baker's and total percent, changed amounts, merged lines, scaling, versions."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.difference import difference
from batchwright.formula.formula import (
    bakers_percent,
    bakers_table,
    flat_lines,
    flour_g,
    is_flour,
    merged,
    total_g,
    total_percent,
    with_grams,
)
from batchwright.formula.records import Formula, Line, Part, Step, Yield
from batchwright.formula.scale import (
    Pan,
    scaled,
    scaled_to_flour,
    scaled_to_limit,
    scaled_to_mass,
    scaled_to_pans,
    scaled_to_pieces,
    scaled_to_whole_eggs,
    scaled_to_whole_sticks,
)
from tests.formula.invented import line, pier_snaps
from tests.formula.test_composition import formulas


@settings(deadline=None, max_examples=60)
@given(formulas(), st.floats(0.01, 40))
def test_percents_do_not_know_the_batch_size(formula: Formula, factor: float) -> None:
    for before, after in zip(bakers_percent(formula), bakers_percent(scaled(formula, factor)), strict=True):
        assert before.bakers_percent is not None
        assert after.bakers_percent is not None
        for name in ("low", "likely", "high"):
            assert getattr(after.bakers_percent, name) == pytest.approx(getattr(before.bakers_percent, name))
            assert getattr(after.total_percent, name) == pytest.approx(getattr(before.total_percent, name))


@settings(deadline=None, max_examples=60)
@given(formulas(), st.floats(0.01, 40))
def test_scaling_conserves_mass(formula: Formula, factor: float) -> None:
    assert total_g(scaled(formula, factor)).likely == pytest.approx(total_g(formula).likely * factor)
    assert sum(each.total_percent.likely for each in total_percent(formula)) == pytest.approx(100)


@settings(deadline=None, max_examples=40)
@given(formulas())
def test_json_round_trip(formula: Formula) -> None:
    document = formula.to_json()
    again = Formula.from_json(document).to_json()
    for each in (document, again):
        for part in each["parts"]:
            for one in part["lines"]:
                one.pop("doubt_percent")  # reckoned anew from grams that are kept to a hundredth
    assert again == document


@settings(deadline=None, max_examples=40)
@given(formulas())
def test_merging_keeps_mass_and_composition(formula: Formula) -> None:
    one = merged(formula)
    assert total_g(one).likely == pytest.approx(total_g(formula).likely)
    assert composition_of(one).whole.finished_g.likely == pytest.approx(composition_of(formula).whole.finished_g.likely)
    keys = [(each.part, each.line.item, each.line.process) for each in flat_lines(one)]
    assert len(keys) == len(set(keys))


def test_flour_basis_is_as_chosen() -> None:
    amounts = {"wheat flour": 200, "whole wheat flour": 100, "corn starch": 40, "cocoa powder": 60, "almond flour": 50,
               "sugar": 100}  # fmt: skip
    lines = tuple(line(item, grams) for item, grams in amounts.items())
    formula = Formula("", (Part("", lines),))
    assert flour_g(formula).likely == 300
    assert flour_g(formula, ("cocoa",)).likely == 360
    assert flour_g(formula, ("cocoa", "starch", "almond flour")).likely == 450
    sugar = bakers_percent(formula, ("starch",))[-1].bakers_percent
    assert sugar is not None
    assert sugar.likely == pytest.approx(100 * 100 / 340)
    assert not is_flour(lines[4])
    with pytest.raises(InputError, match="gravel"):
        bakers_percent(formula, ("gravel",))


def test_no_flour_is_said_and_percent_of_the_whole_still_stands() -> None:
    caramel = Formula("caramel", (Part("", (line("sugar", 200), line("cream", 100))),))
    with pytest.raises(InputError, match="flour"):
        bakers_percent(caramel)
    table = bakers_table(caramel)
    assert table[0].bakers_percent is None
    assert table[0].total_percent.likely == pytest.approx(200 / 3)
    with pytest.raises(InputError, match="amount"):
        bakers_table(Formula("", (Part("", (Line("salt", "salt", None),)),)))
    with pytest.raises(InputError, match="flour"):
        scaled_to_flour(caramel, 300)


def test_flour_alone_is_100_percent_without_doubt() -> None:
    found = bakers_percent(pier_snaps())
    flour, butter = found[0].bakers_percent, found[1].bakers_percent
    assert flour is not None
    assert (flour.low, flour.high) == pytest.approx((100, 100))
    assert butter is not None
    assert butter.likely == pytest.approx(24)
    doubt = (butter.high - butter.low) / 2 / 24
    assert doubt == pytest.approx(0.05 * 2**0.5, rel=0.02), "two doubts of 5 % in quadrature"


def test_with_grams_changes_what_it_names_and_refuses_nonsense() -> None:
    formula = pier_snaps()
    changed = with_grams(formula, {1: 60, 4: Estimate(4, 3, 5)})
    lines = flat_lines(changed)
    assert lines[1].line.text == "60 g butter"
    assert lines[1].line.process == "browned"
    assert lines[4].line.grams == Estimate(4, 3, 5)
    assert lines[0].line == flat_lines(formula)[0].line
    with pytest.raises(InputError) as raised:
        with_grams(formula, {99: 1.0, 0: -3.0})
    assert len(raised.value.faults) == 2


def test_scaled_to_what_is_asked() -> None:
    formula = replace(pier_snaps(), makes=Yield("20 snaps", 20, 20, "snaps"))
    assert flour_g(scaled_to_flour(formula, 450)).likely == pytest.approx(450)
    assert scaled_to_flour(formula, 450).makes == Yield("30 snaps", 30, 30, "snaps")
    assert composition_of(scaled_to_mass(formula, 1000)).whole.mixed_g.likely == pytest.approx(1000)
    pieces = scaled_to_pieces(formula, 48, 9.5, scrap_percent=5)
    assert composition_of(pieces).whole.mixed_g.likely == pytest.approx(48 * 9.5 / 0.95)
    assert pieces.piece_g == 9.5
    eggs = flat_lines(scaled_to_whole_eggs(formula, 3))[3].line.grams
    assert eggs is not None
    assert eggs.likely == pytest.approx(150)
    sticks = scaled_to_whole_sticks(formula)
    held = sum(each.line.grams.likely for each in flat_lines(sticks) if each.line.item == "butter" and each.line.grams)
    assert held == pytest.approx(2 * 113.4)
    smaller, scarce = scaled_to_limit(formula, {"wheat flour": 900, "butter": 86, "brown sugar": 500})
    assert scarce == "butter"
    assert total_g(smaller).likely == pytest.approx(total_g(formula).likely / 2)


def test_scaled_to_pans() -> None:
    formula = pier_snaps()
    round_pan, square = Pan("round", 20), Pan("rectangle", 20)
    assert total_g(scaled_to_pans(formula, (round_pan,), (square,))).likely == pytest.approx(920 * 4 / pi)
    deeper = Pan("rectangle", 20, 20, 2)
    assert total_g(scaled_to_pans(formula, (square,), (deeper, deeper), "volume")).likely == pytest.approx(920 * 4)


@pytest.mark.parametrize(
    "bad",
    [
        lambda f: scaled(f, 0),
        lambda f: scaled(f, float("nan")),
        lambda f: scaled_to_pieces(f, 0),
        lambda f: scaled_to_pieces(f, 12),
        lambda f: scaled_to_whole_eggs(f, -1),
        lambda f: scaled_to_limit(f, {}),
        lambda f: scaled_to_limit(f, {"saffron": 3}),
        lambda f: scaled_to_pans(f, (), (Pan("heart", 3),)),
        lambda f: scaled_to_mass(f, -5),
    ],
)
def test_nonsense_is_refused(bad) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError):
        bad(pier_snaps())


def test_difference_in_words() -> None:
    before = pier_snaps()
    assert difference(before, before) == ()
    assert difference(before, scaled(before, 2))[0].words.startswith("the whole batch times 2, from 920 g to 1840 g")
    after = with_grams(before, {1: 60, 2: 140})
    dough = Part("biscuit", (*after.parts[0].lines[:-1], line("honey", 20)), Estimate(12, 11, 13))
    after = replace(after, parts=(dough, after.parts[1]), method=(Step("Bake longer."),))
    changes = difference(before, after)
    words = [each.words for each in changes]
    assert words[0] == "semisweet chocolate left out in biscuit: 50.0 g; of flour 16.7 %"
    assert "honey added in biscuit: 20.0 g; of flour 6.7 %" in words
    assert "butter (browned) in biscuit from 72.0 g to 60.0 g (-12.0 g, -17 %); of flour 24.0 % to 20.0 %" in words
    assert "bake loss of biscuit from not given to 12.0 %" in words
    assert words[-1] == "method: 1 steps written anew, 1 taken out"
    assert changes[0].to_json()["before_g"] == 50.0
