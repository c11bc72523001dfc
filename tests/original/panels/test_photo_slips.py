"""Slips of a reading that the packet's own grammar puts right, and what it leaves alone."""

from __future__ import annotations

import pytest

from batchwright.original.panels.photo_slips import lacks_unit, list_mended, rows_named, units_mended

KNOWN = frozenset(("ingredients", "sugar", "palm", "oil", "salt", "milk", "powder", "whey", "apricot", "kernels",
                   "hydrogen", "carbonate"))  # fmt: skip
TABLE = "Energy   1712 kJ / 413 kcal\nFat   33.0 g   9.9 g\nFibre   2.2 g   0.7 g\n"


@pytest.mark.parametrize(("read", "mended"), [
    ("Protein   7.3 g   2.2 9", "Protein   7.3 g   2.2 g"), ("Protein   7.39   2.2 g", "Protein   7.3 g   2.2 g"),
    ("Protein   7.3 g   2.20", "Protein   7.3 g   2.2 g"), ("Salt   1.20   0.36 g", "Salt   1.20   0.36 g"),
    ("Protein   79   2.2 g", "Protein   79   2.2 g"), ("Protein   19%", "Protein   19%"),
    ("Vitamin C   12.9", "Vitamin C   12.9"), ("Salt   1.88   g   0.56 g", "Salt   1.88   g   0.56 g"),
])  # fmt: skip
def test_a_unit_is_given_where_the_cells_have_theirs(read: str, mended: str) -> None:
    assert units_mended(TABLE + read) == TABLE + mended


def test_a_panel_without_units_is_left_alone() -> None:
    assert units_mended("Fat 12.9\nProtein 4.9\nSalt 1.19") == "Fat 12.9\nProtein 4.9\nSalt 1.19"


@pytest.mark.parametrize(("read", "mended"), [
    ("1138 k3/272 kcal", "1138 kJ / 272 kcal"), ("1492 /357 kcal", "1492 kJ / 357 kcal"),
    ("1492 /57 kcal", "1492 /57 kcal"), ("Trans Fat   Og", "Trans Fat   0g"), ("Sodium   50ng", "Sodium   50mg"),
])  # fmt: skip
def test_units_that_can_be_nothing_else(read: str, mended: str) -> None:
    assert units_mended(read) == mended


def test_rows_get_the_one_name_that_is_near() -> None:
    read = ["Fal   10 g   3 g", "of wtich satrates   3 g   1 g", "Fbre   2 g", "Salt   1 g", "Sat   4 g",
            "Fa, sugar 2 g"]  # fmt: skip
    named = ["Fat   10 g   3 g", "of which saturates   3 g   1 g", "Fibre   2 g", "Salt   1 g", "Sat   4 g",
             "Fa, sugar 2 g"]  # fmt: skip
    assert rows_named(read) == named


@pytest.mark.parametrize(("read", "mended"), [
    ("Ingredients: sugar. palm oil, apricat kernels, salt.", "Ingredients: sugar, palm oil, apricot kernels, salt."),
    ("SUGAR, WHEY POWDER (MILKL SALT, HYDROCEN CARBONATE", "SUGAR, WHEY POWDER (MILK) SALT, HYDROGEN CARBONATE"),
    ("sugar, salt, milk. Palm oil.", "sugar, salt, milk. Palm oil."),
    ("Zucker, Salz, Mich, Hydrocen", "Zucker, Salz, Mich, Hydrocen"),
])  # fmt: skip
def test_slips_of_a_list(read: str, mended: str) -> None:
    assert list_mended(read, KNOWN) == mended


def test_figures_whose_unit_was_put_are_known() -> None:
    assert lacks_unit("7.39", "Protein   7.39   2.2 g", "Protein   7.3 g   2.2 g")
    assert not lacks_unit("2.2", "Protein   7.39   2.2 g", "Protein   7.3 g   2.2 g")
    assert not lacks_unit("Protein", "Protein   7.39", "Protein   7.3 g")
