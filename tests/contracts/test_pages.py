"""Decisions are numbered; no file speaks of a folder of the machine it was written on."""

from __future__ import annotations

import re

from tests.contracts.source_tree import TOP

TEXT = {".py", ".md", ".toml", ".csv", ".sh", ".c", ".lock", ""}
FOLDERS = ("src", "tests", "docs", "benchmarks", "requirements", ".ci")
OWN_FOLDER = re.compile("/" + r"work/|/(?:home|Users)/\w+/|file:" + "//")


def test_no_file_names_a_folder_of_one_machine() -> None:
    paths = [path for folder in FOLDERS for path in (TOP / folder).rglob("*") if path.is_file()]
    paths += [path for path in TOP.iterdir() if path.is_file()]
    named = []
    for path in paths:
        if path.suffix in TEXT and "__pycache__" not in path.parts:
            found = OWN_FOLDER.search(path.read_text(encoding="utf-8", errors="replace"))
            named += [f"{path.relative_to(TOP)}: {found[0]}"] if found else []
    assert named == []


def test_decisions_are_numbered_without_a_gap() -> None:
    names = sorted(path.name for path in (TOP / "docs" / "decisions").glob("*.md"))
    assert names
    assert [int(name[:4]) for name in names] == list(range(1, len(names) + 1))
    for name in names:
        text = (TOP / "docs" / "decisions" / name).read_text(encoding="utf-8")
        assert text.startswith(f"# {name[:4]} "), name
