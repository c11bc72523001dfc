"""Decimal points lost in a picture: figures that contradict the others are named, right panels are left alone."""

from __future__ import annotations

import pytest

from batchwright.actions.photo_points import COLUMNS, ENERGY, MORE, PART, PUT_IN, SUM, ZERO, lost_points, points_put_in
from batchwright.actions.photo_reading import read_seen
from batchwright.original.panels.photo_lines import Seen

EU = {"basis": "per 100 g", "scheme": "EU", "energy_kcal": "1962 kJ / 468 kcal", "fat_g": "20.4",
      "saturated_fat_g": "9,8", "carbohydrate_g": "62.1", "sugars_g": "21.5", "fiber_g": "3.2", "protein_g": "7.1",
      "salt_g": "0.54"}  # fmt: skip
PIECE = {"basis": "per serving", "scheme": "EU", "serving_g": "25", "energy_kcal": "490 kJ / 117 kcal", "fat_g": "5.1",
         "saturated_fat_g": "2.5", "carbohydrate_g": "15.5", "sugars_g": "5.4", "fiber_g": "0.8", "protein_g": "1.8",
         "salt_g": "0.14"}  # fmt: skip
US = {"basis": "per serving", "scheme": "US", "serving_g": "30", "energy_kcal": "150", "fat_g": "7", "sodium_mg": "95",
      "saturated_fat_g": "3", "carbohydrate_g": "20", "sugars_g": "8", "added_sugars_g": "8", "fiber_g": "less than 1",
      "protein_g": "2"}  # fmt: skip
SUGAR_FREE = {"basis": "per 100 g", "scheme": "EU", "energy_kcal": "240 kcal", "fat_g": "0.1", "carbohydrate_g": "98.5",
              "sugars_g": "0.0", "protein_g": "0.2"}  # fmt: skip


@pytest.mark.parametrize("panels", [[EU], [EU, PIECE], [US], [{}], [{"basis": "per 100 g"}, {}]])
def test_right_panels_are_left_alone(panels: list[dict[str, str]]) -> None:
    assert lost_points(panels) == {}


@pytest.mark.parametrize(
    ("panel", "key", "printed", "why"),
    [
        (EU, "fat_g", "204", MORE), (EU, "carbohydrate_g", "621", MORE), (EU, "saturated_fat_g", "98", PART),
        (EU, "sugars_g", "215", MORE), (EU, "protein_g", "71", SUM), (EU, "salt_g", "054", ZERO),
        (EU, "energy_kcal", "19.6 kJ / 4.68 kcal", ENERGY), (US, "sodium_mg", "95000", MORE),
        (PIECE, "fat_g", "51", MORE), (PIECE, "protein_g", "18", SUM),
        (PIECE, "energy_kcal", "4900 kJ / 1170 kcal", ENERGY),
    ],
)  # fmt: skip
def test_one_lost_point(panel: dict[str, str], key: str, printed: str, why: str) -> None:
    assert lost_points([{**panel, key: printed}]) == {(0, key): why}


@pytest.mark.parametrize("key", ["fiber_g", "sugars_g", "protein_g", "saturated_fat_g", "carbohydrate_g"])
def test_two_columns_tell_which(key: str) -> None:
    for place in (0, 1):
        panels = [dict(EU), dict(PIECE)]
        panels[place][key] = panels[place][key].replace(".", "").replace(",", "").lstrip("0")
        assert list(lost_points(panels)) == [(place, key)]
    panels = [{**EU, "fiber_g": "32"}, PIECE]
    assert lost_points(panels) == {(0, "fiber_g"): COLUMNS}


@pytest.mark.parametrize("key", ["sugars_g", "fiber_g", "protein_g", "fat_g", "carbohydrate_g"])
@pytest.mark.parametrize("place", [0, 1])
def test_a_point_is_put_in_where_the_other_column_has_it(place: int, key: str) -> None:
    right = ({**EU, "saturated_fat_g": "9.8"}, dict(PIECE))
    panels = [dict(panel) for panel in right]
    panels[place][key] = panels[place][key].replace(".", "")
    pointed, said = points_put_in(panels, lost_points(panels))
    if panels[place][key].startswith("0"):
        assert pointed == tuple(panels)
        assert said == {(place, key): ZERO}
    else:
        assert pointed == right
        assert said == {(place, key): PUT_IN}


@pytest.mark.parametrize("panels", [
    [{**EU, "fat_g": "204"}], [{**EU, "fat_g": "284"}, PIECE], [{**EU, "fiber_g": "32"}, {"fiber_g": "0.8"}],
    [{**EU, "fat_g": "2040"}, PIECE], [{**EU, "fat_g": "204"}, PIECE, {}],
])  # fmt: skip
def test_no_point_is_put_in_without_a_column_that_says_so(panels: list[dict[str, str]]) -> None:
    lost = lost_points(panels)
    assert points_put_in(panels, lost) == (tuple(panels), lost)


def test_energy_that_follows_from_nothing_is_named_itself() -> None:
    """Sugar alcohols have less energy than the sum says: the energy is looked at, no figure is accused."""
    assert lost_points([SUGAR_FREE]) == {(0, "energy_kcal"): ENERGY}


def test_the_word_is_shown_as_it_stands_in_the_picture() -> None:
    rows = ("Nutrition per 100 g", "Energy 1962 kJ / 468 kcal", "Fat 204 g", "Carbohydrate 62.1 g", "Protein 7.1 g")
    lines, words = [], []
    for at, row in enumerate(rows):
        lines.append(Seen(row, ((0, 40 * at), (400, 40 * at), (400, 40 * at + 20), (0, 40 * at + 20)), 0.99))
        for place, word in enumerate(row.split()):
            corners = ((60 * place, 40 * at), (60 * place + 50, 40 * at), (60 * place + 50, 40 * at + 20),
                       (60 * place, 40 * at + 20))  # fmt: skip
            words.append(Seen(word, corners, 0.99))
    reading = read_seen(lines, words, (400, 200))
    assert reading.contradicted == ((0, "fat_g", MORE),)
    assert ("204", (150, 400, 125, 100)) in list(zip(reading.unsure, reading.spots, strict=True))
