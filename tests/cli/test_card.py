"""`batchwright card`: every form, the method from a file, faults in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from batchwright.cli.main import main

RECIPE = """Pier Lamps

Makes 12 biscuits

1 1/4 cups all-purpose flour
1/2 cup unsalted butter
1 cup moon dust

1. Heat the oven to 350°F.
2. Bake for 12 minutes.
"""


@pytest.fixture
def recipe(tmp_path: Path) -> str:
    path = tmp_path / "recipe.txt"
    path.write_text(RECIPE, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("form", "start"),
    [("text", "Pier Lamps\n====="), ("markdown", "# Pier Lamps"), ("html", "<!doctype html>"), ("jsonld", "{")],
)
def test_forms(recipe: str, capsys: pytest.CaptureFixture[str], form: str, start: str) -> None:
    assert main(["card", recipe, "--form", form]) == 0
    printed = capsys.readouterr().out
    assert printed.startswith(start)
    assert "moon dust" in printed
    assert "Not complete:" in printed


def test_json(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", recipe, "--json", "--confirmed-by", "Ida"]) == 0
    card = json.loads(capsys.readouterr().out)
    assert card["name"] == "Pier Lamps"
    assert card["allergens"]["complete"] is False
    assert card["allergens"]["confirmed_by"] == ""
    assert {"raw_flour"} <= {one["caution"] for one in card["cautions"]}
    assert [len(part["lines"]) for part in card["parts"]] == [3]
    assert "175 °C" in card["steps"][0]["text"]


def test_a_method_of_its_own(recipe: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    steps = tmp_path / "steps.txt"
    steps.write_text("1. Brown the butter.\n2. Serve.\n", encoding="utf-8")
    assert main(["card", recipe, "--method", str(steps)]) == 0
    printed = capsys.readouterr().out
    assert "Brown the butter" in printed
    assert "Hot fat spits" in printed
    assert "12 minutes" not in printed


def test_faults(recipe: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = tmp_path / "empty.txt"
    empty.write_text("Method\n", encoding="utf-8")
    assert main(["card", recipe, "--method", str(empty)]) == 2
    assert "--method" in capsys.readouterr().err
    assert main(["card", "-", "--method", "-"]) == 2


def test_the_json_is_a_recipe_again(recipe: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", recipe, "--json"]) == 0
    first = capsys.readouterr().out
    again = tmp_path / "card.json"
    again.write_text(first, encoding="utf-8")
    assert main(["card", str(again), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["allergens"] == json.loads(first)["allergens"]
