"""`batchwright measures`: the sentence, the table, the marks, JSON, standard input, faults in words."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from batchwright.cli.main import main

RECIPE = """
[formula]
name = "Oat rounds"

[[parts]]
name = "Dough"
lines = [
  "213 g all-purpose flour", "95 g sugar", "131 g butter", "55 g egg", "2.1 g baking soda", "3.3 g salt",
  "salt, to taste",
]

[[parts]]
name = "Filling"
lines = ["120 g icing sugar", "60 g butter", "0.2 g salt"]
"""


@pytest.fixture
def recipe(tmp_path: Path) -> str:
    path = tmp_path / "recipe.toml"
    path.write_text(RECIPE, encoding="utf-8")
    return str(path)


def test_text(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measures", recipe, "--convention", "dip and sweep"]) == 0
    text = capsys.readouterr().out
    first, *rest = text.split("\n\n")
    assert first.startswith("Written ")
    assert "1 cup all-purpose flour = 142 g, dip and sweep" in " ".join(first.split())
    assert "Weigh: all-purpose flour" in " ".join(first.split())
    table = rest[0].splitlines()
    assert table[0].split() == ["grams", "writing", "%", "of", "flour", "after", "moved"]
    assert [line for line in table if line.startswith(("Dough", "Filling"))] == ["Dough", "Filling"]
    assert any("butter" in line and "1 stick" in line for line in table)
    assert "salt (Filling): too little for the smallest spoon" in text
    assert "to taste" in text


def test_json_and_standard_input(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(RECIPE.encode())))
    assert main(["measures", "-", "--json", "--rescale", "0"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert (document["convention"], document["factor"], document["gap"]) == ("spooned", 1.0, 0.0)
    flour = document["lines"][0]
    assert flour["text"] == "1 3/4 cups"
    assert flour["grams"] == pytest.approx(210, abs=0.01)  # 1 3/4 cups of 120 g
    assert flour["percent_before"] == pytest.approx(100)
    assert len(document["lines"]) == 10


def test_metric(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measures", recipe, "--units", "metric"]) == 0
    text = capsys.readouterr().out
    assert "cup" not in text
    assert "spoon" not in text.split("\n\n")[1]
    assert "1 large" in text


@pytest.mark.parametrize(("options", "said"), [
    (["--convention", "by the handful"], "dip and sweep"),
    (["--rescale", "80"], "0 to 50"),
])  # fmt: skip
def test_faults(recipe: str, options: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measures", recipe, *options]) == 2
    assert said in capsys.readouterr().err


def test_a_line_that_cannot_be_read_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    recipe = tmp_path / "recipe.txt"
    recipe.write_text("1/0 cup flour\n2 cups sugar\nsalt to taste\n")
    assert main(["measures", str(recipe)]) == 0
    printed = capsys.readouterr().out
    assert "Without an amount: flour." in printed
    assert 'no grams are known for "1/0 cup flour"' in printed
    assert "as you like" in printed
