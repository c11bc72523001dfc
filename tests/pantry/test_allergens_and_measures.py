"""Allergens are a warning that covers every ingredient; measures carry their convention."""

from __future__ import annotations

import pytest

from batchwright.base.errors import InputError
from batchwright.base.tables import rows
from batchwright.pantry.allergens import EU_FOURTEEN, US_NINE, WORDS, allergens_of, named_by_law
from batchwright.pantry.ingredient import load_ingredients
from batchwright.pantry.measures import density_of, measures_of

SHELF = load_ingredients()


def test_every_ingredient_has_a_row_in_known_words() -> None:
    assert {row["ingredient"] for row in rows("pantry_allergens")} == set(SHELF)
    for name, one in SHELF.items():
        assert set(one.allergens) | set(one.allergens_read_pack) <= set(WORDS), name
        assert not set(one.allergens) & set(one.allergens_read_pack), name


def test_the_lists_are_as_long_as_the_law_makes_them() -> None:
    assert len(set(US_NINE)) == 9
    assert len(set(EU_FOURTEEN)) == 14


@pytest.mark.parametrize(
    ("name", "always"),
    [("wheat flour", {"wheat", "gluten cereals"}), ("durum semolina", {"wheat", "gluten cereals"}),
     ("spelt flour", {"wheat", "gluten cereals"}),
     ("rye flour", {"gluten cereals"}), ("rolled oats", {"gluten cereals"}),
     ("malt extract", {"gluten cereals"}), ("butter", {"milk"}), ("whey powder", {"milk"}),
     ("sodium caseinate", {"milk"}),
     ("lactose", {"milk"}), ("milk chocolate", {"milk"}), ("egg white powder", {"egg"}),
     ("almond flour", {"tree nuts"}),
     ("peanut butter", {"peanut"}), ("peanut oil", {"peanut"}), ("soy lecithin", {"soy"}), ("tahini", {"sesame"}),
     ("soy sauce", {"soy", "wheat", "gluten cereals"}), ("mustard powder", {"mustard"}), ("celery seed", {"celery"}),
     ("sulphur dioxide", {"sulphites"}), ("lupin flour", {"lupin"}), ("shrimp", {"crustacean shellfish"}),
     ("worcestershire sauce", {"fish"}), ("sponge fingers", {"egg", "wheat", "gluten cereals"})],
)  # fmt: skip
def test_always(name: str, always: set[str]) -> None:
    assert always <= set(allergens_of(name)[0])


@pytest.mark.parametrize(
    ("name", "word"),
    [("semisweet chocolate", "milk"), ("lecithin", "soy"), ("natural flavour", "milk"), ("gelatin", "fish"),
     ("glucose syrup", "wheat"), ("modified starch", "wheat"),
     ("apricots, dried", "sulphites"), ("rolled oats", "wheat"),
     ("baking powder", "wheat"), ("corn flakes", "gluten cereals"),
     ("buckwheat flour", "wheat"), ("spices", "mustard")],
)  # fmt: skip
def test_read_the_pack(name: str, word: str) -> None:
    assert word in allergens_of(name)[1]


@pytest.mark.parametrize(
    ("words", "word"),
    [(("milk", "whey", "butter", "cheese", "cream", "casein"), "milk"), (("egg",), "egg"), (("peanut",), "peanut"),
     (("almond", "hazelnut", "cashew", "pecan", "pistachio", "walnut"), "tree nuts"), (("soy",), "soy"),
     (("sesame",), "sesame")],
)  # fmt: skip
def test_a_name_that_says_it_is_warned_of(words: tuple[str, ...], word: str) -> None:
    other = {"coconut", "peanut", "almond", "soy", "oat", "cocoa", "shea", "apple", "cream of", "coating", "icing",
             "seed", "butterscotch", "cashew", "pistachio"}  # fmt: skip
    for name, one in SHELF.items():
        said = name.replace("butternut", "").replace("buttermilk", "milk")
        if any(each in said for each in words) and (word != "milk" or not any(each in said for each in other)):
            assert word in one.allergens + one.allergens_read_pack, name


def test_named_by_law() -> None:
    assert named_by_law(("wheat",), "EU") == ("gluten cereals",)
    assert named_by_law(("gluten cereals",), "US") == ()
    assert named_by_law(("milk", "wheat"), "US") == ("milk", "wheat")
    with pytest.raises(InputError):
        named_by_law((), "XX")


def test_a_cup_of_flour_has_several_conventions() -> None:
    cups = {each.convention: each.mass_g for each in measures_of("wheat flour") if each.measure == "cup"}
    assert cups["dip and sweep"] == 142
    assert min(cups.values()) <= 120 < 142 <= max(cups.values())


def test_measures_stand_on_the_shelf_and_are_possible() -> None:
    for row in rows("pantry_measures"):
        assert row["ingredient"] in SHELF
        assert row["convention"]
        assert float(row["mass_g"]) > 0
        if row["volume_ml"]:
            assert 0.02 < float(row["mass_g"]) / float(row["volume_ml"]) < 1.6, row


def test_density() -> None:
    # 1 ml of water weighs 1 g (definition of old); refined oil 0.92, honey 1.42 as handbooks print them.
    assert density_of("water") == pytest.approx(1.0, abs=0.01)
    assert density_of("sunflower oil") == pytest.approx(0.92, abs=0.02)
    assert density_of("honey") == pytest.approx(1.42, abs=0.03)
    assert density_of("nothing") is None
