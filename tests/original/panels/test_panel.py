"""Panels from keys: spellings, schemes, servings, percentages, sums."""

from __future__ import annotations

import json
from typing import Any

import pytest

from batchwright.base.errors import InputError
from batchwright.base.nutrients import COMPOSITION_KEYS
from batchwright.original.panels.panel import read_panel
from batchwright.original.panels.records import Panel

HARBOUR_CRISPS: dict[str, Any] = {
    "serving": "5 crisps (31g)",
    "calories": 150,
    "total_fat_g": 6,
    "sat fat": "2.5 g",
    "trans_fat_g": 0,
    "cholesterol": "<5 mg",
    "sodium_mg": 140,
    "total_carb_g": 22,
    "dietary fiber": "less than 1 g",
    "total_sugars_g": 9,
    "added_sugars_g": 9,
    "protein_g": 2,
    "calcium_mg": 10,
    "iron_mg": 0.9,
    "potassium_mg": 40,
}
MILL_SLICE: dict[str, Any] = {
    "per": "100 g",
    "energy_kJ": 1651,
    "energy_kcal": 393,
    "fat_g": 12,
    "saturates_g": "5,6",
    "carbohydrate_g": 63,
    "sugars_g": 31,
    "fibre_g": 3.2,
    "protein_g": 6.1,
    "salt_g": 0.42,
}


def figure(panel: Panel, nutrient: str) -> tuple[float, float]:
    found = panel.figure(nutrient)
    assert found is not None
    return found.low, found.high


def test_american_panel() -> None:
    panel = read_panel(HARBOUR_CRISPS)
    assert (panel.scheme, panel.basis) == ("US", "per serving")
    assert (panel.serving_g, panel.serving_low_g, panel.serving_high_g) == (31, 30.5, 31.5)
    assert figure(panel, "saturated_fat_g") == (2.25, 2.75)
    assert figure(panel, "cholesterol_mg") == (2, 5)
    assert figure(panel, "sodium_mg") == (137.5, 145)
    assert figure(panel, "fiber_g") == (0, 1)
    assert panel.faults == ()
    low, high, line = panel.per_100g()["fat_g"]
    assert low == pytest.approx(5.5 / 31.5 * 100)
    assert high == pytest.approx(6.5 / 30.5 * 100)
    assert line == "fat 6 g"


def test_european_panel() -> None:
    panel = read_panel(MILL_SLICE)
    assert (panel.scheme, panel.basis, panel.faults) == ("EU", "per 100 g", ())
    assert figure(panel, "saturated_fat_g") == (5.55, 5.65)
    found = panel.per_100g()
    assert set(found) <= set(COMPOSITION_KEYS)
    assert found["sodium_mg"][:2] == pytest.approx((415 / 2.5, 425 / 2.5))
    # A European carbohydrate figure leaves fiber out; total carbohydrate holds it.
    assert found["carbohydrate_g"][:2] == pytest.approx((62.5 + 3.15, 63.5 + 3.25))
    assert found["energy_kcal"][0] >= 392.5
    assert found["energy_kcal"][1] <= 393.5


def test_unprinted_fiber_is_allowed_for() -> None:
    panel = read_panel({key: value for key, value in MILL_SLICE.items() if key != "fibre_g"})
    low, high, _ = panel.per_100g()["carbohydrate_g"]
    assert low == 62.5
    assert 75 < high <= 100


@pytest.mark.parametrize("mapping", [HARBOUR_CRISPS, MILL_SLICE, {}, {"fat_g": 5.5, "scheme": "US", "serving_g": 30}])
def test_json_round_trip(mapping: dict[str, Any]) -> None:
    panel = read_panel(mapping)
    assert Panel.from_json(json.loads(json.dumps(panel.to_json()))) == panel


@pytest.mark.parametrize(
    ("key", "value", "nutrient", "ends"),
    [
        ("fat_g", "1,5", "fat_g", (1.25, 1.75)),
        ("Fat (g)", "0.5 g", "fat_g", (0.5, 0.75)),
        ("kcal", 120, "energy_kcal", (115, 125)),
        ("fat_g", "1500 mg", "fat_g", (1.25, 1.75)),
        ("salt", "400mg", "salt_g", (0.3995, 0.4005)),
        ("sodium", "0.2 g", "sodium_mg", (150, 250)),
        ("protein", "<1", "protein_g", (0, 1)),
        ("protein", "trace", "protein_g", (0, 1)),
        ("sugars_g", "nil", "sugars_g", (0, 0.5)),
        ("calories", "1,200", "energy_kcal", (1195, 1205)),
        ("cholesterol_mg", 5, "cholesterol_mg", (2.5, 7.5)),
        ("sugars", "about 8 g", "sugars_g", (7.5, 8.5)),
        ("carbohydrate_g", "12 g (4%)", "carbohydrate_g", (11.5, 12.5)),
    ],
)
def test_values_and_spellings(key: str, value: Any, nutrient: str, ends: tuple[float, float]) -> None:
    panel = read_panel({key: value, "scheme": "US", "serving_g": 500})
    assert figure(panel, nutrient) == pytest.approx(ends)


@pytest.mark.parametrize(
    ("nutrient", "printed", "lawful"),
    [
        ("energy_kcal", 55, "60"),
        ("energy_kcal", 107, "110"),
        ("fat_g", 5.5, "6"),
        ("sodium_mg", 145, "150"),
    ],
)
def test_unlawful_prints_are_kept_and_flagged(nutrient: str, printed: float, lawful: str) -> None:
    panel = read_panel({nutrient: printed, "scheme": "US", "serving_g": 40})
    found = panel.figure(nutrient)
    assert found is not None
    assert not found.lawful
    assert found.low < printed < found.high
    assert nutrient in panel.per_100g()
    fault = next(fault for fault in panel.faults if fault.field == nutrient)
    assert lawful in fault.hint


def test_a_converted_figure_carries_the_doubt_of_its_serving() -> None:
    # 7 g fat, 4 g saturated, 19 g carbohydrate, 11 g sugars, 2 g protein in 30 g, stored per 100 g.
    stored = {
        "basis": "per 100 g",
        "fat_g": 23.33,
        "saturated_fat_g": 13.33,
        "carbohydrate_g": 63.33,
        "sugars_g": 36.67,
        "protein_g": 6.67,
        "sodium_mg": 250.0,
    }
    for mapping in (stored, {**stored, "serving_g": 30}):
        found = read_panel(mapping).per_100g()
        assert found["fat_g"][:2] == pytest.approx((6.5 / 30.5 * 100, 7.5 / 29.5 * 100))
        assert found["protein_g"][:2] == pytest.approx((1.5 / 30.5 * 100, 2.5 / 29.5 * 100))


def test_a_european_panel_is_not_taken_for_a_converted_one() -> None:
    panel = read_panel(
        {
            "basis": "per 100 g",
            "fat_g": 25.7,
            "saturated_fat_g": 12.3,
            "carbohydrate_g": 59.0,
            "sugars_g": 41.8,
            "fiber_g": 1.4,
            "protein_g": 5.1,
            "salt_g": 0.55,
        }
    )
    assert panel.scheme == "EU"
    assert figure(panel, "fat_g") == pytest.approx((25.65, 25.75))
    assert not any("converted" in note for note in panel.notes)


def test_stored_zeros_show_no_tenths() -> None:
    panel = read_panel({"basis": "per 100 g", "fat_g": 8.0, "carbohydrate_g": 78.0, "protein_g": 6.0, "salt_g": 1.0})
    assert figure(panel, "fat_g") == (7.5, 8.5)
    typed = read_panel({"basis": "per 100 g", "fat_g": "8.0", "carbohydrate_g": 78, "salt_g": 1})
    assert figure(typed, "fat_g") == pytest.approx((7.95, 8.05))


def test_percentages_narrow() -> None:
    panel = read_panel(
        {"fat_g": "8 g (11%)", "sodium_mg": 140, "sodium_percent_dv": 6, "scheme": "US", "serving_g": 40}
    )
    assert figure(panel, "fat_g") == pytest.approx((8.19, 8.5))
    assert figure(panel, "sodium_mg") == (137.5, 145)
    assert panel.edition == "2016"


def test_percentages_from_before_2016() -> None:
    panel = read_panel(
        {
            "fat_g": 7,
            "fat_dv": 11,
            "carbohydrate_g": 27,
            "carbohydrate_dv": 9,
            "sodium_mg": 140,
            "sodium_dv": 6,
            "calcium": "2%",
            "scheme": "US",
            "serving_g": 40,
        }
    )
    assert panel.edition == "before 2016"
    assert figure(panel, "fat_g") == (6.5, 7.5)
    assert figure(panel, "calcium_mg")[1] == 30  # 2 % of 1000 mg, to the middle of 2 and 4 %
    assert not panel.faults


def test_a_percentage_that_clashes_is_told() -> None:
    panel = read_panel({"fat_g": 8, "fat_dv": 31, "scheme": "US", "serving_g": 40})
    assert figure(panel, "fat_g") == (7.5, 8.5)
    assert panel.faults[0].field == "fat_g"


@pytest.mark.parametrize(
    ("change", "field", "word"),
    [
        ({"energy_kcal": 1651, "energy_kJ": None}, "energy_kcal", "kJ"),
        ({"saturates_g": 21}, "saturated_fat_g", "digit"),
        ({"sugars_g": 81}, "sugars_g", "digit"),
        ({"fat_g": 120}, "fat_g", "Left out"),
        ({"energy_kJ": 393, "energy_kcal": 1651}, "energy_kj", "changed places"),
        ({"energy_kJ": 6651, "energy_kcal": None}, "energy_kj", ""),
    ],
)
def test_sums_tell_of_slips(change: dict[str, Any], field: str, word: str) -> None:
    panel = read_panel({**MILL_SLICE, **change})
    hints = [fault.hint for fault in panel.faults if fault.field == field]
    assert hints, panel.faults
    assert any(word in hint for hint in hints)
    for low, high, _ in panel.per_100g().values():
        assert 0 <= low <= high


def test_ten_times_the_serving_is_noticed() -> None:
    assert read_panel({**HARBOUR_CRISPS, "serving": "5 crisps (3.1g)"}).faults


def test_figures_per_100_ml_allow_for_density() -> None:
    wide = read_panel({"basis": "per 100 ml", "sugars_g": 10, "salt_g": 0.1}).per_100g()["sugars_g"]
    weighed = read_panel({"basis": "per 100 ml", "sugars_g": 10, "salt_g": 0.1, "density_g_ml": 1.04}).per_100g()[
        "sugars_g"
    ]
    assert wide[0] < weighed[0] < weighed[1] < wide[1]


def test_a_serving_without_weight_says_so() -> None:
    panel = read_panel({"basis": "per serving", "fat_g": 5, "scheme": "US"})
    assert panel.per_100g() == {}
    assert panel.faults[-1].field == "serving_g"


def test_misspelt_keys_are_told() -> None:
    panel = read_panel({"protien_g": 5, "salt_g": 1})
    assert "protein_g" in panel.faults[0].hint


@pytest.mark.parametrize(
    ("mapping", "fields"),
    [
        ({"fat_g": -1, "serving_g": 0, "salt_g": "lots"}, ["fat_g", "serving_g", "salt_g"]),
        ({"fat_g": float("nan")}, ["fat_g"]),
        ({"fat_g": [1, 2]}, ["fat_g"]),
        ({"fat_g": True}, ["fat_g"]),
        ({"fat_g": 1e12}, ["fat_g"]),
        ({"fat_g": "−3"}, ["fat_g"]),
        ({"fat_g": "🍪"}, ["fat_g"]),
        ({"serving_g": "0 g"}, ["serving_g"]),
    ],
)
def test_what_cannot_be_is_refused_together(mapping: dict[str, Any], fields: list[str]) -> None:
    with pytest.raises(InputError) as caught:
        read_panel(mapping)
    assert [fault.field for fault in caught.value.faults] == fields


@pytest.mark.parametrize("mapping", [{}, {"fat_g": ""}, {"salt_g": 0.4}, {"energy": "1573 kJ / 373 kcal"}])
def test_little_is_still_a_panel(mapping: dict[str, Any]) -> None:
    read_panel(mapping).per_100g()


@pytest.mark.parametrize(("key", "given", "words"), [
    ("sodium_mg", "3 stone", "'stone' is no unit known here"), ("fat_g", "3 buckets", "'buckets' is no unit"),
    ("fat_g", "3 kcal", "which line of the panel"), ("energy_kcal", "3 g", "which line of the panel"),
    ("fat_g", "2/3", "is no unit known here"),
])  # fmt: skip
def test_a_unit_that_cannot_be_is_refused_with_the_units_known(key: str, given: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        read_panel({key: given, "protein_g": 5})
    assert caught.value.faults[0].field == key
    assert caught.value.faults[0].value == given
    assert words in (caught.value.faults[0].hint or "")


@pytest.mark.parametrize("given", ["3 g", "3g", "3 (g)", "3 g per serving", "3 g (4 %)", "about 3 g", "3 approx."])
def test_a_figure_with_words_beside_it_is_read(given: str) -> None:
    assert read_panel({"fat_g": given, "protein_g": 5}).figure("fat_g") is not None


def test_a_serving_in_cups_or_biscuits_weighs_nothing_known() -> None:
    for given in ("2/3 cup", "4 biscuits", "30 stone"):
        panel = read_panel({"serving": given, "fat_g": 3})
        assert panel.serving_g is None
        assert "Weigh one serving" in "; ".join(fault.hint or "" for fault in panel.faults)
    assert read_panel({"serving": "2/3 cup (55 g)", "fat_g": 3}).serving_g is not None
