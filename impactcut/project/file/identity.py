"""Whose a project file is and how new, read without touching it.

SQLite keeps ``user_version`` and ``application_id`` in its header
(https://www.sqlite.org/fileformat2.html, section 1.3). The header is read through SQLite itself,
as of a file that never changes: that makes no files beside it, and closing it leaves the locks of
other connections of this process alone, which closing a file of one's own would not
(https://www.sqlite.org/howtocorrupt.html, section 2.2).
"""

from __future__ import annotations

import sqlite3
import stat
from contextlib import closing
from pathlib import Path

from impactcut.errors import ProjectFileError
from impactcut.project.file.faults import explained

APPLICATION_ID = 0x696D7063
ELSEWHERE = "name another file with --project"
_AS_IT_LIES = "mode=ro&immutable=1"


def check_identity(path: Path, create: bool, known: int) -> None:
    """Refuse what is no project of this program, or a newer one, before anything is opened.

    Parameters
    ----------
    path : Path
        Absolute.
    create : bool
        Whether the file may be missing or empty.
    known : int
        The newest form that this program knows.

    Raises
    ------
    ProjectFileError
        If the file may not be used.
    """
    if _size(path) == 0:
        if not path.parent.exists():
            raise ProjectFileError(
                f"{path}: the folder {path.parent} does not exist; make it, or {ELSEWHERE}"
            )
        if create:
            return
        raise ProjectFileError(
            f"{path}: there is no such project; run 'impactcut scan FOLDER' to make it, "
            f"or {ELSEWHERE}"
        )
    application, version = _read(path)
    if application != APPLICATION_ID:
        raise ProjectFileError(
            f"{path}: not an impactcut project, so it was left alone; {ELSEWHERE}"
        )
    refuse_newer(path, version, known)


def is_project(path: Path) -> bool:
    """Whether a file is a project of this program; it and the locks on it are left alone."""
    try:
        return _header(path.absolute(), _AS_IT_LIES)[0] == APPLICATION_ID
    except sqlite3.Error as error:
        return error.sqlite_errorname == "SQLITE_CORRUPT"


def refuse_newer(path: Path, version: int, known: int) -> None:
    """Refuse a form that this program does not know.

    Raises
    ------
    ProjectFileError
        If ``version`` is above ``known``.
    """
    if version > known:
        raise ProjectFileError(
            f"{path}: written by a newer impactcut (form {version}, this one knows up to {known}), "
            f"so it was left alone; install that version, or {ELSEWHERE}"
        )


def _size(path: Path) -> int:
    """Bytes of the file; 0 if there is none."""
    try:
        status = path.stat()
    except FileNotFoundError:
        return 0
    except OSError as error:
        raise _unreadable(path, str(error.strerror)) from error
    if not stat.S_ISREG(status.st_mode):
        raise _unreadable(path, "not a file")
    return status.st_size


def _read(path: Path) -> tuple[int, int]:
    """Whose a file is by its header, and its form; nobody's if it is no SQLite file."""
    try:
        return _header(path, _AS_IT_LIES)
    except sqlite3.OperationalError as error:
        raise _unreadable(path, str(error)) from error
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorname != "SQLITE_CORRUPT":
            return 0, 0
    with explained(path):  # where a full disk cut the file short, the log beside it has the rest
        return _header(path, "mode=ro")


def _header(path: Path, how: str) -> tuple[int, int]:
    with closing(sqlite3.connect(f"{path.as_uri()}?{how}", uri=True)) as connection:
        (application,) = connection.execute("PRAGMA application_id").fetchone()
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        return application, version


def _unreadable(path: Path, reason: str) -> ProjectFileError:
    return ProjectFileError(f"{path}: it cannot be read ({reason}); {ELSEWHERE}")
