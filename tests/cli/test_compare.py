"""`batchwright compare` as a cook calls it."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from batchwright.cli.main import main
from tests.actions.test_compare import OTHER, RECIPE, SNAPS


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    texts = {"food.toml": SNAPS, "ginger.txt": RECIPE, "oat.txt": OTHER, "larder.txt": "golden syrup\nlard\n"}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return {name: str(tmp_path / name) for name in texts}


def test_sentence_first_then_the_table(files: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", files["food.toml"], files["oat.txt"], files["ginger.txt"], "--only", "supermarket"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Ginger biscuits is nearest to Capstan ginger biscuits")
    rows = {line.split("  ")[1].strip(): line for line in text.splitlines() if line.startswith("  ")}
    assert {"water", "fat", "saturated fat", "sugars", "protein", "fibre", "salt", "egg"} <= set(rows)
    assert "▲" in rows["egg"]
    assert text.index("original") < text.index("nearest first") < text.index("first moves for Ginger biscuits")
    assert "1. " in text
    assert max(len(line) for line in text.splitlines()) <= 110


def test_words_where_the_terminal_draws_no_shapes(files: dict[str, str], monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    plain = io.TextIOWrapper(raw, encoding="ascii", errors="replace")
    monkeypatch.setattr(sys, "stdout", plain)
    assert main(["compare", files["food.toml"], files["ginger.txt"]]) == 0
    plain.flush()
    text = raw.getvalue().decode("ascii")
    assert " over" in text
    assert " in" in text


def test_json(files: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", files["food.toml"], files["ginger.txt"], "--json", "--moves", "2", "--vegan"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert plain["original"] == "Capstan ginger biscuits"
    assert len(plain["moves"]["moves"]) <= 2
    assert {move["required"] for move in plain["moves"]["moves"]} == {True}  # butter and egg
    relations = {axis["relation"] for axis in plain["recipes"][0]["axes"]}
    assert relations <= {"inside", "above", "below"}


def test_the_recipe_after_the_moves_is_taken_back(files: dict[str, str], tmp_path: Path,
                                                  capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    assert main(["compare", files["food.toml"], files["ginger.txt"], "--json"]) == 0
    first = json.loads(capsys.readouterr().out)["moves"]
    again = tmp_path / "after.json"
    again.write_text(json.dumps(first["formula"]), encoding="utf-8")
    assert main(["compare", files["food.toml"], str(again), "--json", "--moves", "0"]) == 0
    after = json.loads(capsys.readouterr().out)["recipes"][0]["distance"]["likely"]
    assert after == pytest.approx(first["distance_after"], abs=0.01)


def test_on_hand_from_a_file_and_standard_input(
    files: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(RECIPE.encode())))
    assert main(["compare", files["food.toml"], "-", "--on-hand", files["larder.txt"], "--json"]) == 0
    moves = json.loads(capsys.readouterr().out)["moves"]["moves"]
    entered = {move["item"] for move in moves if move["from_g"] == 0.0} | {
        move["for"]["item"] for move in moves if "for" in move
    }
    assert entered <= {"golden syrup", "lard", "water"}


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--lock", "saffron"], "--lock"),
        (["--lock", "butter", "--vegan"], "butter is of animal origin"),
        (["--no", "moonstone"], "--no"),
        (["--on-hand", "unobtainium"], "--on-hand"),
        (["--moves", "9"], "--moves"),
        (["--lock", "flour", "--lock", "butter", "--lock", "sugar", "--lock", "egg", "--lock", "ginger", "--lock",
          "baking soda", "--on-hand", "water", "--no", "water"], "at least one line"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said(
    files: dict[str, str], capsys: pytest.CaptureFixture[str], options: list[str], said: str
) -> None:
    assert main(["compare", files["food.toml"], files["ginger.txt"], *options]) == 2
    assert said in capsys.readouterr().err


def test_missing_files_and_two_pipes(files: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", files["food.toml"], "/nowhere/recipe.txt"]) == 2
    assert main(["compare", "-", "-"]) == 2
    assert "standard input once" in capsys.readouterr().err
