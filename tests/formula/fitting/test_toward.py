"""Toward an original: bands become targets, the label's ingredients enter only where they are needed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.axes import axes_of
from batchwright.formula.comparing.compare import compare
from batchwright.formula.comparing.records import Band, BandAxis, BandPart
from batchwright.formula.composition import composition_of
from batchwright.formula.fitting.fit import value_of
from batchwright.formula.fitting.lines import bench_of
from batchwright.formula.fitting.records import Fitted, Rules
from batchwright.formula.fitting.toward import band_targets, fit_toward
from batchwright.formula.moving.allowed import Allowed, rule_of
from batchwright.formula.moving.moves import first_moves
from batchwright.formula.records import Formula, Part
from tests.formula.fitting.test_fit import filled, harbour_biscuits
from tests.formula.invented import line
from tests.formula.invented_bands import PLAIN, RICH, SHORTBREAD, band_around, recipe
from tests.formula.moving.test_moves import RECIPES


def band_from(formula: Formula, half_percent: float, ingredients: tuple[tuple[str, str], ...] = ()) -> Band:
    """Return the band of a food that is a formula, so wide to either side [% of each figure]."""

    def widened(value: float) -> Estimate:
        return Estimate(value, value * (1 - half_percent / 100), value * (1 + half_percent / 100), unit="%")

    axes = tuple(BandAxis(axis.key, axis.name, axis.kind, widened(axis.estimate.likely)) for axis in axes_of(formula))
    parts = tuple(
        BandPart(part.name, {key: widened(one.likely) for key, one in part.finished.items()})
        for part in composition_of(formula).parts
    )
    return Band("the original", axes, parts if len(parts) > 1 else (), ingredients)


def crisp() -> Formula:
    """Return a leaner, sweeter biscuit with palm oil and without egg."""
    lines = (line("wheat flour", 300), line("sugar", 120), line("palm oil", 60), line("brown sugar", 45),
             line("water", 40), line("baking soda", 4), line("salt", 2.5), line("cinnamon", 3))  # fmt: skip
    return Formula("Harbour biscuits crisp", (Part("", lines),))


def entered(found: Fitted) -> list[str]:
    return [change.name for change in found.changes if change.entering and change.after_g > 0]


def test_its_own_ingredients_do_where_they_can() -> None:
    base = harbour_biscuits()
    goal = Formula("Harbour biscuits", (Part("", (
        line("wheat flour", 300), line("butter", 110), line("brown sugar", 160), line("egg", 50),
        line("baking soda", 5), line("cinnamon", 4), line("salt", 3))),))  # fmt: skip
    band = band_from(goal, 5, (("palm oil", ""), ("sugar", "")))
    found = fit_toward(base, band)
    assert found.met
    assert entered(found) == []
    assert compare(band, [found.formula]).recipes[0].distance.likely < 0.02


def test_label_ingredients_enter_where_they_are_needed_and_it_is_said() -> None:
    band = band_from(crisp(), 6, (("wheat flour, enriched", ""), ("sugar", ""), ("palm oil", ""), ("brown sugar", ""),
                                  ("salt", "")))  # fmt: skip
    base = harbour_biscuits()
    found = fit_toward(base, band)
    came = entered(found)
    assert came
    assert set(came) <= {"palm oil", "sugar", "water"}
    bought = [name for name in came if name != "water"]
    assert any("let in from the label" in note and bought[0] in note for note in found.notes)
    before, after = (compare(band, [each]).recipes[0].distance.likely for each in (base, found.formula))
    assert after < 0.25 * before
    assert not any(change.name == "egg" and change.after_g for change in found.changes)


def test_nothing_enters_where_that_is_not_wished() -> None:
    band = band_from(crisp(), 6, (("palm oil", ""), ("sugar", "")))
    found = fit_toward(harbour_biscuits(), band, may_enter=False)
    assert entered(found) == []


def test_locks_are_kept_and_what_clashes_is_said() -> None:
    band = band_from(crisp(), 3)
    found = fit_toward(harbour_biscuits(), band, Rules(locks=("butter", "egg")))
    assert next(change for change in found.changes if change.name == "butter").after_g == 140
    assert not found.met
    assert found.clash


def test_baked_as_dry_as_the_original() -> None:
    goal = crisp()
    dry = Formula(goal.name, (Part("", goal.parts[0].lines, Estimate(11.0, 10.5, 11.5, unit="%")),))
    found = fit_toward(harbour_biscuits(), band_from(dry, 5, (("palm oil", ""), ("sugar", ""))))
    wanted = composition_of(dry).whole.finished["water_g"].likely
    assert composition_of(found.formula).whole.finished["water_g"].likely == pytest.approx(wanted, abs=0.05)
    assert any(note.startswith("bake until") for note in found.notes)


def test_a_label_that_says_nothing_is_refused() -> None:
    wide = Estimate(40, 1, 99, unit="%")
    axes = tuple(BandAxis(key, key, "nutrient", wide) for key in ("fat_g", "sugars_g", "protein_g"))
    with pytest.raises(InputError, match="label"):
        fit_toward(harbour_biscuits(), Band("nothing", axes))


def test_a_panel_alone_asks_nothing_of_the_classes() -> None:
    full = band_from(crisp(), 5)
    panel = replace(full, axes=tuple(axis for axis in full.axes if axis.kind == "nutrient"))
    found = fit_toward(harbour_biscuits(), panel)
    assert not any("(class)" in outcome.name for outcome in found.outcomes)
    assert not any(axis.kind == "class" for axis in compare(panel, [harbour_biscuits()]).recipes[0].axes)


def test_what_is_missed_adds_up_to_the_distance_that_ranks_recipes() -> None:
    """The targets of the start, their misses as root of squares, against the distance `compare` gives."""
    base, band = filled(), band_from(crisp(), 4, (("palm oil", ""),))
    bench = bench_of(base)
    lengths = []
    for target in band_targets(bench, band, ()):
        value = value_of(target, bench.start)
        lengths.append(target.distance * max((target.low or 0.0) - value, value - (target.high or 0.0), 0.0))
    assert compare(band, [base]).recipes[0].distance.likely == pytest.approx(sum(x * x for x in lengths) ** 0.5)


@settings(max_examples=12, deadline=None)
@given(RECIPES, st.sampled_from([SHORTBREAD, RICH, PLAIN]))
def test_a_fit_never_ends_farther_than_moves(amounts: dict[str, float], goal: Formula) -> None:
    base = recipe("any", ("dough", amounts))
    band = band_around(goal)
    moves = first_moves(band, base, rule_of(Allowed(), [base]), 3)
    fitted = compare(band, [fit_toward(base, band).formula]).recipes[0].distance.likely
    left = sum(amounts.values()) + sum(move.to_g - move.from_g for move in moves.moves)
    shrunk = left < 0.1 * sum(amounts.values())  # to less than a tenth of the batch: no recipe; the digit shown holds
    assert fitted <= moves.distance_after + (1e-2 if shrunk else 1e-3)
    assert fitted <= compare(band, [base]).recipes[0].distance.likely + 1e-3


def test_parts_go_toward_their_own() -> None:
    base = filled()
    dough = base.parts[0]
    sweeter = Formula(base.name, (dough, Part("cream", (
        line("butter", 90), line("icing sugar", 200), line("whole milk powder", 30)))))  # fmt: skip
    found = fit_toward(base, band_from(sweeter, 2))
    told = {outcome.name: outcome for outcome in found.outcomes}
    assert "cream: sugars" in told
    assert told["cream: sugars"].before < (told["cream: sugars"].low or 0)
    assert told["cream: sugars"].missed == pytest.approx(0, abs=0.2)


def test_what_enters_finds_the_part_with_its_kind() -> None:
    dough = Part("dough", (line("wheat flour", 300), line("vegetable oil", 10), line("sugar", 60), line("egg", 50)))
    base = Formula("Filled", (dough, Part("cream", (line("butter", 150), line("icing sugar", 150)))))
    harder = Part("cream", (line("coconut oil", 125), line("icing sugar", 150), line("water", 20)))
    band = band_from(Formula("Filled", (dough, harder)), 2, (("coconut oil", "a part of another name"),))
    found = fit_toward(base, band)
    assert [(change.name, change.part) for change in found.changes if change.entering and change.after_g > 0 and
            change.name != "water"] == [("coconut oil", "cream")]  # fmt: skip
