"""Rows of the project file that do not hold what was kept: found while they are read, and named.

Everything that becomes a value of the program goes through `built` or `intact`, so that no
damage reaches the program as something else than `DamageError`, which `faults` explains.
"""

from __future__ import annotations

import struct
import tokenize
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, Final, Protocol, TypeVar

Kind = Callable[[Any], Any]
"""Makes a value of what a cell holds; raises one of `_SIGNS` if the cell cannot hold it."""
Made = TypeVar("Made")

RESTORE: Final = "put back a copy of it, or name a new file with --project"
MEASURE: Final = "measure the clip again with 'impactcut scan --again'"
"""For what measuring writes anew without reading it first."""
_LONGEST: Final = 40

_SIGNS = (
    OSError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error, struct.error,
    tokenize.TokenError, ValueError, TypeError, LookupError, ArithmeticError, AttributeError,
    MemoryError,
)  # fmt: skip
"""What NumPy, the archive, JSON and the values made of them raise for what is not what was kept,
as met when flipping bits, cutting bytes short, leaving fields out and writing other types."""


class DamageError(Exception):
    """Where in the file something is not what was kept, and what to do about it.

    It never leaves the project: `impactcut.project.file.faults` makes a `ProjectFileError` of it.
    """

    def __init__(self, where: str, remedy: str) -> None:
        super().__init__(where)
        self.where = where
        self.remedy = remedy


class Row(Protocol):
    """Cells by name: a row of SQLite, or an object of JSON."""

    def __getitem__(self, name: str, /) -> Any:
        """What the cell holds."""


@contextmanager
def intact(where: str, remedy: str) -> Iterator[None]:
    """Whatever goes wrong inside is damage of ``where``, such as ``"hits of clip 3"``.

    Raises
    ------
    DamageError
        In place of what reading damaged bytes or values raises.
    """
    try:
        yield
    except _SIGNS as error:
        raise DamageError(where, remedy) from error


def cells(row: Row, kinds: Mapping[str, Kind], where: str, remedy: str) -> dict[str, Any]:
    """The cells that ``kinds`` names, each as its kind makes it.

    Raises
    ------
    DamageError
        Naming the cell, if one is missing or not of its kind.
    """
    made = {}
    name = ""
    try:
        for name, kind in kinds.items():
            made[name] = kind(row[name])
    except _SIGNS as error:
        raise DamageError(f"{where}: {name}{_held(row, name)}", remedy) from error
    return made


def built(
    make: Callable[..., Made], row: Row, kinds: Mapping[str, Kind], where: str, remedy: str
) -> Made:
    """What ``make`` makes of the cells that ``kinds`` names, given to it by name.

    Raises
    ------
    DamageError
        If a cell is missing or not of its kind, or the cells do not go together.
    """
    values = cells(row, kinds, where, remedy)
    with intact(where, remedy):
        return make(**values)


def _held(row: Row, name: str) -> str:
    """What a cell holds, for a message."""
    try:
        text = repr(row[name])
    except LookupError:
        return " is missing"
    return f" cannot be {text if len(text) <= _LONGEST else text[:_LONGEST] + '...'}"
