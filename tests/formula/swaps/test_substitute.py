"""Swaps hold what they say they hold, tell what else moves, and never clear a food."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.base.estimate import Estimate
from batchwright.base.tables import rows
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import CONTENT_KEYS
from batchwright.formula.formula import flat_lines
from batchwright.formula.records import Formula, Line, Part
from batchwright.formula.swaps.amounts import amounts
from batchwright.formula.swaps.records import UNTESTED, WISHES
from batchwright.formula.swaps.substitute import choices_for, ranked, swapped
from batchwright.pantry.allergens import allergens_of
from batchwright.pantry.ingredient import load_ingredients
from batchwright.pantry.supply import supply_of

TABLE = rows("formula_swaps")


def line(name: str, mass_g: float, *also: Line) -> Line:
    grams = Estimate(mass_g, 0.95 * mass_g, 1.05 * mass_g, unit="g")
    return Line(f"{mass_g:g} g {name}", name, grams, name, "name", also=also)


def wafers(water_g: float = 60.0) -> Formula:
    lines = [
        line("wheat flour", 300),
        line("palm oil", 120),
        line("sugar", 140),
        line("whole egg", 50),
        line("salt", 2),
    ]
    return Formula("Wafers", (Part("", tuple(lines + ([line("water", water_g)] if water_g else []))),))


def total(formula: Formula, key: str) -> float:
    whole = composition_of(formula).whole
    return whole.mixed[key].likely * whole.mixed_g.likely / 100.0


def cells(cell: str) -> list[str]:
    return [each for each in cell.split("; ") if each]


def test_fat_and_water_are_held() -> None:
    done = swapped(wafers(), "palm oil", "butter")
    for key in ("fat_g", "water_g"):
        assert total(done.formula, key) == pytest.approx(total(wafers(), key), abs=0.1)
    butter = next(each.line for each in flat_lines(done.formula) if each.line.ingredient == "butter")
    assert butter.grams is not None
    assert butter.grams.likely == pytest.approx(120 / 0.811, rel=0.01)  # palm oil is all fat, butter 81.1 % (USDA SR)
    assert done.gained == ("milk",)
    assert UNTESTED in done.notes


def test_sugar_to_honey_takes_the_water_from_the_recipe() -> None:
    done = swapped(wafers(), "sugar", "honey")
    assert total(done.formula, "sugars_g") == pytest.approx(total(wafers(), "sugars_g"), abs=0.2)
    assert total(done.formula, "water_g") == pytest.approx(total(wafers(), "water_g"), abs=0.2)
    assert any(each.item == "water" and each.after_g < each.before_g for each in done.changes)
    assert any(each.item == "sodium bicarbonate" for each in done.changes)


def test_where_no_water_is_to_be_had_it_is_said() -> None:
    done = swapped(wafers(0), "sugar", "honey")
    assert total(done.formula, "sugars_g") == pytest.approx(total(wafers(0), "sugars_g"), abs=0.2)
    assert any("g water more than before" in note for note in done.notes)


def test_butter_to_browned_butter_keeps_fat_and_water() -> None:
    formula = Formula("", (Part("", (line("wheat flour", 200), line("butter", 100))),))
    done = swapped(formula, "butter", "browned butter")
    browned = next(each.line for each in flat_lines(done.formula) if each.line.process == "browned")
    assert browned.ingredient == "butter"
    for key in ("fat_g", "water_g"):
        assert total(done.formula, key) == pytest.approx(total(formula, key), abs=0.2)


@pytest.mark.parametrize(("what", "wish", "instead"), [("egg", "vegan", "flaxseed meal + water"),
                                                      ("flour", "gluten-free", "rice flour")])  # fmt: skip
def test_wishes(what: str, wish: str, instead: str) -> None:
    done = swapped(wafers(), what, wish=wish)
    assert done.choice.name.startswith(instead)
    assert done.no_longer_from_it
    assert any(wish in note and "every pack" in note for note in done.notes)


def test_leaving_out_and_further_ingredients() -> None:
    formula = Formula("", (Part("", (line("sugar", 100, line("soy lecithin", 1)),)),))
    done = swapped(formula, "lecithin", "nothing")
    assert [each.line.ingredient for each in flat_lines(done.formula)] == ["sugar"]
    assert done.no_longer_from_it == ("soy",)


def test_own_choice_is_reckoned_from_composition() -> None:
    done = swapped(wafers(), "palm oil", "avocado oil")
    assert not done.choice.tabled
    assert total(done.formula, "fat_g") == pytest.approx(total(wafers(), "fat_g"), abs=0.2)


def test_a_choice_with_more_water_than_the_recipe_can_give_stands_back() -> None:
    formula = Formula("", (Part("", (line("wheat flour", 300), line("skimmed milk powder", 20))),))
    names = [done.choice.name for done in ranked(formula, "skimmed milk powder")]
    assert names.index("whole milk powder") < names.index("milk, skimmed")
    wet = Formula("", (Part("", (*formula.parts[0].lines, line("water", 400))),))
    assert next(done.choice.name for done in ranked(wet, "skimmed milk powder")) == "milk, skimmed"


@pytest.mark.parametrize(
    ("what", "instead", "wish"),
    [("lard", "", ""), ("salt", "", ""), ("palm oil", "blorb", ""), ("palm oil", "palm oil", ""), ("egg", "", "keto")],
)
def test_faults_are_said(what: str, instead: str, wish: str) -> None:
    with pytest.raises(InputError):
        swapped(wafers(), what, instead, wish)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0.01, 1), min_size=6, max_size=6), st.lists(st.floats(0, 100), min_size=2, max_size=2))
def test_amounts_are_the_least_squares_above_the_floors(flat: list[float], wanted: list[float]) -> None:
    columns, goal, floors = np.array(flat).reshape(2, 3), np.array(wanted), np.array([0.0, 0.0, -20.0])
    found = amounts(columns, goal, floors.tolist())
    off = float(np.sum((columns @ found - goal) ** 2))
    assert np.all(found >= floors - 1e-9)
    slope = 2 * columns.T @ (columns @ found - goal)  # at the least, nothing can be moved with gain
    assert np.all(slope >= -1e-4 * (1 + off))
    assert np.all((found <= floors + 1e-6) | (np.abs(slope) <= 1e-4 * (1 + off)))


def test_table() -> None:
    shelf = load_ingredients()
    for row in TABLE:
        new = [each.removesuffix(" (browned)") for each in cells(row["with"])]
        assert set(cells(row["what"])) | set(new) | set(cells(row["balance"])) <= set(shelf), row
        assert set(cells(row["keys"])) <= set(CONTENT_KEYS), row
        assert set(cells(row["suits"])) <= set(WISHES), row
        ratios = [cell.strip() for cell in row["ratio"].split(";")] if row["ratio"] else []
        assert not ratios or len(ratios) == len(new), row
        unknown = len(new) - sum(bool(ratio) for ratio in ratios) + len(cells(row["balance"]))
        assert bool(row["keys"]) == bool(unknown) or not new, row
        assert len(cells(row["keys"])) >= unknown, row


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['what'][:20]}-{row['with'][:20]}")
def test_what_suits_a_wish_does_not_stand_against_it(row: dict[str, str]) -> None:
    shelf = load_ingredients()
    for name in (each.removesuffix(" (browned)") for each in cells(row["with"])):
        supply, (always, _) = supply_of(name, shelf[name].ingredient_class), allergens_of(name)
        if "vegan" in cells(row["suits"]):
            assert supply.animal != "yes", name
            assert not {"milk", "egg", "fish"} & set(always), name
        if "gluten-free" in cells(row["suits"]):
            assert not {"wheat", "gluten cereals"} & set(always), name
        if "no-palm" in cells(row["suits"]):
            assert supply.palm != "yes", name
        if "shop" in cells(row["suits"]):
            assert supply.sold != "trade", name


@pytest.mark.parametrize("what", sorted({name for row in TABLE for name in cells(row["what"])}))
def test_every_ingredient_of_the_table_can_be_swapped(what: str) -> None:
    formula = Formula("", (Part("", (line("wheat flour" if what != "wheat flour" else "sugar", 300), line(what, 50),
                                     line("water", 200))),))  # fmt: skip
    assert choices_for(what)
    for done in ranked(formula, what):
        assert all(each.line.grams is None or each.line.grams.likely >= 0 for each in flat_lines(done.formula))
        assert done.formula != formula
