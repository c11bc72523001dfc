"""Browned, reduced, soaked, toasted, drained: mass conserved, marks kept, nonsense refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import CONTENT_KEYS, PLACE, contents_of
from batchwright.formula.processes import changed, figures_of, mark_times, processed
from batchwright.formula.records import PROCESSES, Formula, Line, Part
from tests.formula.invented import line

FOODS = (
    "butter",
    "apple juice",
    "raisins",
    "almonds",
    "chickpeas",
    "milk, whole",
    "rum",
    "cream",
    "honey",
    "wheat flour",
)


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from([each for each in PROCESSES if each]),
    st.sampled_from(FOODS),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_what_goes_in_comes_out_or_is_lost(process: str, food: str, first: float, second: float) -> None:
    contents = contents_of(food).likely
    figures = dict.fromkeys(
        ("water_lost_fraction", "liquid_fraction", "water_gained_fraction", "mass_kept_fraction"), first
    )
    after = changed(process, contents, {**figures, "pan_fraction": second})
    gained, lost = sum(after.gained_g.values()), sum(after.lost_g.values())
    assert 1.0 + gained == pytest.approx(after.mixed_g + lost, abs=1e-12)
    assert after.mixed_g >= -1e-12
    assert (after.contents >= -1e-12).all()
    water_before, water_after = contents[PLACE["water_g"]], after.contents[PLACE["water_g"]]
    left_behind = after.lost_g.get("left in the pan", 0.0)
    assert water_before + gained - after.lost_g.get("water", 0.0) >= water_after - 1e-12
    solids = 1.0 - contents[PLACE["water_g"]] - contents[PLACE["alcohol_g"]] - after.lost_g.get("sugars", 0.0)
    solids_after = after.mixed_g - after.contents[PLACE["water_g"]] - after.contents[PLACE["alcohol_g"]]
    assert solids - left_behind - 1e-9 <= solids_after <= solids + 1e-9, "solids stay but for what sticks to the pan"


def test_browned_butter_is_fat_and_solids() -> None:
    found = processed(line("butter", 113.4, 0.0, "browned"))
    assert found.gained_g == {}
    assert set(found.lost_g) == {"water", "left in the pan"}
    assert found.mixed_g.low < found.mixed_g.likely < found.mixed_g.high
    assert found.written_g.likely == pytest.approx(found.mixed_g.likely + sum(found.lost_g.values()))


def test_reduced_to_a_mass_to_brix_and_by_half() -> None:
    to_mass = processed(line("apple juice", 200, 0.0, "reduced", "reduced to 60 g"))
    assert to_mass.mixed_g.likely == pytest.approx(60.0)
    assert to_mass.lost_g == {"water": pytest.approx(140.0)}
    contents = contents_of("apple juice").likely
    to_brix = processed(line("apple juice", 200, 0.0, "reduced", "boiled down to 70 Brix"))
    assert to_brix.mixed_g.likely == pytest.approx(200 * (1 - contents[PLACE["water_g"]]) / 0.70)
    assert processed(line("apple juice", 200, 0.0, "reduced", "reduced by half")).mixed_g.likely == pytest.approx(100)
    unsaid = processed(line("apple juice", 200, 0.0, "reduced"))
    assert unsaid.mixed_g.high - unsaid.mixed_g.low > 50, "nothing says how far: wide"


def test_a_mark_below_the_solids_is_refused_with_what_is_possible() -> None:
    for mark in ("reduced to 10 g", "reduced to 300 g", "to 5 Brix"):
        with pytest.raises(InputError) as raised:
            processed(line("apple juice", 200, 0.0, "reduced", mark))
        fault = raised.value.faults[0]
        assert fault.field == "reduced"
        assert "apple juice" in fault.hint
        assert any(letter.isdigit() for letter in fault.allowed)


def test_a_scaled_reduction_keeps_its_ratio() -> None:
    doubled = line(
        "apple juice", 400, 0.0, "reduced", mark_times(line("apple juice", 200, 0, "reduced", "reduced to 60 g"), 2)
    )
    assert processed(doubled).mixed_g.likely == pytest.approx(120)
    from_text = Line("200 g juice, reduced to 60 g", "apple juice", Estimate(200, 200, 200), process="reduced")
    assert mark_times(from_text, 2) == "reduced to 120 g"


def test_alcohol_boils_off_first() -> None:
    found = processed(line("rum", 100, 0.0, "reduced", "reduced to 70 g"))
    assert found.lost_g["alcohol"] == pytest.approx(30, abs=4)
    assert found.lost_g.get("water", 0.0) < 1


def test_draining_takes_sugar_along_and_soaking_brings_water() -> None:
    contents = contents_of("peaches").likely
    drained = changed("drained", contents, {"liquid_fraction": 0.4})
    assert drained.contents[PLACE["sugars_g"]] < contents[PLACE["sugars_g"]]
    assert drained.contents[PLACE["fiber_g"]] == contents[PLACE["fiber_g"]]
    soaked = processed(line("raisins", 100, 0.0, "soaked"))
    assert soaked.mixed_g.likely == pytest.approx(100 + soaked.gained_g["water"])


def test_no_process_leaves_everything() -> None:
    contents = contents_of("butter")
    assert figures_of(line("butter", 1), contents) == {}
    same = changed("", contents.likely, {})
    assert np.array_equal(same.contents, contents.likely)
    assert same.mixed_g == 1.0
    assert len(same.contents) == len(CONTENT_KEYS)


def test_unknown_process_and_no_grams_are_refused() -> None:
    with pytest.raises(InputError, match="browned, drained"):
        processed(line("butter", 100, 0.0, "fried"))
    with pytest.raises(InputError, match="amount"):
        processed(Line("butter", "butter", None, process="browned"))


def test_butter_measured_after_browning_holds_no_water() -> None:
    after = composition_of(Formula("", (Part("", (line("butter", 100, 0.0, "", "browned"),)),))).whole
    named = composition_of(Formula("", (Part("", (line("brown butter", 100, 0.0),)),))).whole
    before = composition_of(Formula("", (Part("", (line("butter", 100, 0.0, "browned", "browned"),)),))).whole
    assert after.mixed_g.likely == 100
    assert before.mixed_g.likely < 83
    for each in (after, named):
        assert each.mixed["water_g"].likely == pytest.approx(0.0)
        assert each.mixed["fat_g"].likely == pytest.approx(before.mixed["fat_g"].likely, rel=1e-6)
