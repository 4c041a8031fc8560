"""The page's scripts as one, for a page that is a single file.

The scripts are ECMAScript modules of a plain kind: every import stands on lines of its own, names
what it takes, and names a file by its place; exports stand before a declaration. Such modules can
be laid end to end, each after those it imports; browsers refuse one in which a name at the top
stands twice.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping
from graphlib import TopologicalSorter

_IMPORT = re.compile(r'^import\s*\{[^}]*\}\s*from\s*"(\.[\w./-]+)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export\s+(?=(?:async\s+)?(?:function|const|let|class)\b)", re.MULTILINE)
_LEFT_OVER = re.compile(r"^\s*(?:import|export)\b.*$", re.MULTILINE)


def join_modules(sources: Mapping[str, str], entry: str) -> str:
    """One script that does what the module ``entry`` does.

    Parameters
    ----------
    sources : mapping of str to str
        Text of every module by its path.

    Raises
    ------
    ValueError
        If a module is not of the plain kind, or they import one another in a circle.
    KeyError
        If one imports what is not there.
    """
    graph: dict[str, list[str]] = {}
    waiting = [entry]
    while waiting:
        name = waiting.pop()
        if name not in graph:
            targets = _IMPORT.findall(sources[name])
            graph[name] = [posixpath.normpath(f"{name}/../{target}") for target in targets]
            waiting += graph[name]
    parts = []
    for name in TopologicalSorter(graph).static_order():
        text = _EXPORT.sub("", _IMPORT.sub("", sources[name]))
        left = _LEFT_OVER.search(text)
        if left is not None:
            raise ValueError(f"{name}: cannot be joined: {left[0].strip()}")
        parts.append(f"// {name}\n{text.strip()}\n")
    return "\n".join(parts)
