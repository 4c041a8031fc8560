"""What goes wrong with the project file, said in words that name the file and the remedy."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from impactcut.errors import ProjectFileError
from impactcut.project.rows.damage import RESTORE, DamageError

_BUSY = "another impactcut is writing to it; try again when that has ended"
_DENIED = "it cannot be opened; check its permissions and those of its folder"
_EXPLANATIONS = {
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "SQLITE_READONLY": "it cannot be written; check its permissions and those of its folder",
    "SQLITE_CANTOPEN": _DENIED,
    "SQLITE_PERM": _DENIED,
    "SQLITE_FULL": "the disk is full; make room and run the same command again",
    "SQLITE_IOERR": "the disk reported a fault; check the disk and its free space",
    "SQLITE_NOTADB": "not an impactcut project; name another file with --project",
    "SQLITE_CORRUPT": f"it is damaged; {RESTORE}",
}


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn errors of SQLite, of the file system and of damage into ones that say what to do."""
    try:
        yield
    except sqlite3.Error as error:
        raise ProjectFileError(f"{path}: {_explanation(error)}") from error
    except DamageError as error:
        raise ProjectFileError(f"{path}: it is damaged ({error.where}); {error.remedy}") from error
    except ProjectFileError:
        raise
    except OSError as error:
        raise ProjectFileError(
            f"{path}: {error.strerror} ({error.filename}); check the folder and its free space"
        ) from error


def _explanation(error: sqlite3.Error) -> str:
    name = getattr(error, "sqlite_errorname", "")
    for start, text in _EXPLANATIONS.items():
        if name.startswith(start):
            return text
    return f"the project file could not be used ({error}); {RESTORE}"
