"""Wishes and rules as cooks write them."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.formula.fitting.asked import asked_targets, read_bounds, read_grams, read_prices, read_wish
from batchwright.formula.fitting.fit import value_of
from batchwright.formula.fitting.lines import bench_of
from batchwright.formula.fitting.records import Rules
from tests.formula.fitting.test_fit import filled, harbour_biscuits


@pytest.mark.parametrize(
    ("text", "what", "low", "high"),
    [
        ("fat 18..22", "fat", 18, 22),
        ("fat = 18 .. 22 %", "fat", 18, 22),
        ("saturated fat 5 to 6,5 %", "saturated fat", 5, 6.5),
        ("sugars <= 30", "sugars", None, 30),
        ("sugars at most 30 %", "sugars", None, 30),
        ("class flour >= 40", "class flour", 40, None),
        ("protein at least 6", "protein", 6, None),
        ("fat 20", "fat", 19.5, 20.5),
        ("salt=1.2", "salt", 1.15, 1.25),
        ("salt 0", "salt", 0, 0.5),
        ("sweetness -20", "sweetness", -20.5, -19.5),
        ("sweetness -25..-20 %", "sweetness", -25, -20),
    ],
)
def test_wishes(text: str, what: str, low: float | None, high: float | None) -> None:
    wish = read_wish(text)
    assert (wish.what, wish.low, wish.high) == (what, low, high)


@pytest.mark.parametrize("text", ["", "fat", "18..22", "fat much", "<= 5", "fat 1e9"])
def test_wishes_that_say_nothing(text: str) -> None:
    with pytest.raises(InputError, match="target"):
        read_wish(text)


def test_targets_name_what_they_are_of() -> None:
    bench = bench_of(filled())
    texts = ["fat 18..22", "cream: water as mixed <= 5", "class flour >= 30", "part cream 30..40", "powder <= 60",
             "batch 800..900", "piece 20..25", "sweetness -20"]  # fmt: skip
    targets = asked_targets(texts, bench, Rules(), pieces=40)
    assert [target.name for target in targets] == [
        "fat", "cream: water as mixed", "flour (class)", "part: cream", "powder share", "batch weight, raw",
        "piece weight, finished", "sweetness",
    ]  # fmt: skip
    assert value_of(targets[5], bench.start) == pytest.approx(850)
    assert value_of(targets[-1], bench.start) == pytest.approx(100)
    assert (targets[-1].low, targets[-1].high) == (79.5, 80.5)


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(InputError) as told:
        asked_targets(["dragons 3..4", "fat 1..2..3", "fat -3..4", "class gravel >= 2", "piece 20", "part roof <= 3"],
                      bench_of(filled()), Rules())  # fmt: skip
    assert len(told.value.faults) == 6
    assert "dragons" in str(told.value)


def test_a_fifth_less_or_a_fifth_left_is_asked_back() -> None:
    with pytest.raises(InputError, match="a fifth less"):
        asked_targets(["sweetness 20"], bench_of(filled()), Rules())


def test_cost_needs_prices() -> None:
    formula = harbour_biscuits()
    prices = {"wheat flour": 1.0, "butter": 10.0, "brown sugar": 2.0, "egg": 5.0, "baking soda": 8.0}
    bench = bench_of(formula)
    with pytest.raises(InputError, match="price"):
        asked_targets(["cost <= 3"], bench, Rules(prices={"butter": 10.0}))
    target = asked_targets(["cost <= 3"], bench, Rules(prices=prices))[0]
    spent = 0.3 * 1 + 0.14 * 10 + 0.2 * 2 + 0.05 * 5 + 0.005 * 8
    finished = float(bench.finished_g @ bench.start) / 1000.0
    assert value_of(target, bench.start) == pytest.approx(spent / finished)
    with pytest.raises(InputError, match="moonstone"):
        asked_targets(["cost <= 3"], bench, Rules(prices={**prices, "moonstone": 1.0}))


def test_prices_are_per_kg() -> None:
    found = read_prices(["butter=9.8/kg", "cocoa = 2,10 / 100 g", "salt=1", "sugar=$0.9/lb", "saffron=3.5 €/g",
                         "eggs=0.3/each"])  # fmt: skip
    assert found["butter"] == 9.8
    assert found["cocoa"] == pytest.approx(21.0)
    assert found["salt"] == 1.0
    assert found["sugar"] == pytest.approx(0.9 / 0.45359237)
    assert found["eggs"] == pytest.approx(6.0)
    with pytest.raises(InputError, match="price"):
        read_prices(["butter=2/each"])
    assert found["saffron"] == pytest.approx(3500)
    with pytest.raises(InputError, match="price"):
        read_prices(["butter", "9.8/kg", "butter=dear"])


def test_steps_and_bounds() -> None:
    assert read_grams("step", ["baking soda=0.6", "egg = 50 g"]) == {"baking soda": 0.6, "egg": 50.0}
    assert read_bounds(["butter=100..150", "sugar = 0 to 90 g"]) == {"butter": (100, 150), "sugar": (0, 90)}
    for texts in (["butter"], ["butter=100"], ["=1..2"], ["butter=a..b"]):
        with pytest.raises(InputError, match="bounds"):
            read_bounds(texts)
