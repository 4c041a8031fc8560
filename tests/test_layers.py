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
    "core": {"cv2", "numpy", "scipy"},
    "media": {"av", "cv2", "numpy", "scipy", "skimage"},
    "lists": {"opentimelineio"},
    "project": {"msgspec", "numpy"},
    "manual": set[str](),
    "weights": set[str](),
    "workflow": {
        "distributed",
        "matplotlib",
        "msgspec",
        "numpy",
        "onnxruntime",
        "opentimelineio",
        "psutil",
    },
    "review": {"h11", "jinja2", "starlette", "uvicorn"},
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
            pure = top not in TOUCHING or target == "urllib.parse"
            assert here not in PURE or pure, f"{name} imports {target}"
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
    wanted = [*stated["dependencies"], *extras["cluster"], *extras["otio"]]
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


_COMMAND = {"cli", "cli.options", "cli.telling"}
ROOMS = {
    "core": set[str](),
    "core.time": {"core"},
    "core.takes": {"core", "core.time"},
    "core.motion": {"core", "core.time"},
    "core.detect": {"core", "core.time", "core.motion"},
    "core.sound": {"core", "core.time", "core.motion", "core.detect"},
    "core.viewer": {"core"},
    "core.trims": {"core", "core.time", "core.motion", "core.detect", "core.sound", "core.viewer"},
    "core.learn": {"core", "core.time", "core.detect", "core.trims", "core.viewer"},
    "core.fight": {
        "core",
        "core.time",
        "core.takes",
        "core.detect",
        "core.viewer",
        "core.trims",
        "core.learn",
    },
    "core.programme": {"core", "core.time", "core.takes", "core.sound", "core.trims", "core.fight"},
    "core.recut": {"core", "core.time", "core.takes", "core.fight", "core.programme"},
    "media": set[str](),
    "media.decode": set[str](),
    "media.probe": {"media.decode"},
    "media.measure": {"media.decode"},
    "media.sound": {"media.decode"},
    "media.render": {"media.decode", "media.sound"},
    "lists": set[str](),
    "lists.edl": {"lists"},
    "lists.tables": {"lists", "lists.edl"},
    "lists.otio": {"lists", "lists.edl", "lists.tables"},
    "project.rows": set[str](),
    "project.file": {"project.rows"},
    "project.statements": {"project.rows"},
    "project": {"project.rows", "project.file", "project.statements"},
    "workflow": set[str](),
    "workflow.files": {"workflow"},
    "workflow.hits": {"workflow", "workflow.files"},
    "workflow.export": {"workflow", "workflow.files", "workflow.hits"},
    "workflow.pictures": {"workflow", "workflow.files", "workflow.hits", "workflow.export"},
    "workflow.takes": {"workflow", "workflow.files", "workflow.hits", "workflow.pictures"},
    "workflow.reports": {
        "workflow",
        "workflow.files",
        "workflow.hits",
        "workflow.export",
        "workflow.pictures",
        "workflow.takes",
    },
    "workflow.scan": {
        "workflow",
        "workflow.files",
        "workflow.hits",
        "workflow.export",
        "workflow.takes",
    },
    "workflow.viewers": {"workflow", "workflow.files"},
    "workflow.workers": {"workflow", "workflow.files", "workflow.scan"},
    "workflow.demo": {"workflow", "workflow.hits"},
    "cli": set[str](),
    "cli.options": {"cli"},
    "cli.telling": {"cli"},
    "cli.clips": _COMMAND,
    "cli.hits": _COMMAND,
    "cli.lists": _COMMAND,
    "cli.pages": _COMMAND,
    "cli.teaching": _COMMAND,
    "cli.project": {*_COMMAND, "cli.clips", "cli.lists"},
}
"""Which rooms of its own layer each room may import; a layer's name alone is its folder itself."""

LARGEST = 15
"""Modules and folders in one folder; chosen so that people find their way, without a source."""


def room(name: str) -> str:
    """Which room a module belongs to: the longest of `ROOMS` that its name begins with."""
    parts = name.split(".")[1:]
    heads = (".".join(parts[:length]) for length in range(len(parts), 0, -1))
    return next((head for head in heads if head in ROOMS), "")


def test_rooms_import_what_they_may() -> None:
    """Packages themselves are doors, which show what lies behind them."""
    for name, path in MODULES.items():
        here = room(name)
        if here and path.name != "__init__.py":
            for target in imports(name) & MODULES.keys():
                if layer(target) == layer(name):
                    assert room(target) in ROOMS[here] | {here}, f"{name} imports {target}"


def test_rooms_import_nothing_in_a_circle() -> None:
    list(TopologicalSorter(ROOMS).static_order())


def test_every_folder_is_a_room_and_says_what_for() -> None:
    roomed = {head.partition(".")[0] for head in ROOMS}
    for name, path in MODULES.items():
        if path.name == "__init__.py" and layer(name):
            assert room(name) == name.partition(".")[2] or layer(name) not in roomed, name
            assert ast.get_docstring(ast.parse(path.read_text("utf-8"))), name


@pytest.mark.parametrize("top", [ROOT, ROOT.parent / "tests"])
def test_no_folder_is_crowded(top: Path) -> None:
    for folder in {path.parent for path in top.rglob("*.py")}:
        code = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
        rooms = [path for path in folder.iterdir() if any(path.glob("*.py"))]
        assert len(code) + len(rooms) <= LARGEST, folder


def test_no_test_file_imports_another() -> None:
    """What several share is in `tests.helpers`."""
    tests = Path(__file__).parent
    found = [
        (path.relative_to(tests).as_posix(), node.module)
        for path in tests.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tests.")
    ]
    assert found
    assert [each for each in found if not each[1].startswith("tests.helpers.")] == []
