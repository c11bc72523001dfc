"""Panels from pasted text: both styles, columns, slips of text recognition, whole packets."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from batchwright.original.panels.text import read_panel_text, read_panels_text, split_label_text
from tests.clock import within

FACTS = """Nutrition Facts
8 servings per container
Serving size 5 crisps (31g)
Amount per serving
Calories 150
% Daily Value*
Total Fat 6g 8%
 Saturated Fat 2.5g 13%
 Trans Fat 0g
Cholesterol <5mg 1%
Sodium 140mg 6%
Total Carbohydrate 22g 8%
 Dietary Fiber less than 1g 2%
 Total Sugars 9g
  Includes 9g Added Sugars 18%
Protein 2g
Vitamin D 0mcg 0%
Calcium 10mg 0%
Iron 0.9mg 6%
Potassium 40mg 0%
*The % Daily Value (DV) tells you how much a nutrient in a serving of food contributes to a daily diet. 2,000 calories
a day is used for general nutrition advice."""
FACTS_FIGURES = {
    "energy_kcal": "150",
    "fat_g": "6",
    "saturated_fat_g": "2.5",
    "trans_fat_g": "0",
    "cholesterol_mg": "<5",
    "sodium_mg": "140",
    "carbohydrate_g": "22",
    "fiber_g": "<1",
    "sugars_g": "9",
    "added_sugars_g": "9",
    "protein_g": "2",
    "calcium_mg": "10",
    "iron_mg": "0.9",
    "potassium_mg": "40",
    "vitamin_d_ug": "0",
}
TABLE = """NUTRITION
Typical values per 100g per slice (24g) %RI*
Energy 1651 kJ / 393 kcal 396 kJ / 94 kcal 5%
Fat 12 g 2.9 g 4%
of which saturates 5.6 g 1.3 g 7%
Carbohydrate 63 g 15 g 6%
of which sugars 31 g 7.4 g 8%
Fibre 3.2 g 0.8 g
Protein 6.1 g 1.5 g 3%
Salt 0.42 g 0.10 g 2%
*Reference intake of an average adult (8400 kJ/2000 kcal)"""
LIST = "Ingredients: WHEAT flour, sugar 12%, palm oil, salt 2%, iron, niacin. Contains WHEAT."


def printed(text: str, place: int = 0) -> dict[str, str]:
    return {figure.nutrient: figure.printed for figure in read_panels_text(text)[place].figures}


@pytest.mark.parametrize(
    "text", [FACTS, " ".join(FACTS.split()), FACTS.upper(), FACTS.replace("\n", "\r\n"), LIST + "\n" + FACTS]
)
def test_american_text(text: str) -> None:
    panel = read_panel_text(text)
    assert printed(text) == FACTS_FIGURES
    assert (panel.scheme, panel.serving_g, panel.edition, panel.faults) == ("US", 31, "2016", ())


def test_european_table_gives_a_panel_for_each_column() -> None:
    first, second = read_panels_text(TABLE)
    assert (first.basis, first.scheme, second.basis, second.serving_g) == ("per 100 g", "EU", "per serving", 24)
    assert printed(TABLE)["salt_g"] == "0.42"
    assert printed(TABLE, 1) == {
        "energy_kj": "396",
        "energy_kcal": "94",
        "fat_g": "2.9",
        "saturated_fat_g": "1.3",
        "carbohydrate_g": "15",
        "sugars_g": "7.4",
        "fiber_g": "0.8",
        "protein_g": "1.5",
        "salt_g": "0.10",
    }


@pytest.mark.parametrize(
    ("slip", "right"),
    [
        ("Tota1 Fat 6g", "Total Fat 6g"),
        ("TransFatOg", "Trans Fat 0g"),
        ("Sodiuml4Omg6%", "Sodium 140mg 6%"),
        ("Protein29", "Protein 2g"),
        ("Ca1ories15O", "Calories 150"),
        ("TotalCarbohydrate22g8%", "Total Carbohydrate 22g 8%"),
        ("Total Sugars 99", "Total Sugars 9g"),
        ("Pr0tein 2g", "Protein 2g"),
        ("lron O.9mg", "Iron 0.9mg"),
    ],
)
def test_slips_are_read_through(slip: str, right: str) -> None:
    text = FACTS.replace(right, slip)
    assert text != FACTS
    assert printed(text) == FACTS_FIGURES


def test_lost_blanks_and_told_repairs() -> None:
    text = (
        "NutritionFacts Servingsize5crisps(31g) AmountperServing Calories15O TotalFat6g8% "
        "SaturatedFat2.5g13% TransFatOg "
        "Sodiuml40mg6% TotalCarbohydrate22g8% DietaryFiberlessthan1g2% TotalSugars9g "
        "Includes9gAddedSugars18% Protein2g"
    )
    wanted = {
        key: value
        for key, value in FACTS_FIGURES.items()
        if key not in ("cholesterol_mg", "calcium_mg", "iron_mg", "potassium_mg", "vitamin_d_ug")
    }
    assert printed(text) == wanted
    assert any("Og" in note for note in read_panel_text(text).notes)


def test_two_columns_of_one_pack() -> None:
    text = (
        "Nutrition Facts 2 servings per container Serving size 1 cake (40g) Per serving "
        "Per container Calories 170 340 "
        "Total Fat 8g 10% 16g 21% Sodium 140mg 6% 280mg 12% Total Carb. 22g 8% 44g 16% Protein 2g 4g"
    )
    serving, pack = read_panels_text(text)
    assert (serving.serving_g, pack.serving_g) == (40, 80)
    assert printed(text, 1)["carbohydrate_g"] == "44"
    narrow = [
        max(serving.per_100g()["fat_g"][0], pack.per_100g()["fat_g"][0]),
        min(serving.per_100g()["fat_g"][1], pack.per_100g()["fat_g"][1]),
    ]
    assert narrow[0] < 20 < narrow[1]


def test_panel_from_before_2016_with_its_footnote() -> None:
    text = (
        "Nutrition Facts Serving Size 1 bar (40g) Servings Per Container 6 Amount Per Serving "
        "Calories 180 Calories from "
        "Fat 60 % Daily Value* Total Fat 7g 11% Saturated Fat 2.5g 13% "
        "Sodium 140mg 6% Total Carbohydrate 27g 9% Dietary "
        "Fiber 1g 4% Sugars 15g Protein 2g Calcium 2% Iron 4% "
        "* Percent Daily Values are based on a 2,000 calorie diet. "
        "Total Fat Less than 65g 80g Not a significant source of cholesterol and potassium."
    )
    panel = read_panel_text(text)
    assert panel.edition == "before 2016"
    assert printed(text)["energy_kcal"] == "180"
    assert printed(text)["fat_g"] == "7"
    absent = panel.figure("cholesterol_mg")
    assert absent is not None
    assert (absent.low, absent.high) == (0, 2.5)


def test_column_by_column_copy() -> None:
    text = "Energy\nFat\nof which saturates\nCarbohydrate\nProtein\nSalt\n1651kJ\n12g\n5.6g\n63g\n6.1g\n0.42g"
    assert printed(text) == {
        "energy_kj": "1651",
        "fat_g": "12",
        "saturated_fat_g": "5.6",
        "carbohydrate_g": "63",
        "protein_g": "6.1",
        "salt_g": "0.42",
    }


@pytest.mark.parametrize(
    "text",
    [
        f"Slate Bay Crisps\n{FACTS}\n\n{LIST}",
        f"{LIST}\n{FACTS}",
        f"{LIST} {TABLE}",
        f"{TABLE}\n{LIST}",
        LIST,
        FACTS,
        "",
        "sugar, salt",
    ],
)
def test_a_packet_is_split_and_nothing_lost(text: str) -> None:
    statement, panel = split_label_text(text)
    assert sorted(f"{statement} {panel}".split()) == sorted(text.split())
    if LIST in text:
        assert statement == LIST
    assert ("Protein" in panel) == ("Protein" in text)


@pytest.mark.parametrize("text", ["", "sugar, salt, iron", "🍪", "Ingredients: fat 12%, sugar 3%", "fat", "{}[]()%%%"])
def test_no_panel_is_said(text: str) -> None:
    assert read_panels_text(text) == ()
    assert read_panel_text(text).faults


@pytest.mark.parametrize(
    "text",
    [
        "Calories 0g Total Fat 0g Protein 0g",
        "Serving size 0g Calories 10 Total Fat 1g Protein 1g",
        "Energy 99999999999999 kJ Fat 900 g Salt 3 g",
    ],
)
def test_absurd_text_is_told_not_raised(text: str) -> None:
    for panel in read_panels_text(text):
        panel.per_100g()


WORDS = st.sampled_from(
    [
        "fat",
        "Total Fat",
        "salt",
        "Energy",
        "kJ",
        "kcal",
        "g",
        "mg",
        "%",
        "<",
        "less than",
        "0",
        "1",
        "12",
        "3.5",
        "O",
        "l",
        "9",
        "(",
        ")",
        "per 100g",
        "Serving size",
        "Includes",
        "Added Sugars",
        "protein",
        "\n",
        ",",
        ".",
        "Not a significant source of",
        "trace",
        "calories",
        "from",
        "1,5",
        "-",
        "Ingredients:",
    ]
)


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(
        st.text(max_size=200), st.lists(WORDS, max_size=60).map(" ".join), st.lists(WORDS, max_size=60).map("".join)
    )
)
def test_any_text_is_read(text: str) -> None:
    for panel in read_panels_text(text):
        for low, high, line in panel.per_100g().values():
            assert 0 <= low <= high
            assert line
    statement, rest = split_label_text(text)
    assert sorted(c for c in statement + rest if not c.isspace()) == sorted(c for c in text if not c.isspace())


@pytest.mark.parametrize(
    "unit",
    [
        "a",
        "fat 7 g ",
        "\n",
        "energy ",
        "1",
        "calories 0O1l ",
        "less than ",
        "not a significant source of fat, ",
        "includes ",
        "( ",
        "İ",
        "1 ",
    ],
)
def test_a_megabyte_takes_less_than_two_seconds(unit: str) -> None:
    text = unit * (1_000_000 // len(unit))
    with within(2.0):
        read_panels_text(text)
        split_label_text(text)


def test_a_table_without_units_keeps_its_nines() -> None:
    text = "Calories 129, Total Fat 9, Carbohydrate 29, Sugars 19, Protein 1.9"
    assert printed(text) == {
        "energy_kcal": "129",
        "fat_g": "9",
        "carbohydrate_g": "29",
        "sugars_g": "19",
        "protein_g": "1.9",
    }


AMOUNTS = {"Calories": "150", "Total Fat": "10g", "Sodium": "110mg", "Total Carbohydrate": "21g", "Protein": "0.5g"}
LOOKS = {"0": "oO", "1": "lI", "o": "0", "l": "1", "i": "1"}


@settings(max_examples=150, deadline=None)
@given(st.randoms(use_true_random=False), st.sampled_from(["figures", "names", "blanks", "nines"]), st.floats(0, 1))
def test_random_slips_of_one_kind_are_read_through(chance: Random, kind: str, rate: float) -> None:
    lines = []
    for name, amount in AMOUNTS.items():
        if kind == "names":
            name = "".join(chance.choice(LOOKS.get(c, c)) if chance.random() < rate else c for c in name)
        if kind == "figures":
            amount = "".join(
                chance.choice(LOOKS.get(c, c)) if c in "01" and chance.random() < rate else c for c in amount
            )
        if kind == "nines" and amount.endswith("g") and "m" not in amount and chance.random() < rate:
            amount = amount[:-1] + "9"
        lines.append(name + ("" if kind == "blanks" and chance.random() < rate else " ") + amount)
    text = "Nutrition Facts Serving size 1 bun (40g)\n" + "\n".join(lines)
    assert printed(text) == {
        "energy_kcal": "150",
        "fat_g": "10",
        "sodium_mg": "110",
        "carbohydrate_g": "21",
        "protein_g": "0.5",
    }


def test_a_lost_point_and_lost_unit_letters() -> None:
    text = "Nutrition Information Per 100 g: Energy 981 J/235 kal - Fat 02g, of which saturates &lt;0.1g - Salt 0.01 g"
    assert printed(text) == {
        "energy_kj": "981",
        "energy_kcal": "235",
        "fat_g": "0.2",
        "saturated_fat_g": "<0.1",
        "salt_g": "0.01",
    }
    assert any("02" in note for note in read_panel_text(text).notes)


PANELS_BELOW = (
    "per 100 g\nFat 24 g\nCarbohydrate 60 g\nProtein 7 g\nSalt 0.8 g",
    "100 g contain:\nFat 24 g\nCarbohydrate 60 g\nProtein 7 g\nSalt 0.8 g",
    "Typical values per 100 g per 30 g\nEnergy 2100 kJ 630 kJ\nFat 24 g 7.2 g\nProtein 7 g 2.1 g\nSalt 0.8 g 0.24 g",
    "Calories 140\nTotal Fat 7 g\nSodium 120 mg\nTotal Carbohydrate 18 g\nProtein 2 g",
)


@pytest.mark.parametrize("panel", PANELS_BELOW)
@pytest.mark.parametrize("listed", [
    "barley flour, honey, salt", "barley flour, honey, salt,", "Ingredients: oat flakes, pea protein.",
    "barley flour, honey,\nsalt", "barley flour, salt, iron,", "barley flour, lard, vegetable fat",
])  # fmt: skip
@pytest.mark.parametrize("between", ["\n", "\n\n", " \n"])
def test_the_end_of_a_list_is_not_the_panels_first_name(listed: str, panel: str, between: str) -> None:
    """Salt, iron and protein are ingredients too, and the panel may stand right below them."""
    statement, rest = split_label_text(listed + between + panel)
    assert statement.strip() == listed
    assert [one.figures for one in read_panels_text(rest)] == [one.figures for one in read_panels_text(panel)]
