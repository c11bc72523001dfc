"""Nothing grows past what one reads in a sitting: 400 lines a module, 80 lines of code a function."""

from __future__ import annotations

import pytest

from tests.contracts.source_tree import Function, Module, functions, modules

LONGEST_MODULE = 400
LONGEST_FUNCTION = 80

# What may be longer, and why. An entry that is no longer needed fails.
LONG_MODULES: dict[str, str] = {}
LONG_FUNCTIONS: dict[str, str] = {}


def code_lines(node: Function) -> int:
    """Return the lines of a function without its docstring."""
    first = node.body[0]
    is_docstring = hasattr(first, "value") and isinstance(getattr(first.value, "value", None), str)
    docstring = (first.end_lineno or 0) - first.lineno + 1 if is_docstring else 0
    return (node.end_lineno or 0) - node.lineno + 1 - docstring


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_module(module: Module) -> None:
    too_long = len(module.lines) > LONGEST_MODULE
    assert too_long == (module.name in LONG_MODULES), f"{module.path}: {len(module.lines)} lines; split it by topic"


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name)
def test_functions(module: Module) -> None:
    lengths = {f"{module.name}.{name}": code_lines(node) for name, node, _ in functions(module.tree)}
    long = {name: length for name, length in lengths.items() if length > LONGEST_FUNCTION}
    listed = {name for name in LONG_FUNCTIONS if name in lengths}
    assert set(long) == listed, f"functions over {LONGEST_FUNCTION} lines: {long}; listed: {listed}"


def test_exceptions_exist() -> None:
    known = {module.name for module in modules()}
    known |= {f"{module.name}.{name}" for module in modules() for name, _, _ in functions(module.tree)}
    assert set(LONG_MODULES) | set(LONG_FUNCTIONS) <= known
    assert all(reason.strip() for reason in (*LONG_MODULES.values(), *LONG_FUNCTIONS.values()))
