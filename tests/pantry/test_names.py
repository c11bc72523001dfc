"""The table of names: every name leads to one ingredient of the table, in a form a matcher can rely on."""

import re
from collections import Counter

import pytest

from batchwright.base.tables import rows

KINDS = {"label", "recipe", "e_number"}
BASES = {"common_practice", "regulation"}
E_NUMBER = re.compile(r"e[1-9]\d{2,3}[a-f]?(?:\((?:i|ii|iii|iv|v|vi|vii|viii|ix)\)|(?:i|ii|iii|iv|v|vi|vii|viii|ix))?")


def _names() -> dict[str, str]:
    return {row["name"]: row["ingredient"] for row in rows("pantry_names")}


def test_every_ingredient_of_the_names_is_in_the_pantry() -> None:
    """No name leads nowhere."""
    shelf = {row["name"] for row in rows("pantry_ingredients")}
    assert {row["ingredient"] for row in rows("pantry_names")} - shelf == set()


def test_every_ingredient_has_its_own_name_in_the_table() -> None:
    """An ingredient is found by the name under which the pantry keeps it."""
    names = _names()
    assert [row["name"] for row in rows("pantry_ingredients") if names.get(row["name"]) != row["name"]] == []


def test_a_name_stands_once() -> None:
    """One printed name leads to one ingredient."""
    counts = Counter(row["name"] for row in rows("pantry_names"))
    assert [name for name, count in counts.items() if count > 1] == []


def test_names_are_lower_case_and_trimmed() -> None:
    """Names are kept as a matcher asks for them: lower case, single blanks, nothing at the ends."""
    assert [name for name in _names() if name != " ".join(name.lower().split()) or not name] == []


def test_brackets_of_names_are_balanced() -> None:
    """A name with half a bracket is a slip of the table."""
    assert [name for name in _names() if name.count("(") != name.count(")")] == []


def test_kinds_and_bases_are_of_the_known_ones() -> None:
    """Kinds and bases are of the lists the matcher knows; every source is listed."""
    table = rows("pantry_names")
    sources = {row["key"] for row in rows("sources")}
    assert {row["kind"] for row in table} == KINDS
    assert {row["basis"] for row in table} <= BASES
    assert {row["source"] for row in table} <= sources
    assert [row["name"] for row in table if not row["locator"]] == []


def test_e_numbers_are_well_formed() -> None:
    """E-numbers read e500, e500ii or e500(ii); nothing else that looks like one hides among the other kinds."""
    table = rows("pantry_names")
    assert [r["name"] for r in table if r["kind"] == "e_number" and not E_NUMBER.fullmatch(r["name"])] == []
    assert [r["name"] for r in table if r["kind"] != "e_number" and E_NUMBER.fullmatch(r["name"])] == []


def test_both_forms_of_an_e_number_with_a_letter_lead_to_one_ingredient() -> None:
    """e500ii and e500(ii) are one additive."""
    names = _names()
    for row in rows("pantry_names"):
        if row["kind"] == "e_number" and "(" in row["name"]:
            plain = row["name"].replace("(", "").replace(")", "")
            assert names[plain] == row["ingredient"], row["name"]


@pytest.mark.parametrize(("printed", "ingredient"), [
    ("icing sugar", "icing sugar"), ("confectioners' sugar", "icing sugar"), ("caster sugar", "sugar"),
    ("enriched bleached flour", "wheat flour, enriched"), ("wholemeal flour", "whole wheat flour"),
    ("soya lecithin", "soy lecithin"), ("soy lecithin", "soy lecithin"), ("e322", "lecithin"),
    ("corn syrup solids", "dried glucose syrup"), ("evaporated cane juice", "evaporated cane juice"),
    ("thiamine mononitrate", "thiamin mononitrate"), ("ferrous sulfate", "ferrous sulphate"),
    ("cornflour", "corn starch"), ("corn flour", "corn flour"), ("bicarbonate of soda", "sodium bicarbonate"),
    ("nonfat dry milk", "skimmed milk powder"), ("milk powder", "whole milk powder"), ("milkfat", "butter oil"),
    ("chocolate liquor", "cocoa mass"), ("cocoa processed with alkali", "cocoa powder, alkalized"),
    ("fractionated palm oil", "palm oil, fractionated"), ("cellulose gum", "carboxymethyl cellulose"),
    ("cellulose gel", "microcrystalline cellulose"), ("red 40 lake", "dye lake"), ("allura red", "red 40"),
    ("cyanocobalamin", "vitamin b12"), ("goat's milk", "goat milk"), ("cilantro", "coriander leaf"),
])
def test_a_label_name_leads_to_the_food_it_means(printed: str, ingredient: str) -> None:
    """Some names whose food the rules of labelling settle."""
    assert _names()[printed] == ingredient


@pytest.mark.parametrize("word", ["thickener", "stabiliser", "glazing agent", "fibre", "brittle", "surimi", "sausage"])
def test_a_word_that_names_no_one_food_is_not_in_the_table(word: str) -> None:
    """A role, a part of a food or a mixture of many kinds is left to the class, not lent the figures of one food."""
    assert word not in _names()


def test_dry_words_do_not_lead_to_fresh_foods() -> None:
    """A powder or a dehydrated food is none with more than half water, solutions and pastes of additives apart."""
    water = {row["name"]: float(row["water_g"] or 0) for row in rows("pantry_ingredients")}
    wet = [row["name"] for row in rows("pantry_names") if water[row["ingredient"]] > 50.0
           and re.search(r"\b(powder|powdered|dehydrated|granules|freeze dried)\b", row["name"])]  # fmt: skip
    assert wet == []
