"""`batchwright demo`: the invented food is lawful, its truth is apart from its label, the answer is held to it."""

from __future__ import annotations

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path
from typing import Any

import pytest

from batchwright.actions.demo import Demonstration, Truth, demo_text, demonstrate, truths_of
from batchwright.base.estimate import Estimate
from batchwright.cli.demo import truth_text
from batchwright.cli.demo_book import show_demo_book
from batchwright.cli.main import main
from batchwright.original.panels.panel import read_panel


@pytest.fixture(scope="module")
def shown() -> Demonstration:
    return demonstrate()


def test_every_printed_figure_is_on_a_lawful_step() -> None:
    label = tomllib.loads(demo_text("ferry_boats.toml"))
    for panel in (label["panel"], *label["panels"]):
        read = read_panel(panel)
        assert [figure.line for figure in read.figures if not figure.lawful] == []
        assert read.scheme == "US"


def test_truth_keeps_the_order_of_the_list() -> None:
    truth = tomllib.loads(demo_text("ferry_boats_truth.toml"))
    text = " ".join(tomllib.loads(demo_text("ferry_boats.toml"))["label"]["text"].lower().split())
    start = 0
    for part in ("pastry", "walnut filling"):
        start = text.index(part, start)
        for name in truth[part]:
            start = text.index(name, start) if name not in ("baking soda", "corn starch") else start
    sums = [sum(truth[part].values()) for part in ("pastry", "walnut filling")]
    assert sums == sorted(sums, reverse=True)
    filling = list(truth["walnut filling"].values())
    assert filling == sorted(filling, reverse=True)


def test_every_true_figure_is_answered(shown: Demonstration) -> None:
    assert [truth.name for truth in shown.truths if truth.estimate is None] == []
    assert sum(truth.true_percent for truth in shown.truths if truth.part) == pytest.approx(100)


def test_sure_ranges_of_shares_hold_the_truth(shown: Demonstration) -> None:
    assert [truth.name for truth in shown.truths if truth.part and not truth.within_sure] == []


def test_answer_fits_the_label_and_has_two_parts(shown: Demonstration) -> None:
    assert shown.answer.consistent
    assert [part.name for part in shown.answer.parts] == ["pastry", "walnut filling"]
    assert {share.part for share in shown.answer.ingredients} == {"pastry", "walnut filling"}


def test_a_truth_outside_is_told(shown: Demonstration) -> None:
    far = Truth("sugar", "pastry", 60.0, Estimate(10, 8, 12, 5, 20))
    text = truth_text(Demonstration(shown.label, shown.answer, (far, Truth("honey", "", 1.0, None))))
    assert "outside" in text
    assert "not answered" in text
    assert "Of 2 true figures the likely ranges hold 0, the sure ranges 0." in text


def test_truth_without_an_answer_counts_as_missed(shown: Demonstration) -> None:
    truth = {"pastry": {"saffron": 1.0}, "bake_loss_percent": 1.0, "dough_water_percent": 1.0}
    assert truths_of(truth, shown.answer)[0].estimate is None


def test_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    text = capsys.readouterr().out
    for part in ("Ferry Boats", "walnut filling", "likeliest", "held to its true formula"):
        assert part in text
    assert re.search(r"Of \d+ true figures the likely ranges hold \d+, the sure ranges \d+\.", text)


def test_json_of_the_packet(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--packet", "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert set(document) == {"label", "answer", "truth"}
    assert document["answer"]["consistent"] is True


def test_json_of_the_whole_way(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert set(document) == {"label", "answer", "truth", "recipes", "comparison", "fit", "card"}
    assert [len(recipe["parts"]) for recipe in document["recipes"]] == [2, 2, 2]
    distances = [recipe["distance"]["likely"] for recipe in document["comparison"]["recipes"]]
    assert distances == sorted(distances)
    assert document["fit"]["met"] is True
    assert "milk" in document["card"]["allergens"]["text"]


def test_the_way_in_words_ends_with_the_card(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    said = capsys.readouterr().out
    heads = re.findall(r"^== (.*) ==$", said, re.M)
    assert heads == ["The packet", "What it is made of", "Held to the truth", "Three recipes in grams",
                     "Beside the original", "The nearest, fitted", "The card"]  # fmt: skip
    assert "Check the packs you buy." in said


def test_as_a_book_every_page_is_fetched(capsys: pytest.CaptureFixture[str]) -> None:
    assert show_demo_book() == 0
    said = capsys.readouterr().out
    assert "16 pages fetched, 0 of them faulty." in said


def test_show_prints_the_label_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--show"]) == 0
    assert tomllib.loads(capsys.readouterr().out)["food"]["name"] == "Ferry Boats"


def test_with_a_terminal_it_stays_until_ctrl_c_and_ends_well(tmp_path: Path) -> None:
    inside, terminal = pty.openpty()
    env = {**os.environ, "BROWSER": "true", "TMPDIR": str(tmp_path)}  # a browser that opens nothing
    begun = "from batchwright.cli.main import main; raise SystemExit(main())"
    command = [sys.executable, "-c", begun, "demo", "--book"]
    running = subprocess.Popen(command, stdout=terminal, stderr=terminal, stdin=terminal, env=env)
    said = b""
    while b"Ctrl-C ends it" not in said:
        assert select.select([inside], [], [], 60)[0]
        said += os.read(inside, 10_000)
    time.sleep(1.0)  # the server is up by then; a moment earlier Ctrl-C ends it as well, but as what was broken off
    running.send_signal(signal.SIGINT)
    assert running.wait(20) == 0
    assert b"Closed." in os.read(inside, 10_000)
    assert list(tmp_path.iterdir()) == []  # its book is gone with it
    os.close(inside)
    os.close(terminal)
