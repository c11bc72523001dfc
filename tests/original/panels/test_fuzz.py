"""Panels from keys never break: any mapping is read or refused in words."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.nutrients import PANEL_KEYS
from batchwright.original.panels.panel import read_panel
from batchwright.original.panels.records import Panel

KEYS = st.one_of(
    st.sampled_from(
        [
            *PANEL_KEYS,
            "energy_kj",
            "basis",
            "scheme",
            "serving_g",
            "serving",
            "fat_dv",
            "percent_dv",
            "density_g_ml",
            "calories",
            "saturates",
        ]
    ),
    st.text(max_size=15),
)
FIGURES = st.one_of(
    st.integers(0, 2000),
    st.floats(0, 100).map(lambda x: round(x, 2)),
    st.integers(0, 500).map(str),
    st.sampled_from(
        [
            "<1",
            "less than 1 g",
            "trace",
            "1,5",
            "8%",
            "per 100 g",
            "per serving",
            "US",
            "EU",
            "0.5 g (1%)",
            "1573 kJ / 373 kcal",
            "200 mg",
            "4 pieces (27g)",
            "nil",
        ]
    ),
)
ANYTHING = st.one_of(
    FIGURES,
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=30),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
)


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(KEYS, ANYTHING, max_size=12))
def test_any_mapping_is_read_or_refused_in_words(mapping: dict[str, Any]) -> None:
    refused = None
    try:
        check(read_panel(mapping))
    except InputError as error:
        refused = error
    assert refused is None or (refused.faults and all(fault.allowed for fault in refused.faults))


@settings(max_examples=300, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from([*PANEL_KEYS, "energy_kj"]), st.floats(0, 90).map(lambda x: round(x, 2)), max_size=14
    ),
    st.sampled_from(
        [{}, {"basis": "per 100 g"}, {"serving_g": 30}, {"scheme": "EU"}, {"scheme": "US", "serving_g": 45}]
    ),
)
def test_any_figures_make_a_panel(figures: dict[str, Any], rest: dict[str, Any]) -> None:
    check(read_panel({**figures, **rest}))


def check(panel: Panel) -> None:
    for figure in panel.figures:
        assert 0 <= figure.low <= figure.high
    for low, high, line in panel.per_100g().values():
        assert 0 <= low <= high
        assert line
    assert Panel.from_json(json.loads(json.dumps(panel.to_json()))) == panel
