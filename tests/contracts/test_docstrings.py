"""Every public function says what it is for; every bare number says its unit, in its name or in brackets."""

from __future__ import annotations

import ast
import re
from itertools import chain

import pytest

from tests.contracts.source_tree import Function, Module, functions, modules

UNIT_ENDINGS = (
    "_g", "_kg", "_mg", "_ug", "_ml", "_l", "_mm", "_cm", "_m", "_c", "_k", "_min", "_s", "_h", "_ms", "_kcal", "_kj",
    "_fraction", "_percent", "_g_ml", "_count", "_points", "_mb",
)  # fmt: skip
NUMBERS = {"float", "float | None", "None | float"}


def public(name: str) -> bool:
    """Whether a dotted name is for other modules: no part of it starts with an underscore."""
    return not any(part.startswith("_") for part in name.split("."))


def described(module: Module) -> list[tuple[str, Function]]:
    """Return the public functions of a module that are not inside others."""
    return [(name, node) for name, node, inner in functions(module.tree) if public(name) and not inner]


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_there_is_one(module: Module) -> None:
    assert ast.get_docstring(module.tree) or not module.tree.body, f"{module.path}: the module has no docstring"
    classes = [(node.name, node) for node in ast.walk(module.tree) if isinstance(node, ast.ClassDef)]
    bare = [name for name, node in chain(described(module), classes) if public(name) and not ast.get_docstring(node)]
    assert not bare, f"{module.path}: without a docstring: {', '.join(bare)}"


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_bare_numbers_carry_a_unit(module: Module) -> None:
    classes = {node.name: ast.get_docstring(node) or "" for node in module.tree.body if isinstance(node, ast.ClassDef)}
    for name, node in described(module):
        words = (ast.get_docstring(node) or "") + classes.get(name.split(".")[0], "")
        for argument in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs):
            if argument.annotation is None or ast.unparse(argument.annotation) not in NUMBERS:
                continue
            bracket = re.search(rf"\b{argument.arg}\b[^\[\]]{{0,160}}\[[^\]]+\]", words)
            fine = argument.arg.endswith(UNIT_ENDINGS) or bracket
            assert fine, f"{module.path}:{node.lineno}: {name}({argument.arg}): its unit, in the name or in [brackets]"


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_first_line_is_one_sentence(module: Module) -> None:
    for name, node in described(module):
        first = (ast.get_docstring(node) or ".").splitlines()[0]
        assert first.rstrip().endswith((".", "?", "!", ":")), f"{module.path}:{node.lineno}: {name}: {first!r}"
