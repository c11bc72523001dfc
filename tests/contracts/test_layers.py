"""Who may import whom: the table of the layers, no cycles, no imports hidden in functions."""

from __future__ import annotations

import ast
import sys
import tomllib

import pytest

from tests.contracts.source_tree import TOP, Module, imported, modules

ROOMS = ("original", "trials", "tasting", "production", "writeup")
RECORDS = "every room's records"
BELOW_ROOMS = {"base", "science", "pantry", "formula"}
MAY_IMPORT = {
    "": set(),
    "base": set(),
    "science": {"base"},
    "pantry": {"base"},
    "formula": {"base", "science", "pantry"},
    **dict.fromkeys(ROOMS, BELOW_ROOMS),
    "store": {"base", RECORDS},
    "actions": {*BELOW_ROOMS, *ROOMS, "store"},
    "web": {"actions", "base", RECORDS},
    "cli": {"actions", "base", RECORDS, "web"},
}
NAMES = frozenset(module.name for module in modules())
IDS = [module.name for module in modules()]
IMPORTED_AS = {"pillow": "PIL", "python-multipart": "multipart"}  # where it differs from the package's own name
FORBIDDEN_NAMES = {"utils", "helpers", "common", "core", "util", "helper", "misc"}


def installed() -> set[str]:
    """Return the import names of what pyproject.toml declares for running, optional extras too."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
    listed = [*project["dependencies"], *(x for xs in project.get("optional-dependencies", {}).values() for x in xs)]
    names = {"".join(letter if letter.isalnum() or letter in "-_" else " " for letter in name).split()[0].lower()
             for name in listed}  # fmt: skip
    return {IMPORTED_AS.get(name, name) for name in names}


def imports(module: Module) -> list[tuple[ast.Import | ast.ImportFrom, str]]:
    """Return every import of a module, at its top or inside functions, with the module it names."""
    nodes = [node for node in ast.walk(module.tree) if isinstance(node, ast.Import | ast.ImportFrom)]
    return [(node, name) for node in nodes for name in imported(node, NAMES)]


def records_name(name: str) -> bool:
    """Whether a dotted name is a file of records."""
    return name.endswith((".records", "_records"))


@pytest.mark.parametrize("module", modules(), ids=IDS)
def test_layer(module: Module) -> None:
    assert module.layer in MAY_IMPORT, f"{module.layer} is no layer of the house"
    allowed = MAY_IMPORT[module.layer]
    for node, name in imports(module):
        if not name.startswith("batchwright"):
            continue
        layer = [*name.split("."), ""][1]
        fine = layer in allowed or layer in (module.layer, "") or (RECORDS in allowed and records_name(name))
        assert fine, f"{module.path}:{node.lineno}: {module.layer} may not import {name}"


@pytest.mark.parametrize("module", [m for m in modules() if m.is_records], ids=lambda module: module.name)
def test_records_stand_on_base_alone(module: Module) -> None:
    for node, name in imports(module):
        root = name.split(".")[0]
        fine = root in sys.stdlib_module_names or name.startswith("batchwright.base") or records_name(name)
        assert fine, f"{module.path}:{node.lineno}: a file of records imports {name}"


@pytest.mark.parametrize("module", modules(), ids=IDS)
def test_outside_packages_are_declared(module: Module) -> None:
    for node, name in imports(module):
        root = name.split(".")[0]
        fine = root in sys.stdlib_module_names or root == "batchwright" or root in installed()
        assert fine, f"{module.path}:{node.lineno}: {root} is not among the dependencies"


@pytest.mark.parametrize("module", modules(), ids=IDS)
def test_no_import_is_hidden_in_a_function(module: Module) -> None:
    """A heavy library may be imported where it is needed, with a comment that says why; a module of ours only by a
    command that seldom needs it."""
    top = {id(node) for node in module.tree.body}
    guarded = [node for node in module.tree.body if isinstance(node, ast.If | ast.Try)]
    top |= {id(inner) for node in guarded for inner in ast.walk(node)}
    for node, name in imports(module):
        if id(node) in top:
            continue
        where = f"{module.path}:{node.lineno}"
        ours = name.startswith("batchwright") and module.layer != "cli"
        assert not ours, f"{where}: {name} is imported inside a function"
        comment = "#" in module.lines[node.lineno - 1] or module.lines[node.lineno - 2].strip().startswith("#")
        assert comment, f"{where}: say in a comment why {name} is imported here"


def test_no_cycles() -> None:
    graph = {
        module.name: {name for node, name in imports(module) if name in NAMES and name != module.name}
        for module in modules()
    }
    done: set[str] = set()

    def visit(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, "a circle of imports: " + " -> ".join((*path[path.index(name) :], name))
        if name not in done:
            for other in sorted(graph[name]):
                visit(other, (*path, name))
            done.add(name)

    for name in sorted(graph):
        visit(name, ())


def test_rooms_of_one_bench_import_one_way() -> None:
    pairs = {
        (tuple(module.name.split(".")[1:3]), tuple(name.split(".")[1:3]))
        for module in modules() if module.path.parent.parent.parent.name == "batchwright"
        for _, name in imports(module) if name.startswith(f"batchwright.{module.layer}.") and name.count(".") == 3
    }  # fmt: skip
    both = sorted(f"{one} and {other}" for one, other in pairs if one < other and (other, one) in pairs)
    assert len(pairs) > 5
    assert not both, f"rooms that import each other: {both}"


@pytest.mark.parametrize("module", modules(), ids=IDS)
def test_files_are_named_for_their_topic(module: Module) -> None:
    assert not set(module.path.stem.split("_")) & FORBIDDEN_NAMES
