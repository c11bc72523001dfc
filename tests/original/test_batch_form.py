"""A record of the benchmark form answered: an invented shortbread whose truth is known."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.original.batch_form import answer_case

KEYS = ("calories", "total_fat", "saturated_fat", "total_carbohydrate", "dietary_fiber", "total_sugars", "protein",
        "cholesterol", "sodium", "calcium", "iron", "potassium")  # fmt: skip
FOODS = {  # kind, water and figures per 100 g in the order of KEYS: USDA SR Legacy 20081, 1145, 19335, 2047, rounded
    "white flour": ("flour", 11.9, (364, 1.0, 0.2, 76.3, 2.7, 0.3, 10.3, 0, 2, 15, 4.6, 107)),
    "unsalted butter": ("butter", 16.2, (717, 81.1, 50.5, 0.1, 0, 0.1, 0.9, 215, 11, 24, 0, 24)),
    "white sugar": ("sugar", 0.0, (387, 0, 0, 100, 0, 99.8, 0, 0, 1, 1, 0, 2)),
    "table salt": ("salt", 0.2, (0, 0, 0, 0, 0, 0, 0, 0, 38758, 24, 0.3, 8)),
}
TRUTH = {"white flour": 0.5, "unsalted butter": 0.33, "white sugar": 0.166, "table salt": 0.004}
LOSS = 0.08


def record(widths: float = 0.04, doubt: float = 0.0) -> dict[str, object]:
    """The shortbread with each panel figure known to plus or minus `widths` of itself, by plain arithmetic."""
    amounts = {
        key: sum(TRUTH[name] * FOODS[name][2][at] for name in TRUTH) / (1 - LOSS) * 0.3 for at, key in enumerate(KEYS)
    }
    panel = {
        key: {"printed": "", "low": value * (1 - widths), "high": value * (1 + widths) + 1e-6}
        for key, value in amounts.items()
    }
    items = [
        {"name": name, "kind": kind, "group": "ordered", "water_g": water,
         "per_100g": dict(zip(KEYS, row, strict=True)),
         **({"composition_sd": doubt} if doubt else {})}
        for name, (kind, water, row) in FOODS.items()
    ]  # fmt: skip
    return {"id": "x", "name": "Shortbread", "category": "cookies", "serving_g": 30, "n_ordered": 4,
            "minor_max_share": None, "water_loss_max": 0.3, "panel": panel, "ingredients": items}  # fmt: skip


@pytest.mark.parametrize("doubt", [0.0, 0.075])
def test_truth_lies_in_the_ranges(doubt: float) -> None:
    """Sure ranges hold the truth, likely values come within 2 points, and they add up."""
    answer = answer_case(record(doubt=doubt))
    for item in answer["ingredients"]:
        assert item["min"] - 1e-6 <= TRUTH[item["name"]] <= item["max"] + 1e-6
        assert abs(item["likely"] - TRUTH[item["name"]]) < 0.02
        assert item["min"] - 1e-6 <= item["low"] <= item["high"] <= item["max"] + 1e-6 or doubt
    assert sum(item["likely"] for item in answer["ingredients"]) == pytest.approx(1.0, abs=1e-5)


def test_narrower_panel_narrows_the_sure_range() -> None:
    wide, narrow = (answer_case(record(widths))["ingredients"] for widths in (0.08, 0.02))
    for one, other in zip(wide, narrow, strict=True):
        assert other["max"] - other["min"] <= one["max"] - one["min"] + 1e-7


def test_contradicting_panel_is_still_answered() -> None:
    """Ten times the fat fits no formula; an answer comes all the same."""
    case = record()
    case["panel"]["total_fat"] = {"printed": "", "low": 95.0, "high": 96.0}  # type: ignore[index]
    assert len(answer_case(case)["ingredients"]) == 4


def test_same_record_same_digits() -> None:
    one, other = answer_case(record()), answer_case(record())
    assert one["ingredients"] == other["ingredients"]


def test_bad_record_names_its_field() -> None:
    case = record()
    case["serving_g"] = 0
    with pytest.raises(InputError) as caught:
        answer_case(case)
    assert "serving_g" in {fault.field for fault in caught.value.faults}
