"""Composition as mixed and as finished: mass conserved, doubts carried, impossible losses refused."""

from __future__ import annotations

from dataclasses import replace
from time import process_time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import contents_of
from batchwright.formula.records import Formula, Line, Part
from batchwright.formula.scale import scaled
from tests.formula.invented import line, pier_snaps

ITEMS = ("wheat flour", "butter", "sugar", "egg", "milk", "salt", "cocoa powder", "rum", "honey", "walnuts", "water",
         "a thing nobody knows", "corn starch", "cream cheese")  # fmt: skip


@st.composite
def formulas(draw: st.DrawFn) -> Formula:
    parts = []
    for name in draw(st.sampled_from([("dough",), ("cookie", "filling"), ("cake", "icing", "")])):
        lines = draw(st.lists(st.tuples(st.sampled_from(ITEMS), st.floats(0.5, 900), st.floats(0, 0.3)), min_size=1,
                              max_size=8))  # fmt: skip
        made = [line(item, grams, doubt, "browned" if item == "butter" else "") for item, grams, doubt in lines]
        parts.append(Part(name, (line("wheat flour", 100), *made)))
    return Formula("Pier food", tuple(parts))


@settings(deadline=None, max_examples=60)
@given(formulas())
def test_mass_is_conserved_and_parts_add_up(formula: Formula) -> None:
    found = composition_of(formula)
    assert sum(each.grams for each in found.balance[:-1]) == pytest.approx(found.balance[-1].grams, rel=1e-9)
    assert found.balance[-1].grams == pytest.approx(found.whole.finished_g.likely)
    for field in ("mixed_g", "finished_g"):
        assert sum(getattr(part, field).likely for part in found.parts) == pytest.approx(
            getattr(found.whole, field).likely)  # fmt: skip
    for key in ("fat_g", "sodium_mg", "starch_g", "sugars_g", "protein_g"):
        mixed = found.whole.mixed[key].likely * found.whole.mixed_g.likely
        finished = found.whole.finished[key].likely * found.whole.finished_g.likely
        assert mixed == pytest.approx(finished, rel=1e-9, abs=1e-9), f"{key}: the oven takes water and alcohol alone"
    for table in (found.whole.mixed, found.whole.finished, *(part.finished for part in found.parts)):
        for key, value in table.items():
            assert 0.0 <= value.low <= value.likely <= value.high, key


@settings(deadline=None, max_examples=60)
@given(formulas(), st.floats(0.01, 40))
def test_scaling_leaves_composition_alone(formula: Formula, factor: float) -> None:
    before, after = composition_of(formula).whole, composition_of(scaled(formula, factor)).whole
    assert after.finished_g.likely == pytest.approx(before.finished_g.likely * factor)
    for key, value in before.finished.items():
        other = after.finished[key]
        assert (other.low, other.likely, other.high) == pytest.approx((value.low, value.likely, value.high), rel=1e-6,
                                                                      abs=1e-9)  # fmt: skip


def one_part(*lines: Line, loss: Estimate | None = None) -> Formula:
    return Formula("Pier bread", (Part("bread", lines, loss),))


def test_given_loss_is_water() -> None:
    dough = (line("wheat flour", 500, 0.0), line("water", 320, 0.0), line("salt", 10, 0.0))
    found = composition_of(one_part(*dough, loss=Estimate(12, 11, 13, unit="%")))
    assert found.whole.finished_g.likely == pytest.approx(830 * 0.88)
    gone = found.whole.mixed["water_g"].likely / 100 * 830 - found.whole.finished["water_g"].likely / 100 * 830 * 0.88
    assert gone == pytest.approx(0.12 * 830)
    assert (found.whole.loss_percent.low, found.whole.loss_percent.high) == pytest.approx((11, 13))
    assert not found.notes


def test_a_loss_beyond_the_water_is_a_fault_that_says_what_is_possible() -> None:
    dry = one_part(line("wheat flour", 300), line("butter", 150), line("sugar", 100), loss=Estimate(30, 28, 32))
    with pytest.raises(InputError) as raised:
        composition_of(dry)
    fault = raised.value.faults[0]
    assert fault.field == "bake_loss_percent"
    assert "bread" in fault.hint
    assert "water" in fault.hint


def test_loss_not_given_is_wide_and_said() -> None:
    found = composition_of(pier_snaps())
    assert any("bake loss not given" in note for note in found.notes)
    biscuit, filling = found.parts
    assert biscuit.baked
    assert not filling.baked
    assert filling.loss_percent.likely == 0
    assert biscuit.finished["water_g"].high / biscuit.finished["water_g"].low > 3


def test_doubts_of_amount_and_of_ingredient_both_count() -> None:
    exact = one_part(line("wheat flour", 300, 0.0), line("sugar", 100, 0.0), loss=Estimate(0, 0, 0))
    loose = one_part(line("wheat flour", 300, 0.2), line("sugar", 100, 0.0), loss=Estimate(0, 0, 0))
    widths = [each.high - each.low for each in (composition_of(f).whole.finished["protein_g"] for f in (exact, loose))]
    assert 0 < widths[0] < widths[1]


def test_lines_of_one_ingredient_err_together() -> None:
    split = one_part(line("wheat flour", 150, 0.2), line("wheat flour", 150, 0.2), line("sugar", 100, 0.0))
    whole = one_part(line("wheat flour", 300, 0.2), line("sugar", 100, 0.0))
    first, second = (composition_of(each).whole.finished["starch_g"] for each in (split, whole))
    assert (first.low, first.high) == pytest.approx((second.low, second.high))


def test_unknown_is_wide_and_named_and_unweighed_is_left_out() -> None:
    formula = one_part(line("glimmerdust", 100), Line("salt to taste", "salt", None))
    found = composition_of(formula)
    assert found.whole.finished["fat_g"].high - found.whole.finished["fat_g"].low > 30
    assert any("glimmerdust" in note for note in found.notes)
    assert found.left_out == ("salt to taste",)
    with pytest.raises(InputError, match="amount"):
        composition_of(one_part(Line("salt to taste", "salt", None)))


def test_alcohol_stays_in_the_cold_and_leaves_in_the_oven() -> None:
    cold = Formula("", (Part("icing", (line("rum", 50, 0.0), line("icing sugar", 200, 0.0))),))
    hot = Formula("", (Part("cake", (line("rum", 50, 0.0), line("wheat flour", 200, 0.0), line("milk", 150, 0.0))),))
    kept = [each.finished["alcohol_g"].likely * each.finished_g.likely for each in
            (composition_of(cold).whole, composition_of(hot).whole)]  # fmt: skip
    assert kept[1] < kept[0] / 2


def test_sugar_kinds_starch_and_cocoa() -> None:
    found = composition_of(one_part(line("sugar", 100), line("milk", 100), line("cocoa powder", 50))).whole.mixed
    assert found["sucrose_g"].likely == pytest.approx(100 * 0.998 / 2.5, rel=0.02)
    assert found["lactose_g"].likely == pytest.approx(5.0 / 2.5, rel=0.1)
    assert found["cocoa_solids_g"].likely == pytest.approx(97 * 0.5 / 2.5, rel=0.02)
    assert contents_of("butter").likely[0] > 0


def test_also_lines_count() -> None:
    both = replace(line("butter", 100), also=(line("sugar", 50),))
    assert composition_of(one_part(both)).whole.mixed_g.likely == pytest.approx(150)


def test_json_holds_the_same_figures() -> None:
    found = composition_of(pier_snaps())
    document = found.to_json()
    assert document["whole"]["finished"]["fat_g"]["likely"] == round(found.whole.finished["fat_g"].likely, 4)
    assert [part["name"] for part in document["parts"]] == ["biscuit", "filling"]
    assert document["balance"][0]["what"] == "written"
    assert np.isfinite(document["whole"]["finished_g"]["high"])


def test_a_long_recipe_takes_time_in_proportion() -> None:
    def seconds(count: int) -> float:
        formula = one_part(line("wheat flour", 100), *(line(f"grist {place}", 10.0 + place) for place in range(count)))
        composition_of(formula)  # names looked up once
        best = float("inf")
        for _ in range(3):
            begun = process_time()
            composition_of(formula)
            best = min(best, process_time() - begun)
        return best

    short, long = seconds(20), seconds(600)
    assert short < 0.05, "twenty lines: a few milliseconds on a quiet machine"
    assert long < 90 * short + 0.05, "thirty times the lines, at most three times thirty times the work"
