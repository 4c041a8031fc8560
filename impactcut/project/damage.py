"""Values of the project file that are not what was kept there, told from everything else."""

from __future__ import annotations

import struct
import tokenize
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

PUT_BACK: Final = "put back a copy of it, or name a new file with --project"
MEASURE_AGAIN: Final = "measure the clip again with 'impactcut scan --again'"

_DAMAGE = (
    OSError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error, struct.error,
    tokenize.TokenError, ValueError, TypeError, LookupError, ArithmeticError, AttributeError,
    MemoryError,
)  # fmt: skip
"""What NumPy, the archive, JSON and the values made of them raise for bytes that are not what was
kept, as met when flipping bits, cutting them short and leaving fields out."""


class DamageError(Exception):
    """Something in the project file is not what was kept there; says what, and what to do."""


@contextmanager
def as_kept(what: str, remedy: str = PUT_BACK) -> Iterator[None]:
    """Raise `DamageError` where the block fails on values that are not what was kept.

    Parameters
    ----------
    what : str
        That is read in the block, with "the".
    remedy : str
        What a person can do if it cannot be read.
    """
    try:
        yield
    except _DAMAGE as error:
        raise DamageError(f"{what} cannot be read; {remedy}") from error
