"""The first moves: against brute force, and within what the cook allows."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.base.errors import InputError
from batchwright.formula.comparing.compare import compared
from batchwright.formula.comparing.records import FirstMoves
from batchwright.formula.formula import with_grams
from batchwright.formula.mixture import flat_lines
from batchwright.formula.moving.allowed import Allowed, rule_of
from batchwright.formula.moving.moves import first_moves
from batchwright.formula.records import Formula
from batchwright.pantry.ingredient import ingredient
from batchwright.pantry.supply import supply_of
from tests.formula.invented_bands import FILLED, PLAIN, RICH, SHORTBREAD, band_around, recipe

ITEMS = ("wheat flour", "sugar", "butter", "whole egg", "cocoa powder", "salt", "walnuts", "honey", "lard")
RECIPES = st.dictionaries(st.sampled_from(ITEMS), st.floats(5.0, 400.0), min_size=3, max_size=7)


def moved(target: Formula, formula: Formula, allowed: Allowed | None = None, count: int = 3) -> FirstMoves:
    return first_moves(band_around(target), formula, rule_of(allowed or Allowed(), [formula]), count)


def grams_of(formula: Formula) -> dict[str, float]:
    return {each.line.item: each.line.grams.likely for each in flat_lines(formula) if each.line.grams}


def test_a_known_change_is_found_back() -> None:
    """40 g too much butter and 100 g too much sugar, nothing else: the two moves take them out again."""
    off = recipe("off shortbread", ("dough", {"wheat flour": 300, "butter": 240, "sugar": 200, "salt": 2}))
    first = moved(SHORTBREAD, off)
    changes = {(move.kind, move.item): move for move in first.moves}
    assert first.distance_after < 0.03 < first.distance_before
    lowered = {item: move.to_g for (kind, item), move in changes.items() if kind == "lower"}
    assert set(lowered) <= {"butter", "sugar"}
    assert lowered["sugar"] == pytest.approx(100, abs=20)


def test_butter_for_another_fat() -> None:
    lard = recipe("lard biscuit", ("dough", {"wheat flour": 300, "lard": 165, "sugar": 100, "salt": 2}))
    first = moved(lard, SHORTBREAD, Allowed(on_hand=("lard",)))
    swap = next(move for move in first.moves if move.kind == "swap")
    assert (swap.item, swap.for_item) == ("butter", "lard")
    assert swap.for_to_g < 200 - swap.to_g  # lard is all fat, butter four fifths
    assert first.distance_after < 0.5 * first.distance_before


def test_no_single_change_of_a_recipes_own_lines_is_better_than_the_one_found() -> None:
    held = band_around(SHORTBREAD)
    here = compared(held, RICH).distance.likely
    found = first_moves(held, RICH, rule_of(Allowed(on_hand=()), [RICH]), 1)
    best = here
    for place, each in enumerate(flat_lines(RICH)):
        for factor in np.linspace(0.02, 3.0, 60):
            tried = with_grams(RICH, {place: float(factor) * each.line.grams.likely})  # type: ignore[union-attr]
            best = min(best, compared(held, tried).distance.likely)
    assert best < here
    assert found.distance_after <= best + 0.02 * here + 0.03  # kitchen amounts, and a little for grams moved


def test_three_moves_do_at_least_what_pairs_of_changes_can() -> None:
    held = band_around(PLAIN)
    here = compared(held, RICH).distance.likely
    lines = [(place, each.line.grams.likely) for place, each in enumerate(flat_lines(RICH)) if each.line.grams]
    best = here
    for (one, one_g), (other, other_g) in itertools.combinations(lines, 2):
        for first, second in itertools.product((0.1, 0.4, 0.75, 1.5), repeat=2):
            tried = with_grams(RICH, {one: first * one_g, other: second * other_g})
            best = min(best, compared(held, tried).distance.likely)
    assert moved(PLAIN, RICH).distance_after <= best + 0.02


@settings(max_examples=8, deadline=None)
@given(RECIPES, st.sampled_from([SHORTBREAD, RICH, FILLED, PLAIN]), st.integers(1, 4))
def test_moves_never_lead_away_and_are_as_few_as_asked(amounts: dict[str, float], target: Formula, count: int) -> None:
    formula = recipe("any", ("dough", amounts))
    first = moved(target, formula, count=count)
    assert len(first.moves) <= count
    assert first.distance_after <= first.distance_before + 0.01
    touched = {name for move in first.moves for name in (move.item, move.for_item)}
    after = grams_of(Formula.from_json(json.loads(json.dumps(first.formula))))
    for item, grams in amounts.items():
        if item not in touched:
            assert after[item] == pytest.approx(grams, abs=0.01)
    for move in first.moves:
        assert move.to_g >= 0.0
        assert after.get(move.item, 0.0) == pytest.approx(move.to_g, abs=0.01)
        if move.for_item:
            assert after[move.for_item] == pytest.approx(move.for_to_g, abs=0.01)


@settings(max_examples=8, deadline=None)
@given(RECIPES, st.sampled_from([SHORTBREAD, FILLED]), st.sets(st.sampled_from(ITEMS), min_size=1, max_size=3))
def test_locked_lines_stay(amounts: dict[str, float], target: Formula, locks: set[str]) -> None:
    formula = recipe("any", ("dough", amounts))
    locked = tuple(sorted(lock for lock in locks if lock in amounts))
    first = moved(target, formula, Allowed(locked=locked))
    after = grams_of(Formula.from_json(first.formula))
    for lock in locked:
        assert after[lock] == pytest.approx(amounts[lock], abs=0.006)  # JSON keeps a hundredth of a gram


@settings(max_examples=8, deadline=None)
@given(RECIPES, st.booleans(), st.booleans())
def test_what_enters_is_allowed(amounts: dict[str, float], vegan: bool, palm_free: bool) -> None:
    formula = recipe("any", ("dough", amounts))
    allowed = Allowed(supermarket=True, vegan=vegan, without=("palm",) if palm_free else ())
    first = moved(RICH, formula, allowed)
    entered = set(grams_of(Formula.from_json(first.formula))) - set(amounts)
    for name in entered:
        supply = supply_of(name, ingredient(name).ingredient_class)
        assert supply.sold == "supermarket"
        assert not vegan or supply.animal == "no"
        assert not palm_free or supply.palm == "no"


def test_on_hand_is_all_that_enters() -> None:
    first = moved(FILLED, PLAIN, Allowed(on_hand=("walnuts", "honey")))
    entered = set(grams_of(Formula.from_json(first.formula))) - set(grams_of(PLAIN))
    assert entered <= {"walnuts", "honey", "water"}
    assert "walnuts" in entered


def test_vegan_takes_the_animal_lines_out_first() -> None:
    first = moved(SHORTBREAD, RICH, Allowed(vegan=True, without=("palm",)))
    assert [move.required for move in first.moves[:2]] == [True, True]
    after = grams_of(Formula.from_json(first.formula))
    assert "butter" not in after
    assert "whole egg" not in after
    assert any("animal" in move.reason for move in first.moves)


def test_one_move_for_two_lines_that_must_go_says_what_is_left_to_do() -> None:
    first = moved(SHORTBREAD, RICH, Allowed(vegan=True), count=1)
    assert any(note.startswith("also to go:") for note in first.notes)


def test_an_egg_that_leaves_a_dough_is_replaced_by_its_water_or_by_what_wets_like_it() -> None:
    eggy = recipe(
        "eggy shortbread", ("dough", {"wheat flour": 300, "butter": 200, "sugar": 100, "salt": 2, "whole egg": 60})
    )
    first = moved(SHORTBREAD, eggy, Allowed(on_hand=()), count=1)
    (move,) = first.moves
    assert (move.kind, move.item, move.to_g, move.for_item) == ("swap", "whole egg", 0.0, "water")
    assert move.for_to_g == pytest.approx(0.76 * 60, abs=2)  # egg is about three quarters water


def test_no_raw_flour_or_egg_enters_a_filling() -> None:
    cake = recipe("cake", ("pastry", {"wheat flour": 300, "whole egg": 150, "butter": 100}))
    first = moved(cake, FILLED, count=4)
    for move in first.moves:
        if move.part == "filling":
            assert move.item not in ("wheat flour", "whole egg")
            assert move.for_item not in ("wheat flour", "whole egg")


def test_nothing_may_change() -> None:
    with pytest.raises(InputError, match="at least one line"):
        moved(RICH, SHORTBREAD, Allowed(locked=("dough",), on_hand=(), without=("water",)))


@pytest.mark.parametrize("count", [0, -1, 7])
def test_how_many(count: int) -> None:
    with pytest.raises(InputError, match="--moves"):
        moved(RICH, SHORTBREAD, count=count)


def test_a_recipe_that_is_there_already_gets_no_move() -> None:
    first = moved(SHORTBREAD, SHORTBREAD)
    assert first.moves == ()
    assert any("no single change" in note for note in first.notes)
    assert Formula.from_json(first.formula).parts == replace(SHORTBREAD).parts


def test_water_that_goes_may_as_well_be_cooked_away() -> None:
    wet = recipe("wet filling", ("filling", {"dates": 300, "sugar": 50, "water": 150}))
    dry = recipe("dry filling", ("filling", {"dates": 300, "sugar": 50}))
    first = moved(dry, wet, Allowed(on_hand=()))
    assert [(move.kind, move.item) for move in first.moves] == [("leave out", "water")]
    assert "filling: water left out or cooked away on the stove comes to the same" in first.notes
