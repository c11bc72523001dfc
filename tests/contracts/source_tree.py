"""The package's own source as syntax trees, for the tests that hold it to the rules of the house."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

TOP = Path(__file__).parents[2]
PACKAGE = TOP / "src" / "batchwright"
Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Module:
    """One file of the package: its dotted name, its lines and its tree."""

    name: str
    path: Path
    lines: tuple[str, ...]
    tree: ast.Module

    @property
    def layer(self) -> str:
        """The folder under the package, empty for the package's own file."""
        return [*self.name.split("."), ""][1]

    @property
    def is_records(self) -> bool:
        """Whether the file holds only record classes."""
        return self.path.stem == "records" or self.path.stem.endswith("_records")


@cache
def modules() -> tuple[Module, ...]:
    """Return every module of the package."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = ("batchwright", *path.relative_to(PACKAGE).with_suffix("").parts)
        text = path.read_text(encoding="utf-8")
        name = ".".join(part for part in parts if part != "__init__")
        found.append(Module(name, path, tuple(text.splitlines()), ast.parse(text)))
    return tuple(found)


def functions(tree: ast.AST, outer: str = "") -> Iterator[tuple[str, Function, bool]]:
    """Walk the functions and methods: dotted name, node, and whether it stands inside another function."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.ClassDef):
            yield from functions(node, f"{outer}{node.name}.")
        elif isinstance(node, Function):
            yield f"{outer}{node.name}", node, False
            yield from ((name, inner, True) for name, inner, _ in functions(node, f"{outer}{node.name}."))
        else:
            yield from functions(node, outer)


def imported(node: ast.Import | ast.ImportFrom, names: frozenset[str]) -> list[str]:
    """Return the modules an import names; `from package import module` names the module where there is one."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    base = node.module or ""
    whole = [f"{base}.{alias.name}" for alias in node.names]
    return [name if name in names else base for name in whole]
