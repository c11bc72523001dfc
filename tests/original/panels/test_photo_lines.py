"""From words seen in a picture to lines, list and panel."""

from __future__ import annotations

import math

import pytest

from batchwright.original.panels.photo_lines import (
    Seen,
    blocks_of,
    is_doubtful,
    line_of,
    mended_line,
    panel_mended,
    parted,
    running,
    tilt_of,
)


def at(text: str, left: float, top: float, turn: float = 0.0, sure: float = 1.0) -> Seen:
    """Return words 10 px wide a letter and 16 px high, in a picture turned by so much [radians]."""
    right, bottom = left + 10 * len(text), top + 16
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    turned = tuple((x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
                   for x, y in corners)  # fmt: skip
    return Seen(text, turned, sure)


def texts(seen: list[Seen]) -> list[list[str]]:
    return [[line_of([each.text for each in row]) for row in block] for block in blocks_of(seen)]


@pytest.mark.parametrize("degrees", [-8.0, 0.0, 5.0, 12.0])
def test_rows_of_a_tilted_table(degrees: float) -> None:
    turn = math.radians(degrees)
    names = ["Energy and more of it", "Fat", "of which saturates", "Salt"]
    seen = [at(f"{k}.{column} g", 400 + 200 * column, 30 * k, turn) for k in range(4) for column in (1, 0)]
    seen += [at(name, 0, 30 * k, turn) for k, name in enumerate(names)]
    assert tilt_of(seen) == pytest.approx(turn, abs=0.01)
    assert texts(seen) == [[f"{name}   {k}.0 g   {k}.1 g" for k, name in enumerate(names)]]


def test_a_list_beside_a_panel_comes_first() -> None:
    left = ["Ingredients: oat flakes,", "butter, honey, salt,", "raisins, cane sugar,", "apricots."]
    names = ["Fat", "Salt", "Protein", "of which sugars", "Fibre"]
    seen = [at(line, 0, 25 * k + 7) for k, line in enumerate(left)]
    seen += [at(name, 400, 25 * k) for k, name in enumerate(names)]
    seen += [at(f"{k},5 g", 620, 25 * k) for k in range(5)]
    first, second = texts(seen)
    assert first == left
    assert second == [f"{name}   {k},5 g" for k, name in enumerate(names)]


def test_nothing_seen() -> None:
    assert blocks_of([]) == [[]]
    assert parted([[]]) == ("", "")


@pytest.mark.parametrize(("read", "mended"), [
    ("INGREDIENTS:WHEATFLOUR,SUGAR,COCOABUTTER", "INGREDIENTS: WHEAT FLOUR, SUGAR, COCOA BUTTER"),
    ("wheat flour，sugar（cane）", "wheat flour, sugar (cane)"),
    ("whey powder(milk)9%,salt", "whey powder (milk) 9%, salt"),
    ("sugar , salt .", "sugar, salt ."),
    ("1,5 g of 2.5% fat", "1,5 g of 2.5% fat"),
    ("glucose-fructose syrup", "glucose-fructose syrup"),
])  # fmt: skip
def test_lost_blanks_and_wide_signs(read: str, mended: str) -> None:
    assert mended_line(read) == mended


@pytest.mark.parametrize(("lines", "whole"), [
    ("wheat\nflour", "wheat flour"), ("choco-\nlate, salt", "chocolate, salt"),
    ("glucose-\nfructose syrup", "glucose-fructose syrup"),
])  # fmt: skip
def test_lines_run_on(lines: str, whole: str) -> None:
    assert running(lines) == whole


def test_the_panel_is_told_by_its_rows() -> None:
    lines = ["Oat Bar", "Ingredients: oat flakes, sugar,", "salt, vanilla 2%", "Typical values   per 100 g",
             "Energy   1573 kJ / 376 kcal", "Fat   12 g", "of which saturates   3.1 g", "Salt   0.4 g",
             "Best before: see lid."]  # fmt: skip
    listed, panel = parted([lines])
    assert listed == "Ingredients: oat flakes, sugar, salt, vanilla 2% Best before: see lid."
    assert panel.splitlines() == ["Oat Bar", *lines[3:8]]


def test_every_row_of_an_american_panel_is_the_panels() -> None:
    lines = ["Nutrition Facts", "Serving size   3 pieces (28g)", "Calories   180", "Total Fat   10g   13%",
             "Total Sugars   6g", "Includes   2g Added Sugars   4%", "Protein   Og", "INGREDIENTS: RYE FLOUR,",
             "SALT, COCOA 5%."]  # fmt: skip
    listed, panel = parted([lines])
    assert listed == "INGREDIENTS: RYE FLOUR, SALT, COCOA 5%."
    assert panel.splitlines() == lines[:7]


def test_a_list_alone_has_no_panel() -> None:
    assert parted([["Ingredients: salt,", "sugar 12%, fat 3%"]]) == ("Ingredients: salt, sugar 12%, fat 3%", "")


def test_slips_in_a_panel_that_can_be_nothing_else() -> None:
    assert panel_mended("Energy 1252 k/296 kcal") == "Energy 1252 kJ / 296 kcal"
    assert panel_mended("501 kg/ 118 kcal") == "501 kJ / 118 kcal"
    assert panel_mended("Sodum 50mg, Cholesterpl 0mg") == "Sodium 50mg, Cholesterol 0mg"
    assert panel_mended("Salt 5 kg / 2 g; Sorbet") == "Salt 5 kg / 2 g; Sorbet"


@pytest.mark.parametrize(("word", "sure", "doubtful"), [
    ("kernels,", 0.8, False), ("kernels,", 0.4, True), ("kemels,", 0.99, True), ("glucose-fructose", 0.9, False),
    ("1.8", 0.95, False), ("1.8", 0.85, True), ("g", 0.85, True), ("saturates", 0.7, False), ("Sodum", 0.99, True),
    ("wheatflour", 0.9, False),
])  # fmt: skip
def test_what_is_looked_at_again(word: str, sure: float, doubtful: bool) -> None:
    assert is_doubtful(at(word, 0, 0, sure=sure)) is doubtful
