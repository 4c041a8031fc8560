"""The page's scripts as one, for a page that is a single file.

The scripts are ECMAScript modules of a plain kind: every import stands on lines of its own, names
what it takes, and names a file beside it; exports stand before a declaration. Such modules can be
laid end to end, each after those it imports, once no name at their top is used twice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

_IMPORT = re.compile(r'^import\s*\{([^}]*)\}\s*from\s*"\./([\w.-]+)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export\s+(?=(?:async\s+)?(?:function|const|let|class)\b)", re.MULTILINE)
_LEFT_OVER = re.compile(r"^\s*(?:import|export)\b.*$", re.MULTILINE)
_TOP_NAME = re.compile(
    r"^(?:export\s+)?(?:async\s+)?(?:function\*?|const|let|class)\s+(\w+)", re.MULTILINE
)


def join_modules(sources: Mapping[str, str], entry: str) -> str:
    """One script that does what the module ``entry`` does.

    Parameters
    ----------
    sources : mapping of str to str
        Text of every module by its file name.
    entry : str

    Raises
    ------
    ValueError
        If a module is not of the plain kind, imports what is not there, or in a circle, or two
        have a name in common.
    """
    order = _order(sources, entry)
    _check_names({name: sources[name] for name in order})
    parts = []
    for name in order:
        text = _EXPORT.sub("", _IMPORT.sub("", sources[name]))
        left = _LEFT_OVER.search(text)
        if left is not None:
            raise ValueError(f"{name}: cannot be joined: {left[0].strip()}")
        parts.append(f"// {name}\n{text.strip()}\n")
    return "\n".join(parts)


def _order(sources: Mapping[str, str], entry: str) -> list[str]:
    graph: dict[str, list[str]] = {}
    waiting = [entry]
    while waiting:
        name = waiting.pop()
        if name in graph:
            continue
        if name not in sources:
            raise ValueError(f"there is no module {name}")
        graph[name] = [target for _, target in _IMPORT.findall(sources[name])]
        waiting += graph[name]
    _check_imports(sources, graph)
    try:
        return list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        raise ValueError(f"modules import one another: {', '.join(error.args[1])}") from error


def _check_imports(sources: Mapping[str, str], graph: Mapping[str, list[str]]) -> None:
    for name in graph:
        for names, target in _IMPORT.findall(sources[name]):
            offered = set(_TOP_NAME.findall(sources[target]))
            for each in filter(None, (part.strip() for part in names.split(","))):
                if each not in offered:
                    raise ValueError(f"{name}: {target} has no {each}")


def _check_names(sources: Mapping[str, str]) -> None:
    homes: dict[str, str] = {}
    for name, text in sources.items():
        for declared in _TOP_NAME.findall(text):
            if declared in homes:
                raise ValueError(f"{declared} stands in both {homes[declared]} and {name}")
            homes[declared] = name
