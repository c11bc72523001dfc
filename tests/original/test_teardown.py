"""Weighed pieces: shares that sum, ranges that are honest, faults told together."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from batchwright.base.errors import InputError
from batchwright.original.small_sample import student_90, student_table
from batchwright.original.teardown import read_teardown
from batchwright.original.teardown_records import TearDown

POCKET: dict[str, Any] = {
    "pieces_g": [21.4, 20.9, 21.2],
    "filling_scraped_g": [8.1, 8.4, 8.2],
    "shell_g": [13.0, 12.6, 12.8],
    "knife_g": 0.2,
    "length_mm": [61.0, 60.4],
    "height_cm": 1.5,
    "filling_brix": 74,
    "shell_moisture_percent": "4,5",
    "layers": 2,
    "colour": "pale rim",
    "counts": {"holes": 6},
}


def test_students_t_agrees_with_the_distribution() -> None:
    for degrees, value in student_table().items():
        assert value == pytest.approx(stats.t.ppf(0.95, degrees), abs=6e-4)
    assert student_90(40) == pytest.approx(stats.t.ppf(0.95, 40), abs=2e-3)


def test_a_torn_down_pocket() -> None:
    found = read_teardown(POCKET)
    assert found.piece_mass_g is not None
    assert found.piece_mass_g.likely == pytest.approx(63.5 / 3)
    filling, shell = found.parts
    assert filling.share_percent.likely == pytest.approx(100 * 24.7 / 63.1)
    assert filling.share_percent.likely + shell.share_percent.likely == pytest.approx(100)
    assert filling.brix is not None
    assert shell.water_percent is not None
    assert (filling.brix.likely, shell.water_percent.likely) == (74, 4.5)
    assert found.sizes_mm["height"].likely == 15
    assert found.counts == {"layers": 2, "holes": 6}
    assert found.notes == ("colour: pale rim",)
    assert TearDown.from_json(json.loads(json.dumps(found.to_json()))) == found


def test_what_stayed_on_the_knife_widens_both_ways() -> None:
    clean, dirty = (read_teardown({**POCKET, "knife_g": knife}).parts[0].share_percent for knife in (0.01, 1.5))
    assert dirty.low < clean.low < clean.high < dirty.high
    # All of it may belong to the filling, or none.
    assert dirty.sure_high is not None
    assert dirty.sure_low is not None
    assert dirty.sure_high >= 100 * (8.23 + 1.5) / (21.03 + 1.5) - 0.1
    assert dirty.sure_low <= 100 * 8.23 / (21.03 + 1.5) + 0.1


def test_one_part_weighed_leaves_the_rest() -> None:
    found = read_teardown(
        {"pieces_g": [6.8, 6.9, 6.7], "wafer_scraped_g": [1.9, 2.0, 1.9], "parts": ["wafer", "cream"]}
    )
    assert [part.name for part in found.parts] == ["wafer", "cream"]
    assert sum(part.share_percent.likely for part in found.parts) == pytest.approx(100)


def test_few_readings_are_wide_and_alike_readings_not_exact() -> None:
    widths = [read_teardown({"pieces_g": [10.0] * n}).piece_mass_g for n in (1, 2, 3, 10)]
    spans = [width.high - width.low for width in widths if width is not None]
    assert spans == sorted(spans, reverse=True)
    assert spans[0] > 2 * spans[2] > 0.5


@pytest.mark.parametrize(("count", "spread"), [(1, 0.04), (2, 0.04), (3, 0.04), (3, 0.02), (6, 0.08), (10, 0.04)])
def test_the_likely_range_covers_nine_of_ten(count: int, spread: float) -> None:
    rng = np.random.default_rng(7)
    inside = 0
    for _ in range(400):
        weights = [round(float(w), 1) for w in 20 * (1 + spread * rng.standard_normal(count))]
        estimate = read_teardown({"pieces_g": weights}).piece_mass_g
        assert estimate is not None
        inside += estimate.low <= 20 <= estimate.high
    assert inside / 400 >= 0.85


def test_parts_that_do_not_add_up_are_told() -> None:
    assert any("not accounted" in note for note in read_teardown({"pieces_g": 20, "a_g": 8, "b_g": 6}).notes)
    assert read_teardown({"pieces_g": 20, "a_g": 15, "b_g": 12}).faults
    assert read_teardown({"pieces_g": [6.8, 68, 6.7]}).faults
    assert read_teardown({"pieces_g": 6, "core_g": 7}).faults


def test_pieces_weighed_together() -> None:
    mass = read_teardown({"pieces": 10, "total_g": 68}).piece_mass_g
    assert mass is not None
    assert mass.likely == 6.8


@pytest.mark.parametrize(
    ("mapping", "fields"),
    [
        ({"pieces_g": [1, -2, 0], "filling_brix": 120}, ["pieces_g[1]", "pieces_g[2]", "filling_brix"]),
        ({"pieces_g": "heavy-ish 5 or 6 g"}, []),
        ({"pieces_g": [None]}, ["pieces_g"]),
        ({"length_mm": float("nan")}, ["length_mm"]),
        ({"counts": {"holes": -1}}, ["holes"]),
        ({"moisture_percent": 101}, ["moisture_percent"]),
        ({"pieces_g": [1] * 20000}, ["pieces_g"]),
    ],
)
def test_bad_readings(mapping: dict[str, Any], fields: list[str]) -> None:
    if not fields:
        assert read_teardown(mapping).notes
        return
    with pytest.raises(InputError) as caught:
        read_teardown(mapping)
    assert [fault.field for fault in caught.value.faults] == fields


masses = st.lists(st.floats(0.05, 500).map(lambda x: round(x, 2)), min_size=1, max_size=6)


@given(masses, masses, masses, st.floats(0, 5))
def test_shares_always_sum_and_ranges_hold_the_likely(
    a: list[float], b: list[float], pieces: list[float], knife: float
) -> None:
    found = read_teardown({"pieces_g": pieces, "crust_g": a, "core_g": b, "knife_g": round(knife, 2)})
    assert sum(part.share_percent.likely for part in found.parts) == pytest.approx(100)
    for part in found.parts:
        share = part.share_percent
        assert share.sure_low is not None
        assert share.sure_high is not None
        assert 0 <= share.sure_low <= share.low <= share.likely <= share.high <= share.sure_high <= 100
        assert share.low < share.high


@given(
    st.dictionaries(
        st.text(max_size=12),
        st.one_of(
            st.none(),
            st.booleans(),
            st.integers(),
            st.floats(),
            st.text(max_size=20),
            st.lists(st.floats(), max_size=3),
        ),
        max_size=5,
    )
)
def test_any_mapping_is_answered_or_refused_in_words(mapping: dict[str, Any]) -> None:
    refused = None
    try:
        read_teardown(mapping)
    except InputError as error:
        refused = error
    assert refused is None or all(fault.field and fault.allowed for fault in refused.faults)
