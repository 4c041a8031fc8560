"""JSON on standard output."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator

import click

_OPENED = 6
"""Levels opened over lines: of a project, down to its hits' trims, a line for each."""


def print_json(value: object) -> None:
    """Print a value as JSON that people can read, too.

    Python encodes indented JSON three times as slowly as plain JSON (3.11), and a project has
    millions of values below its trims.
    """
    sys.stdout.writelines(json_pieces(value, _OPENED))
    click.echo()


def json_pieces(value: object, opened: int, margin: str = "") -> Iterator[str]:
    """JSON text in pieces: items of the first ``opened`` levels on lines of their own.

    Bytes are a list that is JSON already, a line for each item.
    """
    if isinstance(value, bytes):
        lines = value.decode().replace("\n", f",\n{margin} ")
        yield f"[\n{margin} {lines}\n{margin}]" if lines else "[]"
        return
    if not opened or not value or not isinstance(value, dict | list):
        yield json.dumps(value)
        return
    start, end = "{}" if isinstance(value, dict) else "[]"
    inner = f"{margin} "
    for name, item in _named_items(value):
        yield f"{start}\n{inner}{name}"
        yield from json_pieces(item, opened - 1, inner)
        start = ","
    yield f"\n{margin}{end}"


def _named_items(value: dict[str, object] | list[object]) -> Iterable[tuple[str, object]]:
    if isinstance(value, dict):
        return ((f"{json.dumps(name)}: ", item) for name, item in value.items())
    return (("", item) for item in value)
