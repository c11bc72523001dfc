"""Batches: one answer a line in input order, whatever single lines hold; the same digits with any number of workers."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from batchwright.actions.batch import answer_line, decode_batch
from batchwright.base.errors import InputError

LABEL = {"id": "biscuit", "statement": "Wheat flour, sugar, palm oil, salt.", "serving_g": 30,
         "panel": {"energy_kcal": 150, "fat_g": 6, "carbohydrate_g": 21, "protein_g": 2,
                   "basis": "per serving"}}  # fmt: skip
BARE = {"id": "bare", "statement": "sugar, cocoa butter, milk"}


def run(tmp_path: Path, lines: list[str], **options: object) -> list[dict[str, object]]:
    given, out = tmp_path / "in.jsonl", tmp_path / "out.jsonl"
    given.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert decode_batch(str(given), str(out), **options) == 0  # type: ignore[arg-type]
    return [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]


def without_time(answers: list[dict[str, object]]) -> list[dict[str, object]]:
    return [{key: value for key, value in answer.items() if key != "ms"} for answer in answers]


def test_order_errors_and_workers(tmp_path: Path) -> None:
    """Good and bad lines keep their places, a bad one names its field, one worker and two give the same digits."""
    lines = [json.dumps(LABEL), "{broken", json.dumps({"id": "no text"}), "[1]", json.dumps(BARE)]
    one = run(tmp_path, lines, workers=1)
    two = run(tmp_path, lines, workers=2)
    assert [answer["id"] for answer in one] == ["biscuit", None, "no text", None, "bare"]
    assert one[2]["error"]["field"] == "statement"  # type: ignore[index]
    assert all(set(answer["error"]) == {"field", "value", "allowed", "hint"} for answer in one[1:4])  # type: ignore[call-overload]
    assert without_time(one) == without_time(two)
    assert [item["name"] for item in one[0]["items"]] == ["Wheat flour", "sugar", "palm oil", "salt"]  # type: ignore[attr-defined]


def test_unfinished_work_is_taken_up(tmp_path: Path) -> None:
    """A line answered by an earlier run of the same program on the same input is kept; a torn last line is not."""
    lines = [json.dumps(LABEL), json.dumps(BARE)]
    first = run(tmp_path, lines, workers=1)
    from batchwright.actions import batch

    digest = batch.hashlib.sha256(f"{batch._program(())}\n{lines[0]}".encode()).hexdigest()[:32]
    marked = {**first[0], "ms": -1}
    (tmp_path / "out.jsonl.unfinished").write_text(
        f"{digest} {json.dumps(marked)}\n{'0' * 32} {{torn", encoding="utf-8"
    )
    again = run(tmp_path, lines, workers=1)
    assert again[0]["ms"] == -1
    assert without_time(again) == without_time(first)
    assert not (tmp_path / "out.jsonl.unfinished").exists()


def test_changed_input_is_answered_anew(tmp_path: Path) -> None:
    """What an earlier run left of other input is not used."""
    (tmp_path / "out.jsonl.unfinished").write_text(f'{"f" * 32} {{"id": "old"}}\n', encoding="utf-8")
    assert run(tmp_path, [json.dumps(BARE)], workers=1)[0]["id"] == "bare"


def test_only_the_promised_keys_are_read() -> None:
    """A truth or a name beside the label changes nothing."""
    plain, told = (
        json.loads(answer_line(json.dumps(LABEL))),
        json.loads(answer_line(json.dumps({**LABEL, "declared": 40}))),
    )
    assert without_time([plain]) == without_time([told])


@pytest.mark.parametrize("options", [{"workers": 0}, {"workers": -3}])
def test_no_workers(tmp_path: Path, options: dict[str, int]) -> None:
    with pytest.raises(InputError) as caught:
        run(tmp_path, [json.dumps(BARE)], **options)
    assert caught.value.faults[0].field == "--workers"


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        decode_batch(str(tmp_path / "none.jsonl"), str(tmp_path / "out.jsonl"))


def test_cluster_of_two(tmp_path: Path) -> None:
    """A Dask scheduler with two workers on this machine gives the same answers."""
    distributed = pytest.importorskip("distributed")
    lines = [json.dumps(LABEL), json.dumps(BARE)]
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        far = run(tmp_path, lines, cluster=cluster.scheduler_address)
    assert without_time(far) == without_time(run(tmp_path, lines, workers=1))
