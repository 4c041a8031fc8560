"""What of the project file does not hold what was kept: found while it is read, and named.

Everything that becomes a value of the program goes through `impactcut.project.rows.cells.built` or
`intact`, so that no damage reaches the program as something else than `DamageError`, which `faults`
explains.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

RESTORE: Final = "put back a copy of it, or name a new file with --project"
MEASURE: Final = "measure the clip again with 'impactcut scan --again'"
"""For what measuring writes anew without reading it first."""
_LONGEST: Final = 100
"""Characters of what is said of a sign."""
SIGNS = (ValueError, TypeError, LookupError, ArithmeticError, RecursionError, zlib.error)
"""What the codec, compressed bytes and the values made of them raise for what is not what was kept,
as met when flipping bits, cutting bytes short, leaving fields out and writing other types."""


class DamageError(Exception):
    """Where in the file something is not what was kept, and what to do about it.

    It never leaves the project: `impactcut.project.file.faults` makes a `ProjectFileError` of it.
    """

    def __init__(self, where: str, remedy: str) -> None:
        super().__init__(where)
        self.where = where
        self.remedy = remedy


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
    except SIGNS as error:
        raise damage(where, remedy, error) from error


def damage(where: str, remedy: str, error: BaseException) -> DamageError:
    """The damage that an error is a sign of."""
    said = str(error)[:_LONGEST]
    return DamageError(f"{where}: {said}" if said else where, remedy)
