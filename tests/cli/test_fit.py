"""The command fit, end to end."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest

from batchwright.cli.main import main

RECIPE = """Quay biscuits
300 g flour
140 g butter
200 g brown sugar
1 large egg
1 tsp baking soda
1/2 tsp salt
Bake at 180 C for 12 minutes.
"""
ORIGINAL = '''[food]
name = "Quay Crisps"
sort = "biscuit"
baked = true
[label]
text = """Ingredients: Enriched flour (wheat flour, niacin, reduced iron, thiamin mononitrate, riboflavin, folic acid),
sugar, palm oil, brown sugar, molasses, contains 2% or less of: baking soda, salt, soy lecithin."""
[panel]
scheme = "US"
basis = "per serving"
serving_g = 30
energy_kcal = 140
fat_g = 4.5
saturated_fat_g = 2
sodium_mg = 85
carbohydrate_g = 23
fiber_g = 1
sugars_g = 9
protein_g = 2
'''
FILLING = "Nut filling\n240 g icing sugar\n160 g roasted hazelnuts\n80 g palm oil\n20 g cocoa powder\n"


@pytest.fixture
def recipe(tmp_path: Path) -> str:
    path = tmp_path / "recipe.txt"
    path.write_text(RECIPE)
    return str(path)


def printed(arguments: list[str], capsys: pytest.CaptureFixture[str], code: int = 0) -> str:
    assert main(["fit", *arguments]) == code
    found = capsys.readouterr()
    return found.out if code == 0 else found.err


def as_json(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    found = json.loads(printed([*arguments, "--json"], capsys))
    assert isinstance(found, dict)
    return found


def test_targets_in_words_and_grams(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    said = printed([recipe, "--target", "fat 15..17", "--target", "sugars <= 29"], capsys)
    assert said.startswith("Every target is met by changing")
    assert "butter 140 to" in said
    assert "% of flour before" in said
    assert "100 g of the finished food hold" in said


def test_the_fitted_formula_is_taken_by_every_command(recipe: str, capsys: pytest.CaptureFixture[str],
                                                      tmp_path: Path) -> None:  # fmt: skip
    found = as_json([recipe, "--target", "fat 15..17"], capsys)
    assert found["met"]
    assert found["sentence"].startswith("Every target is met by changing 1 line: butter 140 to")
    assert all(each["low"] <= each["after"] + 0.01 and each["after"] - 0.01 <= each["high"]
               for each in found["composition"])  # fmt: skip
    again = tmp_path / "fitted.json"
    again.write_text(json.dumps(found))
    second = as_json([str(again), "--target", "fat 15..17.1"], capsys)
    assert second["met"]
    assert second["changes"] == []


def test_toward_an_original(recipe: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    original = tmp_path / "original.toml"
    original.write_text(ORIGINAL)
    found = as_json([recipe, "--toward", str(original)], capsys)
    told = [each for each in found["targets"] if not each["preference"]]
    before = sum(max(0.0, (each["low"] or 0) - each["before"], each["before"] - (each["high"] or 1e9)) for each in told)
    assert sum(each["missed"] for each in told) < 0.05 * before
    assert "water as mixed" in [each["name"] for each in found["targets"] if each["preference"]]
    flour = next(line for line in found["lines"] if line["name"] == "flour")
    assert flour["before_g"] == flour["after_g"]
    came = [line["name"] for line in found["changes"] if line["entering"]]
    assert "palm oil" in came
    assert any("let in from the label" in note for note in found["notes"])
    own = as_json([recipe, "--toward", str(original), "--own-only"], capsys)
    assert not any(line["entering"] for line in own["changes"])
    said = printed([recipe, "--toward", str(original)], capsys)
    assert "bake until" in said


def test_less_sweet_with_the_same_body(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "filling.txt"
    path.write_text(FILLING)
    asked = [str(path), "--less-sweet", "20", "--same-body", "--on-hand", "hazelnuts, skimmed milk powder, honey"]
    found = as_json(asked, capsys)
    assert found["met"]
    told = {each["name"]: each for each in found["targets"]}
    assert 77.9 <= told["sweetness"]["after"] <= 80.1
    assert {"fat as mixed", "powder share", "water as mixed"} <= set(told)
    assert "honey" not in [line["name"] for line in found["changes"]]
    assert sum(line["after_g"] for line in found["lines"]) == pytest.approx(500, abs=0.1)
    bare = printed([str(path), "--less-sweet", "50", "--same-body"], capsys)
    assert "Not every target can be met" in bare
    assert "These cannot hold together" in bare
    assert "less sweet can be reached" in bare


def test_rules_from_a_file_and_prices(recipe: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rules = tmp_path / "rules.toml"
    rules.write_text("""on_hand = ["sunflower oil"]
locks = ["egg"]
[targets]
fat = "16..18"
cost = "<= 3.2"
[prices]
flour = 1.1
butter = 11
"brown sugar" = 2.4
egg = "5/kg"
"baking soda" = 8
salt = 1
"sunflower oil" = 3
""")
    found = as_json([recipe, "--rules", str(rules)], capsys)
    assert found["met"]
    assert {each["name"] for each in found["targets"]} == {"fat", "cost"}
    assert [line["name"] for line in found["changes"] if line["entering"]] == ["sunflower oil"]


def test_standard_input(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(RECIPE.encode())))
    assert "butter" in printed(["-", "--target", "fat 15..17"], capsys)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "at least one wish"),
        (["--target", "fat 15..17", "--lock", "gravel"], "gravel"),
        (["--target", "dragons 3"], "dragons"),
        (["--target", "fat 20..10"], "smaller figure first"),
        (["--target", "class nuts and seeds >= 10"], "no line has any"),
        (["--target", "fat -3..4"], "0 or more"),
        (["--target", "cost <= 3"], "price"),
        (["--less-sweet", "120"], "less than 100"),
        (["--same-body", "--target", "fat 15..17"], "--less-sweet"),
        (["--target", "fat 15..17", "--lock", "flour", "--bounds", "flour=10..20"], "locked"),
        (["--target", "fat 15..17", "--bounds", "flour=10..20"], "can hold together"),
        (["--target", "fat 15..17", "--on-hand", "moon dust"], "moon dust"),
        (["--target", "fat 15..17", "--step", "butter=-2"], "grams above 0"),
        (["--target", "fat 15..17", "--part", "roof"], "roof"),
    ],
)
def test_bad_input_is_said(arguments: list[str], said: str, recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    told = printed([recipe, *arguments], capsys, code=2)
    assert said in told
    assert "Traceback" not in told


@pytest.mark.parametrize("text", ["targets = 3\n", "wishes = 1\n", "[targets\n", 'locks = "egg"\n'])
def test_bad_rules_files(text: str, recipe: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rules = tmp_path / "rules.toml"
    rules.write_text(text)
    assert "rules file" in printed([recipe, "--rules", str(rules)], capsys, code=2)


def test_no_amounts_and_no_flour(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "bare.txt"
    path.write_text("Flour\nButter\n")
    printed([str(path), "--target", "fat 20"], capsys, code=2)
    path.write_text(FILLING)
    assert "no flour" in printed([str(path), "--target", "fat 30..40", "--keep", "flour"], capsys, code=2)
