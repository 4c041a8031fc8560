"""Imports go down only: each layer of the program imports what it may, and nothing goes round.

The rules are the project's own. Imports inside functions and those for type checkers count too.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from graphlib import CycleError, TopologicalSorter
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

import impactcut

ROOT = Path(impactcut.__file__).parent

LAYERS = {
    "errors": set[str](),
    "core": {"errors"},
    "media": {"core", "errors"},
    "lists": {"core", "errors"},
    "project": {"core", "errors"},
    "manual": set[str](),
    "weights": set[str](),
    "workflow": {"core", "errors", "media", "lists", "project", "weights"},
    "review": {"core", "errors", "project", "workflow"},
    "cli": {"core", "errors", "media", "lists", "project", "workflow", "review", "manual"},
}
THIRD_PARTY = {
    "errors": set[str](),
    "core": {"cv2", "dtaidistance", "numpy", "scipy", "skimage"},
    "media": {"av", "cv2", "numpy", "scipy"},
    "lists": {"opentimelineio"},
    "project": {"numpy"},
    "manual": set[str](),
    "weights": set[str](),
    "workflow": {"distributed", "matplotlib", "numpy", "onnxruntime", "opentimelineio", "psutil"},
    "review": {"jinja2", "starlette", "uvicorn"},
    "cli": {"click", "rich"},
}
TOUCHING = {
    "datetime", "http", "logging", "multiprocessing", "os", "pathlib", "random", "shutil",
    "signal", "socket", "sqlite3", "subprocess", "sys", "tempfile", "threading", "time", "urllib",
}  # fmt: skip
PURE = ("errors", "core", "lists")


def modules() -> dict[str, Path]:
    """Every module of the program, by dotted name."""
    found = {}
    for path in sorted(ROOT.rglob("*.py")):
        parts = ("impactcut", *path.relative_to(ROOT).with_suffix("").parts)
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = modules()


def imports(name: str) -> set[str]:
    """Dotted names that a module imports; of this program, the modules themselves."""
    found = set()
    for node in ast.walk(ast.parse(MODULES[name].read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module is not None, f"{name}: relative import"
            inner = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= (inner & MODULES.keys()) or {node.module}
    return found


def layer(name: str) -> str:
    """Which layer a module belongs to; empty for the top package itself."""
    return name.partition(".")[2].partition(".")[0]


@pytest.mark.parametrize("name", [name for name in MODULES if layer(name) in LAYERS])
def test_imports_are_allowed(name: str) -> None:
    here = layer(name)
    for target in imports(name):
        top = target.partition(".")[0]
        if top == "impactcut":
            assert layer(target) in LAYERS[here] | {here, ""}, f"{name} imports {target}"
        elif top in sys.stdlib_module_names:
            assert here not in PURE or top not in TOUCHING, f"{name} imports {target}"
            assert top != "sqlite3" or here == "project", f"{name} imports {target}"
        else:
            assert top in THIRD_PARTY[here], f"{name} imports {target}"


def outside(name: str) -> set[str]:
    """Packages that a module imports and that are neither Python's nor this program's."""
    tops = {target.partition(".")[0] for target in imports(name)}
    return tops - sys.stdlib_module_names - {"impactcut"}


@pytest.mark.parametrize("here", THIRD_PARTY)
def test_no_layer_may_import_more_than_it_does(here: str) -> None:
    assert (
        set().union(*(outside(name) for name in MODULES if layer(name) == here))
        == (THIRD_PARTY[here])
    )


def test_what_is_imported_is_what_is_installed() -> None:
    """Which distribution a package comes from is said by Python's own `importlib.metadata`."""
    stated = tomllib.loads((ROOT.parent / "pyproject.toml").read_text("utf-8"))["project"]
    extras = stated["optional-dependencies"]
    wanted = [*stated["dependencies"], *extras["cluster"], *extras["otio"], *extras["quick"]]
    homes = packages_distributions()
    imported = {homes[top][0].lower() for name in MODULES for top in outside(name)}
    assert {re.split("[>=<]", each)[0].lower() for each in wanted} == imported


def test_every_module_is_in_a_layer() -> None:
    stray = {name for name in MODULES if layer(name) not in LAYERS}
    assert stray == {"impactcut", "impactcut.__main__"}


def test_no_module_imports_itself_in_a_circle() -> None:
    graph = {name: imports(name) & MODULES.keys() - {"impactcut"} for name in MODULES}
    try:
        list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        pytest.fail(f"a circle: {' <- '.join(error.args[1])}")


def test_only_the_project_speaks_sql() -> None:
    for name, path in MODULES.items():
        if layer(name) != "project":
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    words = node.value.split()[:1]
                    assert words not in (["SELECT"], ["INSERT"], ["UPDATE"], ["DELETE"]), name
