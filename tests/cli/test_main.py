"""The frame of the command line: help at once, faults in words, a closed pipe left quietly."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from types import ModuleType, SimpleNamespace
from typing import Any, cast

import pytest

from batchwright.base.errors import Fault, InputError
from batchwright.cli import main as cli
from batchwright.cli.terminal import given_text


def start(*arguments: str) -> subprocess.CompletedProcess[str]:
    program = f"import sys; from batchwright.cli.main import main; sys.exit(main({list(arguments)!r}))"
    return subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, input="")


def test_help_names_every_command() -> None:
    done = start("--help")
    assert done.returncode == 0
    for command in cli.COMMANDS:
        assert command.word in done.stdout


@pytest.mark.parametrize("word", [command.word for command in cli.COMMANDS])
def test_each_command_has_help_with_one_example(word: str) -> None:
    done = start(word, "--help")
    assert done.returncode == 0, done.stderr
    assert "Example: " in done.stdout
    assert f"batchwright {word}" in done.stdout


def test_help_imports_nothing_heavy() -> None:
    program = (
        "import sys; from batchwright.cli.main import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print('HEAVY', [m for m in sys.modules if m.split('.')[0] in ('numpy', 'highspy', 'scipy')])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.endswith("HEAVY []\n")


def test_help_starts_within_twelve_bare_interpreters() -> None:
    def best(program: str) -> float:
        times = []
        for _ in range(5):
            begin = time.perf_counter()
            subprocess.run([sys.executable, "-c", program], stdout=subprocess.DEVNULL, check=False)
            times.append(time.perf_counter() - begin)
        return min(times)

    assert best("from batchwright.cli.main import main; main(['--help'])") <= 12 * best("pass")


def test_unknown_command_is_refused_with_the_known_ones() -> None:
    done = start("bake")
    assert done.returncode == 2
    assert "decode" in done.stderr


def test_without_a_command_there_is_help() -> None:
    done = start()
    assert done.returncode == 0
    assert "commands:" in done.stdout


def failing(error: BaseException) -> ModuleType:
    def run(args: argparse.Namespace) -> int:
        raise error

    return cast(ModuleType, SimpleNamespace(run=run))


FAULTS = InputError([Fault("serving_g", 0, "above 0", "Look at the panel's head."), Fault("fat_g", -1, "0 or more")])


def test_every_fault_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(failing(FAULTS), argparse.Namespace()) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "serving_g: got 0; allowed: above 0. Look at the panel's head." in told.err
    assert "fat_g: got -1; allowed: 0 or more." in told.err


def test_every_fault_is_told_in_json_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(failing(FAULTS), argparse.Namespace(json=True)) == 2
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert [fault["field"] for fault in document["error"]] == ["serving_g", "fat_g"]
    assert set(document["error"][0]) == {"field", "value", "allowed", "hint"}


def test_ctrl_c_leaves_quietly(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(failing(KeyboardInterrupt()), argparse.Namespace()) == 130
    assert capsys.readouterr() == ("", "")


def test_closed_pipe_leaves_quietly() -> None:
    program = (
        "import sys, argparse; from types import SimpleNamespace; from batchwright.cli.main import run\n"
        "def talk(args):\n    for _ in range(100000): print('x' * 80)\n    return 0\n"
        "sys.exit(run(SimpleNamespace(run=talk), argparse.Namespace()))"
    )
    reader, writer = os.pipe()
    process = subprocess.Popen([sys.executable, "-c", program], stdout=writer, stderr=subprocess.PIPE)
    os.close(writer)
    os.read(reader, 10)
    os.close(reader)
    _, told = process.communicate(timeout=30)
    assert told == b""
    assert process.returncode == 141


def test_text_of_a_file_in_an_old_encoding(tmp_path: Any) -> None:
    (tmp_path / "label.txt").write_bytes("Crème, purée".encode("cp1252"))
    assert given_text(str(tmp_path / "label.txt")) == "Crème, purée"


@pytest.mark.parametrize("name", ["missing.toml", ".", "picture.png"])
def test_what_is_no_text_is_refused(name: str, tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "picture.png").write_bytes(b"\x89PNG\0\0")
    with pytest.raises(InputError, match="FILE"):
        given_text(name)
