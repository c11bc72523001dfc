"""Documents in which one value, at any depth, is of another sort: refused with its field, or shown on every page.

Sent by a program, and inside an exported file that someone changed and gave a new checksum.
"""

from __future__ import annotations

import copy
import json
import random
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from batchwright.actions.bench import pasted_document
from batchwright.actions.copies import check, export_to, import_from
from batchwright.actions.demo import FOOD, RECIPES, demo_text
from batchwright.actions.demo_book import fill_demo_book
from batchwright.actions.opened import opened
from batchwright.base.errors import InputError
from tests.store.test_exchange import packed, parts_of
from tests.web.served import Served, served

JUNK: tuple[Any, ...] = (None, True, -1, 0, 1e300, 10**400, 1e-9, "", "x", [], {}, [[]], [None], {"a": 1}, ["x", 3],
                         "\ud800", "a\0b")  # fmt: skip
BRIEF = {"deadline": "", "must": ["crisp"], "nice": ["brown"], "drop": [], "notes": ""}
ORIGINAL = {**tomllib.loads(demo_text(f"{FOOD}.toml")), "match": {"sugar": "brown sugar"}, "know": {"sugar": "5-9"},
            "ingredients": {"x": {"fat_g": 3}}, "measured": {"water_percent": 3}}  # fmt: skip
FORMULA = pasted_document(demo_text(RECIPES[2]))
DOCUMENTS = {"brief": BRIEF, "original": ORIGINAL, "formula": FORMULA}
PAGES = {"brief": ("/original",), "original": ("/original", "/photo", "/history/{thing}"),
         "formula": ("/formula/{thing}", "/formula/{thing}/card", "/formula/{thing}/measures", "/formula",
                     "/formula/{thing}/versions", "/history/{thing}")}  # fmt: skip


def places(document: Any, before: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give the way to every value in a document."""
    inner = document.items() if isinstance(document, dict) else enumerate(document)
    for key, value in inner:
        yield (*before, key)
        if isinstance(value, (dict, list)):
            yield from places(value, (*before, key))


def spoilt(document: dict[str, Any], chance: random.Random) -> tuple[dict[str, Any], tuple[Any, ...]]:
    """Return a document with one value changed, and the way to it."""
    found = copy.deepcopy(document)
    ways = list(places(found))
    way = chance.choice([each for each in ways if len(each) <= chance.randint(1, 8)])
    at = found
    for key in way[:-1]:
        at = at[key]
    at[way[-1]] = chance.choice(JUNK)
    return found, way


def shown(client: TestClient, rebuild: int, thing: int, kind: str) -> list[tuple[str, int]]:
    """Return what every page on which a thing of a kind stands answers."""
    paths = [f"/rebuilds/{rebuild}{page.format(thing=thing)}" for page in PAGES[kind]]
    return [(path, client.get(path).status_code) for path in paths]


@pytest.mark.parametrize("kind", DOCUMENTS)
def test_sent_by_a_program(kind: str, file_kitchen: Served) -> None:
    keeper = file_kitchen.browser()
    rebuild = file_kitchen.rebuild()
    here = f"/api/rebuilds/{rebuild}"
    taken = keeper.post(f"{here}/formulas", json={"text": demo_text(RECIPES[2])}).json()
    thing = taken["revision"]["thing_id"] if kind == "formula" else file_kitchen.opened.book.things(rebuild, kind)[0].id
    where = f"{here}/formulas/{thing}" if kind == "formula" else f"{here}/{kind}"
    chance, refused, kept = random.Random(1), 0, 0
    for _ in range(60):
        document, way = spoilt(DOCUMENTS[kind], chance)
        answer = keeper.put(where, content=json.dumps({"document": document}),
                            headers={"content-type": "application/json"})  # fmt: skip
        assert answer.status_code in (200, 422), (way, answer.text)
        if answer.status_code == 422:
            refused += 1
            assert all(fault["field"] and fault["allowed"] for fault in answer.json()["error"]), way
        else:
            kept += 1
            assert [each for each in shown(keeper, rebuild, thing, kind) if each[1] >= 500] == [], way
    assert refused > 5
    assert kept > 5


@pytest.fixture(scope="module")
def exported(ready_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    (folder / "book.sqlite").write_bytes(ready_file.read_bytes())
    desk = opened(str(folder / "book.sqlite"), workers=0)
    fill_demo_book(desk.book)
    desk.close()
    return export_to(str(folder / "demo.zip"), str(folder / "book.sqlite"))


def changed_file(exported: Path, kind: str, document: Any, target: Path) -> Path:
    """Write the exported file anew with another document in the last revision of a kind, checksums made to fit."""
    parts = parts_of(exported)
    content = json.loads(parts["book.json"])
    things = {row["id"] for row in content["things"] if row["kind"] == kind}
    next(row for row in reversed(content["revisions"]) if row["thing_id"] in things)["document"] = document
    parts["book.json"] = json.dumps(content).encode()
    return packed(parts, target)


def test_a_whole_book_is_taken_in(exported: Path, file_place: str) -> None:
    assert len(import_from(str(exported), file_place)) == 1


WRONG: dict[str, tuple[str, dict[str, Any], str]] = {
    "a formula's grams in words": ("formula", {**FORMULA, "parts": [{"name": "dough", "lines": [
        {"text": "flour", "grams": "lots"}]}]}, "parts 1, line 1, grams"),
    "a yield of what is a number": ("formula", {**FORMULA, "yield": {"text": "makes 3", "what": 3}}, "makes, what"),
    "locks that are no list": ("formula", {**FORMULA, "locks": 3}, "locks"),
    "a formula that is none": ("formula", {"n": 1}, "parts"),
    "must words that are a number": ("brief", {**BRIEF, "must": 7}, "must"),
    "a label that is a list": ("original", {**ORIGINAL, "label": ["flour"]}, "label"),
    "a panel's figure that is a table": ("original", {**ORIGINAL, "panel": {"fat_g": {"a": 1}}}, "panel.fat_g"),
    "a part's weights in a table": ("original", {**ORIGINAL, "teardown": {"parts_g": {"x": {"a": 1}}}},
                                    "teardown.parts_g.x"),
    "a table nobody knows": ("original", {**ORIGINAL, "lable": {}}, "lable"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_in_a_file_is_refused_and_nothing_taken_in(
    name: str, exported: Path, file_place: str, tmp_path: Path
) -> None:
    kind, document, field = WRONG[name]
    bad = changed_file(exported, kind, document, tmp_path / "bad.zip")
    with pytest.raises(InputError) as caught:
        import_from(str(bad), file_place)
    said = caught.value.faults[0].field
    assert said.startswith("FILE: ")
    assert f"{kind} “" in said
    assert field in said
    assert check(file_place).counts["rebuild"] == 0


def test_a_rebuild_without_its_original_is_refused(exported: Path, file_place: str, tmp_path: Path) -> None:
    parts = parts_of(exported)
    content = json.loads(parts["book.json"])
    next(row for row in content["things"] if row["kind"] == "original")["removed"] = True
    parts["book.json"] = json.dumps(content).encode()
    with pytest.raises(InputError, match="one in each rebuild"):
        import_from(str(packed(parts, tmp_path / "bad.zip")), file_place)
    assert check(file_place).counts["rebuild"] == 0


@pytest.mark.parametrize("kind", DOCUMENTS)
def test_in_a_file_is_refused_or_shown(kind: str, exported: Path, file_place: str, tmp_path: Path) -> None:
    chance, taken = random.Random(2), []
    for _ in range(40):
        document, _way = spoilt(DOCUMENTS[kind], chance)
        try:
            taken += import_from(str(changed_file(exported, kind, document, tmp_path / "a.zip")), file_place)
        except InputError:
            continue
    assert 2 < len(taken) < 38
    kitchen = served(file_place)
    keeper = kitchen.browser()
    for rebuild in taken:
        thing = kitchen.opened.book.things(rebuild, kind)[-1].id
        assert [each for each in shown(keeper, rebuild, thing, kind) if each[1] >= 500] == []
    kitchen.opened.close()
