"""Rows of the project file as values of the program, and values as cells.

SQLite keeps any type in any column (https://www.sqlite.org/datatype3.html, section 1), so every
cell is taken as the field of a value says.
"""

from __future__ import annotations

import math
import re
import sqlite3
from collections.abc import Collection, Mapping
from fractions import Fraction
from functools import cache
from typing import Any, TypeVar

import msgspec

from impactcut.project.rows.damage import SIGNS, damage

Made = TypeVar("Made")
_RATIO = re.compile(r"[1-9]\d{0,18}(/[1-9]\d{0,18})?", re.ASCII)


def written(value: Any) -> str:
    """A value as JSON, for a cell that `built` reads."""
    return msgspec.json.encode(value, enc_hook=_plain).decode()


def built(
    kind: type[Made],
    cells: Mapping[str, Any] | sqlite3.Row,
    where: str,
    remedy: str,
    written: Collection[str] = (),
) -> Made:
    """A value of ``kind``, each field of it from the cell of that name.

    Parameters
    ----------
    kind : type
        A dataclass whose fields say what cells may hold; what only SQLite knows as 0 and 1, and
        ratios in texts, are taken as meant. Other cells are left aside.
    written : collection of str
        Cells that hold JSON.

    Raises
    ------
    DamageError
        Naming the cell, if one is missing or does not hold that, or the cells do not go together.
    """
    values = cells if isinstance(cells, dict) and not written else dict(cells)
    try:
        for name in written:
            if values[name] is not None:
                values[name] = msgspec.json.decode(values[name])
        if math.inf in values.values() or -math.inf in values.values():
            raise ValueError("a number is not finite")
        return msgspec.convert(values, kind, strict=False, dec_hook=_made)
    except SIGNS as error:
        raise damage(where, remedy, error) from error


def _made(kind: type, cell: Any) -> Any:
    """What the codec does not know itself: ratios."""
    if kind is not Fraction or type(cell) is not str:
        raise TypeError(f"no {kind.__name__}: {cell!r}")
    return _ratio(cell)


@cache
def _ratio(text: str) -> Fraction:
    """A ratio above 0, written as ``str`` writes a `Fraction`."""
    if _RATIO.fullmatch(text) is None:
        raise ValueError(f"no ratio: {text!r}")
    return Fraction(text)


def _plain(value: Any) -> str:
    if not isinstance(value, Fraction):
        raise TypeError(f"no value of a project: {value!r}")
    return str(value)
