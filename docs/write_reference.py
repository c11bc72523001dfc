"""Write docs/reference/commands.md from the program's own help, and check every link among the pages.

`python docs/write_reference.py` writes; with `--check` it only says what is out of date (exit 1).
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from pathlib import Path

TOP = Path(__file__).parents[1]
REFERENCE = TOP / "docs" / "reference" / "commands.md"
os.environ["COLUMNS"] = "100"  # help wraps by the terminal; the page does not depend on who writes it

from batchwright.cli.main import COMMANDS, build_parser  # noqa: E402  (after COLUMNS is set)


def parsers_below(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """Return the commands right below a parser, by word."""
    actions = [action for action in parser._actions if isinstance(action, argparse._SubParsersAction)]
    return {word: below for action in actions for word, below in action.choices.items()}


def help_of(parser: argparse.ArgumentParser) -> str:
    """Return a parser's help as it reads on Python 3.11 to 3.13 (option spelling differs among them)."""
    text = re.sub(r"(-\w) ([A-Z][\w.]*), (--[\w-]+) \2", r"\1, \3 \2", parser.format_help())
    return "\n".join(line.rstrip() for line in text.splitlines())


def page() -> str:
    """Return the whole page of commands."""
    blocks = ["# Commands\n\nWritten from the program's own help by `make docs`.\n",
              f"## batchwright\n\n```\n{help_of(build_parser())}\n```\n"]  # fmt: skip
    for command in COMMANDS:
        parser = parsers_below(build_parser(command.word))[command.word]
        blocks.append(f"## batchwright {command.word}\n\n```\n{help_of(parser)}\n```\n")
        for word, below in parsers_below(parser).items():
            blocks.append(f"### batchwright {command.word} {word}\n\n```\n{help_of(below)}\n```\n")
    return "\n".join(blocks)


def broken_links() -> list[str]:
    """Return each relative link of a page that leads nowhere."""
    found = []
    for path in [*TOP.glob("*.md"), *(TOP / "docs").rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#\s]+)", path.read_text(encoding="utf-8")):
            if "://" not in target and not target.startswith("mailto:") and not (path.parent / target).exists():
                found.append(f"{path.relative_to(TOP)}: {target}")
    return found


def main() -> int:
    """Write or check; return what the shell gets."""
    text = page()
    old = REFERENCE.read_text(encoding="utf-8") if REFERENCE.exists() else ""
    if "--check" in sys.argv[1:]:
        if text != old:
            print(f"{REFERENCE.relative_to(TOP)} is out of date: make docs")
    elif text != old:
        REFERENCE.write_text(text, encoding="utf-8")
        print(f"{REFERENCE.relative_to(TOP)} written")
    broken = broken_links()
    for line in broken:
        print(f"leads nowhere: {line}")
    return int(bool(broken) or ("--check" in sys.argv[1:] and text != old))


if __name__ == "__main__":
    sys.exit(main())
