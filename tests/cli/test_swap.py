"""`batchwright swap`: the choices, one swap, a wish, faults."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from batchwright.cli.main import main
from batchwright.formula.records import Formula

RECIPE = "Wafers\n\n300 g all-purpose flour\n120 g palm oil\n140 g sugar\n60 g water\n1 large egg\n"


@pytest.fixture
def recipe(tmp_path: Path) -> str:
    path = tmp_path / "recipe.txt"
    path.write_text(RECIPE, encoding="utf-8")
    return str(path)


def test_choices(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["swap", recipe, "palm oil"]) == 0
    printed = capsys.readouterr().out
    assert "1. butter" in printed
    assert "less water" in printed
    assert "Untested" in printed


def test_one_swap_as_json_is_a_recipe_again(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["swap", recipe, "palm oil", "butter", "--json"]) == 0
    done = json.loads(capsys.readouterr().out)
    assert done["untested"] is True
    assert done["allergens"]["gained"] == ["milk"]
    names = [line["ingredient"] for line in done["formula"]["parts"][0]["lines"]]
    assert names == ["wheat flour", "butter", "sugar", "water", "whole egg"]
    assert Formula.from_json(done["formula"]).parts


def test_swap_in_words(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["swap", recipe, "egg", "best", "--for", "vegan"]) == 0
    printed = capsys.readouterr().out
    assert "flaxseed meal" in printed
    assert "No longer from this line: egg" in printed
    assert "Untested" in printed


def test_a_wish_alone_lists_what_stands_in_its_way(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["swap", recipe, "--for", "no-palm", "--json"]) == 0
    offers = json.loads(capsys.readouterr().out)["offers"]
    assert [offer["ingredient"] for offer in offers] == ["palm oil"]
    assert offers[0]["choices"]


def test_faults(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["lard"], [], ["palm oil", "blorb"]):
        assert main(["swap", recipe, *words]) == 2
    assert "palm oil" in capsys.readouterr().err
