"""The JSON API: each route once by example, the same digits as the command line, and whatever a program may send."""

from __future__ import annotations

import contextlib
import io
import json
import tomllib
from typing import Any

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode

from batchwright.actions.demo import FOOD, RECIPES, demo_text
from batchwright.cli.main import main
from tests.web.served import HOST, LABEL, RECIPE, Served, sent


@pytest.fixture
def keeper(kitchen: Served) -> TestClient:
    return kitchen.browser()


def printed(*arguments: str) -> Any:
    """Return what a command prints with --json."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main([*arguments, "--json"]) == 0
    return json.loads(out.getvalue())


def timeless(document: Any) -> Any:
    """Return a document without how long it took."""
    if isinstance(document, dict):
        return {key: timeless(value) for key, value in document.items() if key not in ("ms", "seconds")}
    return [timeless(each) for each in document] if isinstance(document, list) else document


def made(keeper: TestClient, pasted: str = LABEL) -> int:
    answer = keeper.post("/api/rebuilds", json={"pasted": pasted, "name": "Shortbread"})
    assert answer.status_code == 201
    return int(answer.json()["rebuild"]["id"])


def test_rebuilds(keeper: TestClient) -> None:
    rebuild = made(keeper)
    assert [each["name"] for each in keeper.get("/api/rebuilds").json()["rebuilds"]] == ["Shortbread"]
    assert keeper.get(f"/api/rebuilds/{rebuild}").json()["set_aside"] is False
    changed = keeper.patch(f"/api/rebuilds/{rebuild}", json={"name": "Sablé", "set_aside": True}).json()
    assert (changed["name"], changed["set_aside"]) == ("Sablé", True)
    assert keeper.get("/api/rebuilds").json()["rebuilds"] == []
    assert len(keeper.get("/api/rebuilds?set_aside=true").json()["rebuilds"]) == 1
    assert keeper.get("/api/rebuilds/77").status_code == 404


def test_an_original_saved_twice_from_one_parent_keeps_both(keeper: TestClient) -> None:
    rebuild = made(keeper)
    here = f"/api/rebuilds/{rebuild}"
    kept = keeper.get(f"{here}/documents/original").json()
    parent, thing = kept["heads"][0]["id"], kept["thing"]["id"]
    first = keeper.put(f"{here}/original", json={"parent": parent, "document": {"label": {"text": "flour"}}}).json()
    second = keeper.put(f"{here}/original", json={"parent": parent, "document": {"label": {"text": "sugar"}}}).json()
    assert (first["beside"], [each["id"] for each in second["beside"]]) == ([], [first["revision"]["id"]])
    heads = keeper.get(f"{here}/documents/original").json()["heads"]
    assert [head["document"]["label"]["text"] for head in heads] == ["sugar", "flour"]
    assert keeper.post(f"{here}/things/{thing}/undo", json={}).status_code == 422
    settled = keeper.post(f"{here}/things/{thing}/settle", json={"keep": heads[1]["id"]}).json()
    assert settled["revision"]["document"]["label"]["text"] == "flour"
    assert len(keeper.get(f"{here}/things/{thing}/history").json()["revisions"]) == 4


def test_settling_leaves_what_its_chooser_never_saw(keeper: TestClient) -> None:
    """A third version is saved while somebody looks at two: the choice between the two does not hide it."""
    here = f"/api/rebuilds/{made(keeper)}"
    kept = keeper.get(f"{here}/documents/original").json()
    parent, thing = kept["heads"][0]["id"], kept["thing"]["id"]

    def save(words: str) -> int:
        document = {"label": {"text": words}}
        saved = keeper.put(f"{here}/original", json={"parent": parent, "document": document}).json()
        return int(saved["revision"]["id"])

    def newest() -> list[str]:
        heads = keeper.get(f"{here}/documents/original").json()["heads"]
        return [head["document"]["label"]["text"] for head in heads]

    seen = [save("flour"), save("sugar")]
    page = keeper.get(f"{here.removeprefix('/api')}/history/{thing}").text
    assert f'name="seen" value="{seen[0]},{seen[1]}"' in page
    save("salt")
    answer = keeper.post(f"{here}/things/{thing}/settle", json={"keep": seen[0], "seen": seen}).json()
    assert [each["document"]["label"]["text"] for each in answer["beside"]] == ["salt"]
    assert newest() == ["flour", "salt"]
    sent(keeper, f"{here.removeprefix('/api')}/history/{thing}/settle", keep=str(answer["revision"]["id"]),
         seen=str(answer["revision"]["id"]))  # fmt: skip
    assert newest() == ["flour", "salt"]


def test_a_save_sent_twice_is_kept_once(keeper: TestClient) -> None:
    here = f"/api/rebuilds/{made(keeper)}"
    body = {"document": {"label": {"text": "flour, oats"}}, "key": "of-a-phone"}
    first, second = (keeper.put(f"{here}/original", json=body).json()["revision"]["id"] for _ in range(2))
    assert first == second


def test_the_brief_undone_and_redone(keeper: TestClient) -> None:
    here = f"/api/rebuilds/{made(keeper)}"
    saved = keeper.put(f"{here}/brief", json={"document": {"deadline": "2026-12-01", "must": ["crisp"]}}).json()
    thing = saved["revision"]["thing_id"]
    undone = keeper.post(f"{here}/things/{thing}/undo", json={}).json()["revision"]["document"]
    assert undone["must"] == []
    redone = keeper.post(f"{here}/things/{thing}/redo", json={}).json()["revision"]["document"]
    assert redone["must"] == ["crisp"]
    assert keeper.post(f"{here}/things/{thing}/redo", json={}).status_code == 422


def test_the_answer_has_the_digits_of_the_command_line(keeper: TestClient, tmp_path: Any) -> None:
    """`decode --json`, the API of a kept and of a posted document, and what the page draws: the same figures."""
    text = demo_text(f"{FOOD}.toml")
    (tmp_path / "food.toml").write_text(text)
    wanted = timeless(printed("decode", str(tmp_path / "food.toml")))
    document = tomllib.loads(text)
    here = f"/api/rebuilds/{made(keeper)}"
    for answer in (keeper.post("/api/decode", json={"document": document}),
                   keeper.post(f"{here}/original/answer", json={"document": document})):  # fmt: skip
        found = timeless(answer.json())
        assert found.pop("sentence")
        assert found == wanted
    assert keeper.put(f"{here}/original", json={"document": document}).status_code == 200
    found = timeless(keeper.get(f"{here}/original/answer").json())
    assert {key: found[key] for key in wanted} == wanted
    mixed = keeper.get(f"{here}/original/answer?mix=500g-flour").json()
    assert mixed["mix"] != found["mix"]


def test_formulas_have_the_digits_of_the_command_line(keeper: TestClient, tmp_path: Any) -> None:
    here = f"/api/rebuilds/{made(keeper)}"
    document = tomllib.loads(demo_text(f"{FOOD}.toml"))
    assert keeper.put(f"{here}/original", json={"document": document}).status_code == 200
    files = []
    for name in RECIPES:
        taken = keeper.post(f"{here}/formulas", json={"text": demo_text(name)})
        assert taken.status_code == 201
        files.append(str(tmp_path / f"{name}.json"))
        (tmp_path / f"{name}.json").write_text(json.dumps(taken.json()["revision"]["document"]))
    (tmp_path / "recipe.txt").write_text(demo_text(RECIPES[0]))
    weighed = keeper.post("/api/weigh", json={"text": demo_text(RECIPES[0])}).json()
    assert weighed == printed("weigh", str(tmp_path / "recipe.txt"))
    listed = keeper.get(f"{here}/formulas").json()["formulas"]
    assert [each["heads"][0]["document"]["pasted"] for each in listed] == [demo_text(name) for name in RECIPES]
    (tmp_path / "food.toml").write_text(demo_text(f"{FOOD}.toml"))
    compared = keeper.get(f"{here}/formulas/compared").json()
    assert sorted(compared.pop("order")) == [0, 1, 2]
    assert compared.pop("formulas") == [each["thing"]["id"] for each in listed]
    wanted = printed("compare", str(tmp_path / "food.toml"), *files)
    for each in (*compared["recipes"], *wanted["recipes"], compared["moves"], wanted["moves"]):
        each.pop("name", each.pop("recipe", None))  # a file's name stands for one that has none
        each.pop("reason", None)
    wanted["moves"]["formula"]["name"] = compared["moves"]["formula"]["name"]
    assert compared == wanted
    one = f"{here}/formulas/{listed[0]['thing']['id']}"
    assert keeper.get(f"{one}/measures").json() == printed("measures", files[0])
    assert keeper.get(f"{one}/card").json() == printed("card", files[0])
    fitted = timeless(keeper.post(f"{one}/fit", json={"less_sweet_percent": 20}).json())
    fitted.pop("document")
    assert fitted == timeless(printed("fit", files[0], "--less-sweet", "20", "--same-body"))


def test_a_formula_is_changed_saved_and_taken_off(keeper: TestClient) -> None:
    here = f"/api/rebuilds/{made(keeper)}/formulas"
    taken = keeper.post(here, json={"text": RECIPE, "name": "Mine"}).json()["revision"]
    one = f"{here}/{taken['thing_id']}"
    changed = keeper.post(f"{one}/amounts", json={"parent": taken["id"], "amounts": {"0": 210.5}, "locked": [1]}).json()
    document = changed["revision"]["document"]
    assert document["parts"][0]["lines"][0]["grams"]["likely"] == 210.5
    assert document["locks"] == ["sugar"]
    assert keeper.post(f"{one}/amounts", json={"amounts": {"99": 1}}).status_code == 422
    saved = keeper.put(one, json={"parent": changed["revision"]["id"], "document": document}).json()
    assert saved["revision"]["document"] == document
    fault = keeper.put(one, json={"document": {"parts": [{"lines": 3}]}}).json()["error"][0]
    assert fault["field"] == "parts 1"
    assert keeper.get(f"{one}").json()["thing"]["name"] == "Mine"
    assert keeper.delete(one).status_code == 204
    assert keeper.get(here).json()["formulas"] == []
    assert keeper.get(f"{here}/compared").status_code == 422


def test_texts_are_read_weighed_and_found(keeper: TestClient, tmp_path: Any) -> None:
    (tmp_path / "label.txt").write_text(LABEL)
    assert keeper.post("/api/read", json={"text": LABEL}).json() == printed("read", str(tmp_path / "label.txt"))
    lines = keeper.post("/api/weigh", json={"text": "1 cup flour\n2 eggs", "lines": True}).json()["lines"]
    assert len(lines) == 2
    assert keeper.get("/api/pantry?find=brown+sugar").json() == printed("pantry", "find", "brown sugar")


def test_faults_are_told_all_together_with_their_fields(keeper: TestClient) -> None:
    here = f"/api/rebuilds/{made(keeper)}"
    panel = {"fat_g": "a dog", "sugars_g": "a cat", "basis": "per 100 g"}
    answer = keeper.post(f"{here}/original/answer", json={"document": {"label": {"text": LABEL}, "panels": [panel]}})
    assert answer.status_code == 422
    faults = answer.json()["error"]
    assert {"field", "value", "allowed", "hint"} == set(faults[0])
    assert [(fault["field"], fault["value"]) for fault in faults] == [("fat_g", "a dog"), ("sugars_g", "a cat")]
    unknown = keeper.put(f"{here}/original", json={"document": {"lable": {"text": "x"}}, "parnt": 3}).json()["error"]
    assert [fault["field"] for fault in unknown] == ["document.lable", "parnt"]
    deep: Any = {}
    for _ in range(40):
        deep = {"a": deep}
    assert keeper.put(f"{here}/original", json={"document": {"know": deep}}).status_code == 422
    broken = keeper.post("/api/read", content=b'{"text": ', headers={"content-type": "application/json"})
    assert broken.status_code == 422
    nested = keeper.post("/api/read", content=b"[" * 100_000, headers={"content-type": "application/json"})
    assert 400 <= nested.status_code < 500
    assert keeper.post("/api/nothing", json={}).json()["error"][0]["field"] == "request"


def test_what_is_being_worked_out_is_asked_for_again(kitchen: Served, keeper: TestClient,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    here = f"/api/rebuilds/{made(keeper)}"
    keeper.post(f"{here}/formulas", json={"text": RECIPE})
    monkeypatch.setattr(kitchen.opened.answers, "within", lambda *_, **__: None)
    for path in (f"{here}/original/answer", f"{here}/formulas/compared"):
        answer = keeper.get(path)
        assert (answer.status_code, answer.json()) == (202, {"working": True})


def test_the_description_is_whole_and_loads_nothing(keeper: TestClient) -> None:
    described = keeper.get("/api/openapi.json").json()
    assert len(described["paths"]) > 20
    for path, methods in described["paths"].items():
        for method, said in methods.items():
            assert said["description"], (method, path)
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert keeper.get(path).status_code == 404


def test_nothing_a_program_sends_breaks_it(file_kitchen: Served) -> None:
    """Whatever the description allows, and what it does not: an answer, or faults in words; never a failure."""
    keeper = file_kitchen.browser()
    keeper.post(f"/api/rebuilds/{made(keeper)}/formulas", json={"text": RECIPE})
    cookie = "; ".join(f"{name}={value}" for name, value in keeper.cookies.items())
    headers = {"origin": file_kitchen.base, "cookie": cookie, "host": HOST}
    description = schemathesis.openapi.from_dict(keeper.get("/api/openapi.json").json())
    description.app = file_kitchen.app
    statuses: set[int] = set()
    for found in description.get_all_operations():
        operation = found.ok()

        @given(case=operation.as_strategy() | operation.as_strategy(generation_mode=GenerationMode.NEGATIVE))
        @settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True,
                  database=None)  # fmt: skip
        def ask(case: Any) -> None:
            if isinstance(case.path_parameters.get("rebuild_id"), int):
                case.path_parameters["rebuild_id"] = 1
            if isinstance(case.path_parameters.get("thing_id"), int):
                case.path_parameters["thing_id"] = 3  # the formula
            response = case.call(base_url=file_kitchen.base, headers=headers)
            statuses.add(response.status_code)
            assert response.status_code < 500, (case.method, case.path, case.body)
            if response.status_code >= 400 and case.method != "HEAD":
                assert json.loads(response.text)["error"][0]["allowed"]

        ask()
    assert {200, 201, 404, 422} <= statuses
