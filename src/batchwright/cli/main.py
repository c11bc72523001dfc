"""The command `batchwright`: finds the command asked for, runs it, and says in words what is wrong with its input.

A command's module is imported only when that command is chosen, so that help comes at once.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from types import ModuleType

from batchwright import __version__
from batchwright.base.errors import InputError
from batchwright.base.threads import on_one_thread
from batchwright.cli.terminal import print_json

FAULTY_INPUT = 2  # what a shell gets when the input cannot be used; argparse gives the same for a wrong option
INTERRUPTED = 130  # 128 + SIGINT, common practice of shells
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")  # one label's arrays are small
PIPE_CLOSED = 141  # 128 + SIGPIPE, common practice of shells


@dataclass(frozen=True, slots=True)
class Command:
    """One command: its word, its module (with `add_arguments(parser)` and `run(args) -> int`), what it is for."""

    word: str
    module: str
    summary: str
    example: str


COMMANDS = (
    Command("read", "batchwright.cli.read", "label text: the ingredients as a tree, the panel, what was mended",
            'echo "Sugar, wheat flour, palm oil, salt" | batchwright read -'),
    Command("decode", "batchwright.cli.decode", "what a packaged food is made of, from its label and weighed pieces",
            "batchwright decode food.toml --mix 300g-flour"),
    Command("pantry", "batchwright.cli.pantry", "the shelf: find, show and import ingredients",
            'batchwright pantry find "brown sugar"'),
    Command("measures", "batchwright.cli.measures", "a formula in cups, spoons and eggs, its ratios moved least",
            "batchwright measures recipe.txt --convention spooned"),
    Command("weigh", "batchwright.cli.weigh", "any recipe to grams: each line with its range and what was assumed",
            "batchwright weigh recipe.txt"),
    Command("compare", "batchwright.cli.compare", "recipes beside a packaged food, and the first moves",
            "batchwright compare food.toml mine.txt hers.txt --only supermarket"),
    Command("fit", "batchwright.cli.fit", "amounts that meet targets or go toward an original, by the fewest changes",
            'batchwright fit recipe.txt --target "fat 18..22"'),
    Command("swap", "batchwright.cli.swap", "another ingredient for one of a recipe, the rest rebalanced",
            'batchwright swap recipe.txt "palm oil" butter'),
    Command("card", "batchwright.cli.card", "the recipe card: text, Markdown, a page to print, schema.org data",
            "batchwright card recipe.txt --form html > card.html"),
    Command("web", "batchwright.cli.web", "the book in a browser: on this computer, or shared on the network at hand",
            "batchwright web --share"),
    Command("book", "batchwright.cli.book", "copies of the book: backup, export, import, restore, check",
            "batchwright book backup"),
    Command("demo", "batchwright.cli.demo", "an invented food from its packet to a recipe card",
            "batchwright demo"),
)  # fmt: skip


def build_parser(chosen: str | None = None) -> argparse.ArgumentParser:
    """Return the parser of the whole program; only the `chosen` command's own options are filled in."""
    parser = argparse.ArgumentParser(
        prog="batchwright",
        description="The workbench of someone who rebuilds a packaged food from scratch.",
        epilog="Example: batchwright demo\nMore on one command: batchwright COMMAND --help",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"batchwright {__version__}")
    places = parser.add_subparsers(title="commands", metavar="COMMAND", dest="command", required=True)
    for command in COMMANDS:
        place = places.add_parser(
            command.word, help=command.summary, description=command.summary[0].upper() + command.summary[1:] + ".",
            epilog=f"Example: {command.example}", formatter_class=argparse.RawDescriptionHelpFormatter,
        )  # fmt: skip
        if command.word == chosen:
            module = importlib.import_module(command.module)
            module.add_arguments(place)
            place.set_defaults(module=module)
    return parser


def report_faults(error: InputError, as_json: bool) -> None:
    """Say what is wrong, fault by fault: in words on standard error, with `--json` also as JSON on standard output."""
    for fault in error.faults:
        print(f"batchwright: {fault}", file=sys.stderr)
    if as_json:
        print_json({"error": [fault.to_json() for fault in error.faults]})


def run(module: ModuleType, args: argparse.Namespace) -> int:
    """Run a command; return what the shell gets."""
    try:
        code = int(module.run(args))
        sys.stdout.flush()
    except InputError as error:
        report_faults(error, bool(getattr(args, "json", False)))
        return FAULTY_INPUT
    except BrokenPipeError:  # the reader (`head`, a closed pager) has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return PIPE_CLOSED
    except KeyboardInterrupt:
        return INTERRUPTED
    return code


def main(arguments: Sequence[str] | None = None) -> int:
    """Run `batchwright` with the given arguments (those of the shell by default); return what the shell gets.

    0 = done, 2 = the input or an option cannot be used.
    """
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    on_one_thread()
    gc.set_threshold(50_000)  # start-up makes many objects that stay: looking through them again and again takes 5 %
    given = list(sys.argv[1:] if arguments is None else arguments)
    chosen = next((word for word in given if not word.startswith("-")), None)
    parser = build_parser(chosen)
    if not given:
        parser.print_help()
        return 0
    args = parser.parse_args(given)
    return run(args.module, args)
