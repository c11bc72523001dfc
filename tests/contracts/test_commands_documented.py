"""Every command and every option stands in docs/reference/commands.md; every link among the pages leads somewhere."""

from __future__ import annotations

import argparse
import importlib.util
import re
from types import ModuleType

import pytest

from batchwright.cli.main import COMMANDS, build_parser
from batchwright.original.labels.file import label_from_text
from tests.contracts.source_tree import TOP


def reference_writer() -> ModuleType:
    spec = importlib.util.spec_from_file_location("write_reference", TOP / "docs" / "write_reference.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def subparsers(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    return dict(reference_writer().parsers_below(parser))


@pytest.mark.parametrize("word", [command.word for command in COMMANDS])
def test_command(word: str) -> None:
    page = (TOP / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    parser = subparsers(build_parser(word))[word]
    below = {f"{word} {inner}": each for inner, each in subparsers(parser).items()}
    for name, each in {word: parser, **below}.items():
        heading = f"## batchwright {name}\n"
        assert heading in page, f"{name} is not documented: make docs"
        section = re.split(r"\n##+ ", page.split(heading, 1)[1])[0]
        options = [option for action in each._actions for option in action.option_strings if option.startswith("--")]
        assert [option for option in options if option not in section] == [], f"{name}: make docs"


@pytest.mark.parametrize("word", [command.word for command in COMMANDS])
def test_every_command_speaks_json(word: str) -> None:
    parser = subparsers(build_parser(word))[word]
    ends = list(subparsers(parser).values()) or [parser]
    for each in ends:
        options = [option for action in each._actions for option in action.option_strings]
        assert "--json" in options, each.prog


def test_links() -> None:
    assert reference_writer().broken_links() == []


def test_the_label_file_shown_is_one() -> None:
    page = (TOP / "docs" / "reference" / "label-file.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```toml\n(.*?)```", page, re.S)
    assert blocks
    for block in blocks:  # one whole file, as the page says
        label = label_from_text(block)
        assert label.text
        assert label.notes == (), "every key shown is read"
