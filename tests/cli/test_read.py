"""`batchwright read`: tree, matches, panel and repairs, as text and as JSON; one label or a file of them."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from batchwright.actions.read import read_label
from batchwright.cli.main import main
from batchwright.pantry.records import MATCH_WAYS

LABEL = """Harbour Lights, oat biscuits with plum
Nutrition Facts
Serving size 2 biscuits (28g)
Calories 130
Total Fat 6g 8%
Saturated Fat 3g 15%
Sodium 70mg 3%
Total Carbohydrate 18g 7%
Dietary Fiber 1g 4%
Total Sugars 7g
Protein 2g

Ingredients: Wheat flour, sugar, butter (12%), plum filling (plums, sugar), contains 2% or less of: salt, baking soda.
Contains: wheat, milk.
"""


def given(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(text.encode())))


def run_json(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert main(["read", *arguments, "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def test_whole_label_on_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    given(monkeypatch, LABEL)
    document = run_json(capsys, "-")
    names = [item["name"] for item in document["ingredients"]]
    assert names == ["wheat flour", "sugar", "butter", "plum filling", "salt", "baking soda"]
    assert document["ingredients"][2]["percent"] == 12
    assert [child["name"] for child in document["ingredients"][3]["children"]] == ["plums", "sugar"]
    assert document["ingredients"][4]["max_percent"] == 2
    assert document["contains"] == ["wheat", "milk"]
    figures = {figure["nutrient"]: figure["printed"] for figure in document["panel"]["figures"]}
    assert figures["fat_g"] == "6"
    assert document["panel"]["serving_g"] == 28


def test_leaves_point_into_the_text_given(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    given(monkeypatch, LABEL)
    document = run_json(capsys, "-")
    assert document["leaves"]
    for leaf in document["leaves"]:
        assert LABEL[leaf["start"] : leaf["end"]].lower() == leaf["name"]
        assert leaf["match"] in MATCH_WAYS
        assert set(leaf) >= {"name", "start", "end", "ingredient", "match"}


def test_repairs_have_their_five_keys(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "label.txt").write_text("Ingredients: sugar, (wheat flour, salt")
    document = run_json(capsys, str(tmp_path / "label.txt"))
    assert document["repairs"]
    for repair in document["repairs"]:
        assert set(repair) == {"kind", "before", "after", "start", "end"}


def test_text_form_shows_tree_panel_and_allergens(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "label.txt").write_text(LABEL)
    assert main(["read", str(tmp_path / "label.txt")]) == 0
    shown = capsys.readouterr().out
    for part in ("plum filling", "  plums", "at most 2 %", "Contains: wheat, milk", "fat 6 g", "5.5 to 6.5"):
        assert part in shown


@pytest.mark.parametrize("text", ["", "   \n", "\U0001f9c1\U0001f9c1", "()()(((", "100%", "%%%", "\x07\x1b[31m"])
def test_odd_text_is_answered(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "label.txt").write_text(text)
    assert main(["read", str(tmp_path / "label.txt")]) == 0
    assert capsys.readouterr().out


def test_batch_answers_every_line_in_order(tmp_path: Path) -> None:
    lines = ['{"id": "a", "statement": "Sugar, salt"}', "broken", '{"id": "b"}', '{"id": 3, "statement": "Milk"}']
    (tmp_path / "in.jsonl").write_text("\n".join(lines) + "\n")
    assert main(["read", "--batch", str(tmp_path / "in.jsonl"), "--out", str(tmp_path / "out.jsonl")]) == 0
    answers = [json.loads(line) for line in (tmp_path / "out.jsonl").read_text().splitlines()]
    assert [answer["id"] for answer in answers] == ["a", None, "b", 3]
    assert [item["name"] for item in answers[0]["ingredients"]] == ["sugar", "salt"]
    for answer in answers[1:3]:
        assert set(answer["error"]) == {"field", "value", "allowed", "hint"}


def test_neither_file_nor_batch_is_a_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read"]) == 2
    assert "FILE" in capsys.readouterr().err


def test_a_list_without_a_panel_has_none() -> None:
    assert "panel" not in read_label("Sugar, wheat flour, salt").to_json()
