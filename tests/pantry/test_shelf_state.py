"""The same food in another state is another ingredient: fresh, dried, cooked, powdered, from concentrate."""

from __future__ import annotations

import pytest

from batchwright.pantry.shelf import match, profile_of

NAMED = ("name", "synonym", "stripped", "head")


@pytest.mark.parametrize(
    ("printed", "ingredient"),
    [
        ("cooked organic white rice", "rice, cooked"),
        ("cooked macaroni", "pasta, cooked"),
        ("prepared organic kidney beans", "beans, cooked"),
        ("canned chickpeas", "chickpeas, cooked"),
        ("canned diced tomatoes", "tomatoes"),
        ("black olives in brine", "olives"),
        ("uncooked white rice", "rice"),
        ("parboiled rice", "rice"),
        ("rehydrated onion", "onion"),
        ("dried celery", "celery, dried"),
        ("dried cilantro", "coriander leaf, dried"),
        ("flat-leaf parsley", "parsley, fresh"),
        ("chipotle peppers", "cayenne pepper"),
        ("ground garlic", "garlic powder"),
        ("white grape juice from concentrate", "grape juice"),
        ("white grape juice concentrate", "grape juice concentrate"),
        ("lowfat milk", "milk, 1 % fat"),
        ("reduced fat milk", "milk, 2 % fat"),
        ("plain fat free yogurt", "yogurt, nonfat"),
        ("fresh coconut", "coconut, fresh"),
        ("creamed coconut", "creamed coconut"),
        ("salted margarine", "margarine, 80 % fat, salted"),
        ("dry aged cheddar cheese", "cheddar cheese"),
        ("dry cheddar cheese", "cheese powder"),
        ("no salt added diced tomatoes", "tomatoes"),
    ],
)
def test_state(printed: str, ingredient: str) -> None:
    found = match(printed)
    assert found.ingredient == ingredient
    assert found.how in NAMED


@pytest.mark.parametrize(
    ("printed", "not_this"),
    [
        ("dehydrated chicken broth", "chicken broth"),
        ("chicken powder", "chicken broth"),
        ("vegetable stock powder", "vegetable broth"),
        ("soy sauce powder", "soy sauce"),
        ("cultured celery juice powder", "celery seed"),
        ("sodium bisulfate", "sodium bisulphite"),
        ("red bean paste", "miso paste"),
        ("barbecue sauce", "mayonnaise"),
        ("corn tortillas", "flour tortilla"),
        ("edamame", "soybeans"),
        ("bean sprouts", "mung beans"),
        ("acerola", "sour cherries"),
        ("coconut nectar", "coconut sugar"),
        ("chili pepper extract", "black pepper extract"),
        ("l-leucine", "l-cysteine"),
        ("shrimp stock", "fish stock"),
        ("elderberries", "elderberry juice concentrate"),
        ("tonic water", "carbonated water"),
        ("vegetable protein", "soy protein concentrate"),
    ],
)
def test_another_food_is_not_taken_for_it(printed: str, not_this: str) -> None:
    assert match(printed).ingredient not in (not_this, None)


@pytest.mark.parametrize("printed", ["cooked quinoa", "canned wheat berries", "boiled buckwheat", "cooked mung beans"])
def test_a_dry_food_that_took_up_water_is_not_taken_for_the_dry_one(printed: str) -> None:
    found = match(printed)
    assert found.how == "class"
    assert found.ingredient is None


def test_freeze_dried_fruit_holds_next_to_no_water_and_vegetables_are_the_dried_ones() -> None:
    for fruit in ("freeze dried apple pieces", "freeze-dried blackcurrants", "blueberry powder"):
        assert profile_of(match(fruit)).typical["water_g"] < 8.0, fruit
    assert profile_of(match("dried apples")).typical["water_g"] > 20.0
    assert match("freeze dried onion").ingredient == "onion, dried"


@pytest.mark.parametrize(
    ("printed", "kind"),
    [("tuna in spring water", "fish"), ("sun dried tomatoes in olive oil", "vegetable"),
     ("roasted in peanut oil", "oil")],
)  # fmt: skip
def test_what_a_food_lies_in_is_not_its_class(printed: str, kind: str) -> None:
    assert match(printed).ingredient_class == kind


@pytest.mark.parametrize(
    ("printed", "not_this"),
    [("vegan cheese", "cheddar cheese"), ("vegan butter", "butter"), ("dairy-free cheddar cheese", "cheddar cheese"),
     ("gluten free flour", "wheat flour"), ("gluten free pasta", "pasta"), ("gluten-free tamari", "soy sauce")],
)  # fmt: skip
def test_a_food_made_without_is_not_taken_for_the_one_it_stands_in_for(printed: str, not_this: str) -> None:
    assert match(printed).ingredient != not_this


@pytest.mark.parametrize(
    ("printed", "ingredient"),
    [("gluten free oats", "oats"), ("vegan cane sugar", "sugar"), ("dairy free margarine", "margarine, 80 % fat"),
     ("vegetarian cheddar cheese", "cheddar cheese")],
)  # fmt: skip
def test_a_claim_that_changes_nothing_is_left_out(printed: str, ingredient: str) -> None:
    assert match(printed).ingredient == ingredient
