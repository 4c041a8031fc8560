"""Kinds of cells: each function makes a value of what a cell of the project file holds.

SQLite keeps any type in any column (https://www.sqlite.org/datatype3.html, section 1), so each
looks at the type, too. They raise ``ValueError`` and what else `impactcut.project.rows.damage`
knows.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from typing import Any

from impactcut.core.takes.names import is_label
from impactcut.project.rows.damage import Kind

_RATIO = re.compile(r"([1-9]\d{0,18})(?:/([1-9]\d{0,18}))?", re.ASCII)


def text(cell: Any) -> str:
    """Text."""
    if type(cell) is not str:
        raise _wrong(cell)
    return cell


def place(cell: Any) -> str:
    """The place of a hit in its clip, such as 3 or 3a."""
    if not is_label(text(cell)):
        raise _wrong(cell)
    return str(cell)


def whole(cell: Any) -> int:
    """A whole number."""
    if type(cell) is not int:
        raise _wrong(cell)
    return cell


def between(least: int, most: float) -> Kind:
    """A whole number from ``least`` to ``most``."""

    def bounded(cell: Any) -> int:
        if not least <= whole(cell) <= most:
            raise _wrong(cell)
        return int(cell)

    return bounded


count = between(0, math.inf)
positive = between(1, math.inf)


def number(cell: Any) -> float:
    """A finite number."""
    if type(cell) not in (float, int) or not math.isfinite(cell):
        raise _wrong(cell)
    return float(cell)


def flag(cell: Any) -> bool:
    """Yes or no, which SQLite keeps as 1 or 0."""
    if type(cell) not in (int, bool) or cell not in (0, 1):
        raise _wrong(cell)
    return bool(cell)


def optional(kind: Kind) -> Kind:
    """What ``kind`` makes, or None."""
    return lambda cell: None if cell is None else kind(cell)


def one_of(*words: str) -> Kind:
    """One of those words."""
    known = frozenset(words)

    def word(cell: Any) -> str:
        if cell not in known:
            raise _wrong(cell)
        return text(cell)

    return word


@cache
def ratio(cell: Any) -> Fraction:
    """A ratio above 0, written as ``str`` writes a `Fraction`."""
    match = _RATIO.fullmatch(text(cell))
    if match is None:
        raise _wrong(cell)
    return Fraction(int(match[1]), int(match[2] or 1))


def list_of(kind: Kind) -> Kind:
    """A list, of which ``kind`` makes each."""

    def members(cell: Any) -> tuple[Any, ...]:
        if type(cell) is not list:
            raise _wrong(cell)
        return tuple(kind(each) for each in cell)

    return members


def record(make: Callable[..., Any], kinds: Mapping[str, Kind]) -> Kind:
    """What ``make`` makes of the values that an object has by the names of ``kinds``."""
    return lambda cell: make(**{name: kind(cell[name]) for name, kind in kinds.items()})


def numbers(cell: Any) -> dict[str, float]:
    """Numbers by name."""
    if type(cell) is not dict:
        raise _wrong(cell)
    return {text(name): number(each) for name, each in cell.items()}


def json_of(kind: Kind) -> Kind:
    """A text of JSON that says what ``kind`` takes."""
    return lambda cell: kind(json.loads(text(cell)))


@cache
def settings(cell: Any) -> str:
    """Settings of a measurement, as JSON: an object whose rate and reel are texts if any."""
    said = json.loads(text(cell))
    if type(said) is not dict:
        raise _wrong(cell)
    for name in ("rate", "reel"):
        optional(text)(said.get(name))
    return text(cell)


def _wrong(cell: Any) -> ValueError:
    return ValueError(f"not {cell!r}")
