"""Fit on recipes: targets met, rules kept, clashes named, bad input said."""

from __future__ import annotations

import numpy as np
import pytest

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition import composition_of
from batchwright.formula.fitting.fit import fit
from batchwright.formula.fitting.lines import bench_of, named, refilled
from batchwright.formula.fitting.records import Fitted, Rules, Target
from batchwright.formula.fitting.targets import (
    class_target,
    composition_target,
    linearised,
    mass_target,
    part_target,
    sweetness_target,
)
from batchwright.formula.formula import total_g
from batchwright.formula.records import Formula, Line, Part
from tests.formula.invented import line


def harbour_biscuits() -> Formula:
    """Return a plain biscuit dough."""
    lines = (line("wheat flour", 300), line("butter", 140), line("brown sugar", 200), line("egg", 50),
             line("baking soda", 5), line("cinnamon", 4), line("salt", 3))  # fmt: skip
    return Formula("Harbour biscuits", (Part("", lines),))


def filled() -> Formula:
    """Return two parts with butter in both."""
    dough = Part("dough", (line("wheat flour", 300), line("butter", 120), line("sugar", 100), line("egg", 50)))
    cream = Part("cream", (line("butter", 100), line("icing sugar", 150), line("whole milk powder", 30)))
    return Formula("Filled biscuits", (dough, cream))


def after(found: Fitted, name: str) -> float:
    return next(change.after_g for change in found.changes if change.name == name)


def test_targets_are_met_and_the_formula_says_the_same() -> None:
    formula = harbour_biscuits()
    bench = bench_of(formula)
    found = fit(formula, [composition_target(bench, "fat_g", 14, 16), composition_target(bench, "sugars_g", 26, 28)])
    assert found.met
    assert found.clash == ()
    held = composition_of(found.formula).whole.finished
    assert 14 - 0.01 <= held["fat_g"].likely <= 16 + 0.01
    assert 26 - 0.01 <= held["sugars_g"].likely <= 28 + 0.01
    told = {shift.key: shift.after for shift in found.composition}
    assert told["fat_g"] == pytest.approx(held["fat_g"].likely, abs=1e-3)


def test_grams_in_words_and_formula_agree() -> None:
    formula = harbour_biscuits()
    found = fit(formula, [composition_target(bench_of(formula), "fat_g", None, 15)])
    assert total_g(found.formula).likely == pytest.approx(sum(change.after_g for change in found.changes))
    moved = [change for change in found.changes if change.changed]
    assert [change.name for change in moved] == ["butter"]
    butter = next(each for each in found.formula.parts[0].lines if each.item == "butter")
    assert "fitted: was 140.0 g" in butter.assumptions


def test_flour_is_kept_and_small_lines_are_held() -> None:
    found = fit(harbour_biscuits(), [composition_target(bench_of(harbour_biscuits()), "sugars_g", 20, 22)])
    assert found.met
    for name, grams in (("wheat flour", 300), ("baking soda", 5), ("cinnamon", 4), ("salt", 3)):
        assert after(found, name) == grams
    assert any("baking soda" in note for note in found.notes)


def test_flours_change_places_only_where_one_is_let() -> None:
    lines = (line("wheat flour", 200), line("whole wheat flour", 50), line("butter", 100), line("sugar", 100))
    formula = Formula("Two flours", (Part("", lines),))
    bench = bench_of(formula)
    wishes = [composition_target(bench, "fiber_g", 2.6, 3.5), composition_target(bench, "fat_g", 17, 20)]
    held = fit(formula, wishes)
    assert (after(held, "wheat flour"), after(held, "whole wheat flour")) == (200, 50)
    loose = fit(formula, wishes, Rules(bounds={"whole wheat flour": (0, 250)}))
    assert loose.met
    assert after(loose, "whole wheat flour") > 50
    assert after(loose, "wheat flour") + after(loose, "whole wheat flour") == pytest.approx(250, abs=1e-5)


def test_salt_moves_where_salt_is_wished() -> None:
    found = fit(harbour_biscuits(), [composition_target(bench_of(harbour_biscuits()), "salt_g", 0.5, 0.7)])
    assert found.met
    assert after(found, "salt") < 3
    assert after(found, "baking soda") == 5


def test_total_is_kept_when_asked() -> None:
    formula = harbour_biscuits()
    rules = Rules(keep="total")
    found = fit(formula, [composition_target(bench_of(formula, rules), "fat_g", 22, 23)], rules)
    assert found.met
    assert sum(change.after_g for change in found.changes) == pytest.approx(702, abs=1e-4)


def test_locks_bounds_and_steps() -> None:
    formula = harbour_biscuits()
    rules = Rules(locks=("brown sugar",), bounds={"butter": (100, 120)}, steps={"butter": 7})
    found = fit(formula, [composition_target(bench_of(formula, rules), "fat_g", 10, 17)], rules)
    assert after(found, "brown sugar") == 200
    assert 100 <= after(found, "butter") <= 120
    assert after(found, "butter") % 7 == pytest.approx(0, abs=1e-6)


def test_eggs_stay_whole() -> None:
    formula = harbour_biscuits()
    bench = bench_of(formula)
    found = fit(formula, [class_target(bench, "egg", 10, 20)], Rules(locks=("butter", "brown sugar")))
    assert found.met
    assert after(found, "egg") in (100, 150)


def test_an_ingredient_enters_only_where_it_is_needed() -> None:
    formula = harbour_biscuits()
    rules = Rules(extras=("sunflower oil", "walnuts"))
    bench = bench_of(formula, rules)
    easy = fit(formula, [composition_target(bench, "fat_g", 15, 18)], rules)
    assert not any(change.entering for change in easy.changes)
    wishes = [composition_target(bench, "fat_g", 16, 20), composition_target(bench, "saturated_fat_g", None, 5)]
    hard = fit(formula, wishes, rules)
    assert hard.met
    assert [change.name for change in hard.changes if change.entering] == ["sunflower oil"]
    assert any(each.item == "sunflower oil" for each in hard.formula.parts[0].lines)


def test_the_nearest_is_no_smaller_batch_of_other_things() -> None:
    """Wishes that cannot both hold cost shares, not grams: leaving out sugar and egg would bring neither nearer."""
    formula = harbour_biscuits()
    bench = bench_of(formula)
    found = fit(formula, [composition_target(bench, "fat_g", 14, 16), composition_target(bench, "fat_g", 30, 32)])
    assert not found.met
    assert [change.name for change in found.changes if change.changed] == ["butter"]
    assert after(found, "brown sugar") == 200


def test_what_clashes_is_named_and_the_nearest_given() -> None:
    formula = harbour_biscuits()
    bench = bench_of(formula)
    wishes = [composition_target(bench, "fat_g", 20, 25), composition_target(bench, "saturated_fat_g", None, 2),
              composition_target(bench, "protein_g", 3, 9)]  # fmt: skip
    found = fit(formula, wishes)
    assert not found.met
    assert any(name.startswith("fat at least") for name in found.clash)
    assert any(name.startswith("saturated fat at most") for name in found.clash)
    assert not any("protein" in name for name in found.clash), "protein has no part in it"
    missed = {outcome.name: outcome.missed for outcome in found.outcomes}
    assert missed["fat"] > 0 or missed["saturated fat"] > 0


def test_a_part_may_be_the_only_one_to_change() -> None:
    formula = filled()
    rules = Rules(only_part="cream", keep="total")
    bench = bench_of(formula, rules)
    found = fit(formula, [composition_target(bench, "fat_g", 25, 28, part="cream")], rules)
    assert found.met
    dough = [change for change in found.changes if change.part == "dough"]
    assert not any(change.changed for change in dough)
    cream = [change.after_g for change in found.changes if change.part == "cream"]
    assert sum(cream) == pytest.approx(280, abs=1e-4)


def test_share_of_a_part() -> None:
    formula = filled()
    bench = bench_of(formula)
    assert fit(formula, [part_target(bench, "cream", 25, 30)]).met


def test_batch_and_sweetness() -> None:
    formula = harbour_biscuits()
    bench = bench_of(formula)
    found = fit(formula, [sweetness_target(bench, None, 0.9), mass_target(bench, 640, 660)])
    assert found.met
    assert sum(change.after_g for change in found.changes) == pytest.approx(650, abs=10.01)


def test_a_property_model_joins_by_value_and_slopes() -> None:
    """A ratio given by its slopes is met like the ratio itself: fat by hand."""
    formula = harbour_biscuits()
    bench = bench_of(formula, Rules(keep="total"))
    start, fat = bench.start, bench.finished[:, 1]
    mass = float(bench.finished_g @ start)
    value = float(fat @ start) / mass
    slopes = (fat - value * bench.finished_g) / mass
    wish = linearised("fat by a model", bench, 100 * value, tuple(100 * slopes), 15, 16)
    found = fit(formula, [wish], Rules(keep="total"))
    assert found.met
    assert next(shift.after for shift in found.composition if shift.key == "fat_g") == pytest.approx(15.5, abs=1.0)
    with pytest.raises(InputError, match="one per line"):
        linearised("wrong", bench, 1.0, (1.0,), 0, 1)


def test_further_ingredients_of_a_line_move_on_their_own() -> None:
    both = Line("100 g butter and 50 g sugar", "butter", Estimate(100, 95, 105, unit="g"), also=(line("sugar", 50),))
    formula = Formula("Two in one", (Part("", (line("wheat flour", 200), both)),))
    bench = bench_of(formula)
    assert [each.name for each in bench.candidates] == ["wheat flour", "butter", "sugar"]
    found = fit(formula, [composition_target(bench, "sugars_g", 0, 8)])
    kept = found.formula.parts[0].lines[1]
    assert kept.grams is not None
    assert kept.grams.likely == 100
    assert kept.also[0].grams is not None
    assert kept.also[0].grams.likely < 50
    none = refilled(bench, np.array([200.0, 0.0, 50.0]))
    assert [each.item for each in none.parts[0].lines] == ["wheat flour", "sugar"]


def test_names_find_their_lines() -> None:
    candidates = bench_of(filled()).candidates
    assert named("butter", candidates) == [1, 4]
    assert named("cream: butter", candidates) == [4]
    assert named("eggs", candidates) == [3]
    assert named("cream", candidates) == [4, 5, 6]
    assert named("gravel", candidates) == []


@pytest.mark.parametrize(
    ("rules", "said"),
    [
        (Rules(locks=("gravel",)), "gravel"),
        (Rules(bounds={"butter": (-5, 10)}), "bounds of butter"),
        (Rules(bounds={"butter": (20, 10)}), "bounds of butter"),
        (Rules(locks=("butter",), bounds={"butter": (10, 20)}), "locked"),
        (Rules(steps={"butter": 0}), "step of butter"),
        (Rules(keep="everything"), "keep"),
        (Rules(extras=("moon dust",)), "moon dust"),
        (Rules(only_part="roof"), "roof"),
        (Rules(bounds={"wheat flour": (100, 200)}), "flour stays at 300 g"),
    ],
)
def test_rules_that_cannot_be(rules: Rules, said: str) -> None:
    formula = Formula("Two parts", (Part("dough", harbour_biscuits().parts[0].lines),))
    with pytest.raises(InputError, match=said):
        fit(formula, [Target("any", (1.0,) * 7, None, 0, 1e6)], rules)


def test_flour_cannot_be_kept_where_there_is_none() -> None:
    cream = Formula("Cream", (Part("", (line("butter", 100), line("icing sugar", 150))),))
    with pytest.raises(InputError, match="no flour"):
        fit(cream, [composition_target(bench_of(cream), "fat_g", 30, 35)], Rules(keep="flour"))
    assert fit(cream, [composition_target(bench_of(cream), "fat_g", 30, 31)]).percent_of == "the whole"


@pytest.mark.parametrize(
    ("target", "said"),
    [
        (Target("x", (1.0,), None, 0, 1), "one for each line"),
        (Target("x", (1.0,) * 7, None, None, None), "a least or a largest"),
        (Target("x", (1.0,) * 7, None, 5, 1), "smaller figure first"),
        (Target("x", (float("nan"),) * 7, None, 0, 1), "finite"),
        (Target("nuts", (0.0,) * 7, (1.0,) * 7, 5, 9), "no line has any"),
        (Target("x", (1.0,) * 7, None, 0, 1, importance=0.0), "importance"),
    ],
)
def test_targets_that_cannot_be(target: Target, said: str) -> None:
    with pytest.raises(InputError, match=said):
        fit(harbour_biscuits(), [target])


def test_a_recipe_without_amounts_is_refused() -> None:
    with pytest.raises(InputError, match="amount"):
        fit(Formula("Nothing", (Part("", (Line("some flour", "flour", None),)),)), [])


@pytest.mark.parametrize("loss", [None, 12.0])
def test_composition_told_is_that_of_the_formula(loss: float | None) -> None:
    """A part that goes by its loss ends as dry as before, so every command reckons the same afterwards."""
    base = harbour_biscuits()
    given = None if loss is None else Estimate(loss, loss - 1, loss + 1, unit="%")
    formula = Formula(base.name, (Part("dough", base.parts[0].lines, given),))
    rules = Rules(extras=("milk, whole",), bounds={"milk, whole": (40, 60)})
    found = fit(formula, [composition_target(bench_of(formula, rules), "fat_g", 12, 16)], rules)
    held = composition_of(found.formula).whole.finished
    for shift in found.composition:
        assert shift.after == pytest.approx(held[shift.key].likely, abs=0.02), shift.key
    before = composition_of(formula).whole.finished["water_g"].likely
    assert held["water_g"].likely == pytest.approx(before, abs=0.02)


def test_no_more_than_one_recipe_is_fitted() -> None:
    """Three thousand lines are a list of lines, not a recipe: said before hours go by."""
    long = Formula("all of them", (Part("", tuple(line("wheat flour", 100 + place) for place in range(3000))),))
    with pytest.raises(InputError, match="3000 lines"):
        bench_of(long)


def test_targets_that_contradict_each_other_are_blamed_alone() -> None:
    """Fat at most 12 % and at least 20 %: no rule is to blame, as an empty batch is no way out."""
    bench = bench_of(harbour_biscuits())
    wishes = [composition_target(bench, "fat_g", 10, 12), composition_target(bench, "fat_g", 20, 22)]
    found = fit(harbour_biscuits(), wishes)
    assert sorted(found.clash) == ["fat at least 20 %", "fat at most 12 %"]
