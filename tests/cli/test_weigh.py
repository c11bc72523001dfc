"""`batchwright weigh`: a recipe and unrelated lines, as text and as JSON; faults in words, nothing lost."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from batchwright.cli.main import main

RECIPE = """Lantern biscuits

Dough
2 1/2 cups flour
1 stick + 2 Tbsp. butter, soft
1 cup packed brown sugar
1 lg. egg
1 tsp. soda
salt to taste

Filling
1/2 cup peanut butter

1. Cream butter and sugar. Bake at 350 F for 10 to 12 minutes.
"""


@pytest.fixture
def recipe(tmp_path: Path) -> str:
    path = tmp_path / "recipe.txt"
    path.write_text(RECIPE, encoding="utf-8")
    return str(path)


def piped(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(text.encode())))


def shown(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["weigh", *arguments]) == 0
    return capsys.readouterr().out


def test_a_recipe_as_a_cook_reads_it(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(capsys, recipe)
    for part in (
        " in all, ",
        "of it flour",
        "Dough",
        "Filling",
        "2 1/2 cups flour",
        "of flour %",
        "by convention",
        "US cup",
    ):
        assert part in text, part
    flour = next(line for line in text.splitlines() if line.startswith("2 1/2 cups flour"))
    assert "*" in flour


def test_a_chosen_convention_takes_the_mark_away(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(capsys, recipe, "--convention", "dip and sweep")
    flour = next(line for line in text.splitlines() if line.startswith("2 1/2 cups flour"))
    assert "355" in flour
    assert "*" not in flour
    assert "cups: dip and sweep" in text


def test_json_has_the_keys_that_other_commands_read(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    document: dict[str, Any] = json.loads(shown(capsys, recipe, "--json"))
    assert {"name", "parts", "unread", "flour_g", "total_g", "convention", "yield", "method", "notes"} <= set(document)
    line = document["parts"][0]["lines"][0]
    keys = [
        "text",
        "amount",
        "unit",
        "item",
        "preparation",
        "ingredient",
        "match",
        "grams",
        "assumptions",
        "doubt_percent",
    ]
    assert set(keys) <= set(line)
    assert line["amount"] == {"low": 2.5, "high": 2.5}
    assert line["unit"] == "cup"
    assert line["grams"]["low"] < line["grams"]["likely"] < line["grams"]["high"]
    weighed = [one["grams"]["likely"] for part in document["parts"] for one in part["lines"] if one["grams"]]
    assert document["total_g"] == pytest.approx(sum(weighed), abs=0.1)
    assert document["flour_g"] == line["grams"]["likely"]


def test_what_it_prints_it_reads_back(
    recipe: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = shown(capsys, recipe, "--json")
    piped(monkeypatch, first)
    again = json.loads(shown(capsys, "-", "--json"))
    lines = [[line for part in document["parts"] for line in part["lines"]] for document in (json.loads(first), again)]
    for line in (*lines[0], *lines[1]):
        line.pop("doubt_percent")  # reckoned anew from grams to a hundredth
    assert lines[0] == lines[1]


def test_lines_in_order_one_object_each(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    lines = ["1 cup flour", "zzz ???", "2 large eggs", "½ cup sugar", "sel, une pincée", "1/0 cup milk", "-2 cups milk"]
    piped(monkeypatch, "\n\n".join(lines) + "\n")
    out = shown(capsys, "--lines", "-", "--json").splitlines()
    assert [json.loads(line)["text"] for line in out] == lines
    assert json.loads(out[0])["also"] == []
    assert json.loads(out[5])["grams"] is None
    assert json.loads(out[5])["assumptions"]


def test_a_line_ends_where_a_line_ends(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Form feeds and the like stand within pasted lines: as many come out as went in."""
    piped(monkeypatch, "1 cup\x0csugar\r\n2 eggs\u20281 yolk\n   \n\x85 3 tbsp milk\n((((\n")
    out = shown(capsys, "--lines", "-", "--json").splitlines()
    assert len(out) == 4
    assert json.loads(out[0])["amount"] == {"low": 1.0, "high": 1.0}


def test_lines_as_text_say_what_the_shelf_takes_them_for(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    piped(monkeypatch, "1 cup AP flour\n1 cup xylofruit\n")
    text = shown(capsys, "--lines", "-")
    assert "wheat flour" in text
    assert "not on the shelf" in text


def test_cocoa_counts_as_flour_where_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "recipe.txt"
    path.write_text("Ember squares\n\n100 g flour\n50 g cocoa\n75 g sugar\n", encoding="utf-8")
    plain = json.loads(shown(capsys, str(path), "--json"))
    counted = json.loads(shown(capsys, str(path), "--json", "--count", "cocoa"))
    assert (plain["flour_g"], counted["flour_g"]) == (100, 150)


def faults(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["weigh", *arguments]) == 2
    return capsys.readouterr().err


def test_an_unknown_convention(recipe: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = faults(capsys, recipe, "--convention", "by eye")
    assert "by eye" in text
    assert "dip and sweep" in text


@pytest.mark.parametrize("arguments", [(), ("--lines", "a.txt", "b.txt"), ("no-such-file.txt",)])
def test_what_is_missing_is_named(arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert "FILE" in faults(capsys, *arguments)


def test_nothing_to_weigh(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    piped(monkeypatch, "\n \n")
    assert "lines" in faults(capsys, "--lines", "-")
