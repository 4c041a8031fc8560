"""JSON on standard output."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from functools import lru_cache

import click

_ENCODE = json.JSONEncoder().encode
_OPENED = 4
"""Levels opened over lines: of a project, down to its hits, a line for each and each trim."""


def print_json(value: object) -> None:
    """Print a value as JSON that people can read, too.

    Python encodes indented JSON three times as slowly as plain JSON (3.11), and a project has
    millions of values below its trims.
    """
    sys.stdout.writelines(json_pieces(value, _OPENED))
    click.echo()


def json_pieces(value: object, opened: int, margin: str = "") -> Iterator[str]:
    """JSON text in pieces: items of the first ``opened`` levels on lines of their own.

    Bytes are a list that is JSON already, a line for each item; they stand last in an object that
    holds more.
    """
    if isinstance(value, bytes):
        lines = value.decode().replace("\n", f",\n{margin} ")
        yield f"[\n{margin} {lines}\n{margin}]" if lines else "[]"
        return
    if isinstance(value, dict) and not opened and bytes in map(type, value.values()):
        plain = {name: item for name, item in value.items() if not isinstance(item, bytes)}
        yield _ENCODE(plain).removesuffix("}")
        for name in value.keys() - plain.keys():
            yield f", {_name(name)}"
            yield from json_pieces(value[name], 0, margin)
        yield "}"
        return
    if not opened or not value or not isinstance(value, dict | list):
        yield _ENCODE(value)
        return
    start, end = "{}" if isinstance(value, dict) else "[]"
    inner = f"{margin} "
    for name, item in _named_items(value):
        yield f"{start}\n{inner}{name}"
        start = ","
        if isinstance(item, dict | list | bytes):
            yield from json_pieces(item, opened - 1, inner)
        else:
            yield _ENCODE(item)
    yield f"\n{margin}{end}"


def _named_items(value: dict[str, object] | list[object]) -> Iterable[tuple[str, object]]:
    if isinstance(value, dict):
        return ((_name(name), item) for name, item in value.items())
    return (("", item) for item in value)


@lru_cache(maxsize=1000)
def _name(name: str) -> str:
    return f"{_ENCODE(name)}: "
