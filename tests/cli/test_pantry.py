"""`batchwright pantry`: find, show and import, as text and as JSON; nothing is ever called free of allergens."""

from __future__ import annotations

import io
import json
from types import SimpleNamespace
from typing import Any

import pytest

from batchwright.cli.main import main


def shown(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["pantry", *arguments]) == 0
    return capsys.readouterr().out


def test_find_says_how_a_label_would_be_taken(capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(capsys, "find", "brown", "sugar")
    assert 'On a label "brown sugar" is taken as brown sugar' in text
    assert "kcal/100 g" in text


def test_find_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    document: dict[str, Any] = json.loads(shown(capsys, "find", "--json", "honey"))
    assert document["match"]["ingredient"] == "honey"
    assert "honey" in [one["name"] for one in document["found"]]


def test_find_reads_standard_input(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(b"honey\n")))
    assert "taken as honey" in shown(capsys, "find", "-")


def test_show_has_composition_measures_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(capsys, "show", "honey")
    for part in ("honey (syrup)", "per 100 g", "lots lie within", "carbohydrate", "Source: "):
        assert part in text


def test_show_by_another_name(capsys: pytest.CaptureFixture[str]) -> None:
    document: dict[str, Any] = json.loads(shown(capsys, "show", "--json", "all-purpose flour"))
    assert document["name"] == "wheat flour"
    assert document["per_100_g"]["protein_g"]["low"] < document["per_100_g"]["protein_g"]["high"]


@pytest.mark.parametrize(("name", "allergen"), [("wheat flour", "wheat"), ("butter", "milk"), ("whole egg", "egg"),
                                                ("walnuts", "tree nuts"), ("soy lecithin", "soy")])  # fmt: skip
def test_show_warns_of_allergens(name: str, allergen: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(capsys, "show", name)
    line = next(line for line in text.splitlines() if line.startswith(("Carries: ", "May carry")))
    assert allergen in line


@pytest.mark.parametrize("name", ["salt", "honey", "some oil"])
def test_nothing_is_cleared(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(capsys, "show", *name.split()).lower()
    assert "pack" in text
    assert "allergen-free" not in text
    assert "free of" not in text


def test_unknown_name_is_a_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pantry", "show", "qwertyuiop"]) == 2
    assert "NAME: got 'qwertyuiop'" in capsys.readouterr().err


def test_import_from_a_folder_that_is_none(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pantry", "import", str(tmp_path)]) == 2
    assert "food.csv" in capsys.readouterr().err
