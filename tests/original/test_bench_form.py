"""Records whose ingredients carry their composition, read as decoding tasks."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from batchwright.base.errors import InputError
from batchwright.original.bench_form import problem_from_case
from batchwright.original.region.bounds import sure_bounds


def record(**changes: Any) -> dict[str, Any]:
    """Return an invented syrup of sugar, water and salt; sugar 60, water 39, salt 1 of 100 g."""
    case: dict[str, Any] = {
        "id": "syrup",
        "name": "Plain syrup",
        "serving_g": 50.0,
        "n_ordered": 2,
        "minor_max_share": 0.02,
        "water_loss_max": 0.3,
        "panel": {
            "total_carbohydrate": {"printed": "30", "low": 29.5, "high": 30.5},
            "sodium": {"printed": "200", "low": 195.0, "high": 205.0},
        },
        "ingredients": [
            {
                "name": "sugar",
                "kind": "sugar",
                "water_g": 0.0,
                "per_100g": {"calories": 400, "total_carbohydrate": 100},
            },
            {"name": "water", "kind": "water", "water_g": 100.0, "per_100g": {}},
            {"name": "salt", "kind": "salt", "water_g": 0.0, "per_100g": {"sodium": 39337}},
        ],
    }
    case.update(changes)
    return case


def test_panel_is_per_100_g_and_the_groups_are_rows() -> None:
    """50 g servings: twice the printed interval; one order row, one cap."""
    problem = problem_from_case(record())
    assert [(row.nutrient, row.low, row.high) for row in problem.panel] == [
        ("carbohydrate_g", 59.0, 61.0),
        ("sodium_mg", 390.0, 410.0),
    ]
    assert [row.family for row in problem.rows] == ["order", "group"]
    assert problem.rows[1].coefficients == {2: 1.0}
    assert problem.rows[1].high == 0.02
    assert problem.kinds == ("sugar", "water", "salt")
    assert problem.loss_max == 0.3


def test_syrup_by_hand() -> None:
    """Most sugar: nothing lost. Least: order keeps it at half of what is not salt, with as much salt as fits."""
    found = sure_bounds(problem_from_case(record()))
    assert found.high[0] == pytest.approx(0.61, abs=1e-9)
    most_salt = 0.0041 / 0.39337  # 410 mg sodium per 100 g as salt, nothing lost
    assert found.high[2] == pytest.approx(most_salt, abs=1e-6)
    # sugar s, finished mass s / 0.59, salt most_salt x finished mass, s = (1 - salt) / 2
    assert found.low[0] == pytest.approx(0.5 / (1.0 + 0.5 * most_salt / 0.59), abs=1e-6)


def test_doubt_shrinks_towards_purity_and_keeps_to_mass() -> None:
    """Sugar at 100 g has no room; flour's starch, water, protein and fat stay within 100 g; water is exact."""
    case = record()
    case["ingredients"][0]["composition_sd"] = 0.1
    case["ingredients"][1] = {
        "name": "flour",
        "kind": "flour",
        "water_g": 12.0,
        "per_100g": {"calories": 360, "total_fat": 1.0, "total_carbohydrate": 76.0, "protein": 10.0, "sodium": 2.0},
        "composition_sd": 0.1,
    }
    problem = problem_from_case(case)
    place = {key: row for row, key in enumerate(problem.nutrients)}
    assert problem.low[place["carbohydrate_g"], 0] == problem.high[place["carbohydrate_g"], 0] == 100.0
    assert problem.spread[place["carbohydrate_g"], 1] == pytest.approx(76.0 * 0.1 * 24.0 / 40.0)
    assert problem.low[place["carbohydrate_g"], 1] == pytest.approx(76.0 * np.exp(-2 * 0.06))
    assert problem.high[place["carbohydrate_g"], 1] <= 88.0
    assert problem.low[place["sodium_mg"], 1] == pytest.approx(2.0 * np.exp(-0.2))
    assert problem.water_low[1] == problem.water_high[1] == 12.0
    assert (problem.low <= problem.typical + 1e-12).all()
    assert (problem.typical <= problem.high + 1e-12).all()
    # the most energy: carbohydrate and protein fill the dry matter that fat leaves
    fat = problem.high[place["fat_g"], 1]
    typical_rest = 360.0 - 9.0 * 1.0 - 4.0 * 86.0
    assert problem.high[place["energy_kcal"], 1] <= 9.0 * fat + 4.0 * (88.0 - fat) + typical_rest + 1e-9


def test_exact_compositions_have_no_doubt() -> None:
    """No deviation given: both ends are the value."""
    problem = problem_from_case(record())
    assert np.array_equal(problem.low, problem.typical)
    assert np.array_equal(problem.high, problem.typical)
    assert not problem.spread.any()


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"ingredients": []}, {"ingredients"}),
        ({"ingredients": "sugar"}, {"ingredients"}),
        ({"serving_g": 0}, {"serving_g"}),
        ({"serving_g": "fifty", "water_loss_max": -1}, {"serving_g", "water_loss_max"}),
        ({"panel": {"sodium": {"low": 5, "high": 1}}}, {"panel.sodium"}),
        ({"panel": [1]}, {"panel"}),
        ({"n_ordered": 9}, {"n_ordered"}),
        ({"serving_g": float("nan")}, {"serving_g"}),
    ],
)
def test_all_faults_are_collected(changes: dict[str, Any], fields: set[str]) -> None:
    """Every fault is named by its field."""
    with pytest.raises(InputError) as caught:
        problem_from_case(record(**changes))
    assert fields <= {fault.field for fault in caught.value.faults}


def test_names_twice_are_refused() -> None:
    """A prediction is by name: two of the same cannot be told apart."""
    case = record()
    case["ingredients"][2]["name"] = "sugar"
    with pytest.raises(InputError, match="name"):
        problem_from_case(case)
