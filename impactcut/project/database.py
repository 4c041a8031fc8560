"""Opening the project file: whose it is, how new it is, and bringing it up to date.

A file that is not a project, or that a newer impactcut wrote, is refused before anything is
written to it. SQLite keeps ``user_version`` and ``application_id`` as big-endian 32-bit numbers
at bytes 60 and 68 of its header (https://www.sqlite.org/fileformat2.html, section 1.3).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path

from impactcut.errors import ProjectFileError
from impactcut.project.migrations import MIGRATIONS, Migration

APPLICATION_ID = 0x696D7063
BUSY_SECONDS = 15.0
_MAGIC = b"SQLite format 3\0"
_APPLICATION_ID_AT = slice(68, 72)


def open_database(
    path: Path, create: bool, migrations: Sequence[Migration] = MIGRATIONS
) -> sqlite3.Connection:
    """A connection to the project file, brought up to date.

    Parameters
    ----------
    path : Path
    create : bool
        Make the file if there is none.
    migrations : sequence of Migration
        Every step up to the form wanted.

    Raises
    ------
    ProjectFileError
        If there is no file and none may be made, or it is not a project, or newer than this
        program, or cannot be read, written or locked.
    """
    _check_before_opening(path, create)
    with explained(path):
        connection = sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)
        try:
            connection.execute("PRAGMA foreign_keys = ON")
            _refuse_newer(path, _version(connection), len(migrations))
            _migrate(path, connection, migrations)
            connection.execute("PRAGMA journal_mode = WAL")
        except BaseException:
            connection.close()
            raise
    return connection


@contextmanager
def transaction(connection: sqlite3.Connection, write: bool) -> Iterator[None]:
    """All of what is done inside, or nothing of it; reads inside see one state of the file."""
    connection.execute("BEGIN IMMEDIATE" if write else "BEGIN")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn SQLite's errors into ones that name the file and say what to do."""
    try:
        yield
    except sqlite3.Error as error:
        raise ProjectFileError(f"{path}: {_explanation(error)}") from error


def _explanation(error: sqlite3.Error) -> str:
    name = getattr(error, "sqlite_errorname", "")
    for start, text in _EXPLANATIONS.items():
        if name.startswith(start):
            return text
    return f"the project file could not be used ({error})"


_EXPLANATIONS = {
    "SQLITE_BUSY": "another impactcut is writing to it; try again when that has ended",
    "SQLITE_LOCKED": "another impactcut is writing to it; try again when that has ended",
    "SQLITE_READONLY": "it cannot be written; check its permissions and those of its folder",
    "SQLITE_CANTOPEN": "it cannot be opened; check that its folder exists and can be written",
    "SQLITE_PERM": "it cannot be opened; check its permissions and those of its folder",
    "SQLITE_FULL": "the disk is full; make room and run the same command again",
    "SQLITE_IOERR": "the disk reported a fault; check the disk and its free space",
    "SQLITE_NOTADB": "not an impactcut project; name another file with --project",
    "SQLITE_CORRUPT": "it is damaged; put back a copy of it, or name a new file with --project",
}


def _check_before_opening(path: Path, create: bool) -> None:
    try:
        with path.open("rb") as file:
            header = file.read(100)
    except FileNotFoundError:
        if create:
            return
        raise ProjectFileError(
            f"{path}: there is no such project; run 'impactcut scan' to make it, "
            "or name another file with --project"
        ) from None
    except OSError as error:
        raise ProjectFileError(
            f"{path}: it cannot be read ({error.strerror}); name another file with --project"
        ) from error
    if not header and create:
        return
    ours = APPLICATION_ID.to_bytes(4, "big")
    if not header.startswith(_MAGIC) or header[_APPLICATION_ID_AT] != ours:
        raise ProjectFileError(
            f"{path}: not an impactcut project, so it was left alone; "
            "name another file with --project"
        )


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _refuse_newer(path: Path, version: int, known: int) -> None:
    if version > known:
        raise ProjectFileError(
            f"{path}: written by a newer impactcut (form {version}, this one knows up to {known}), "
            "so it was left alone; install that version, or name another file with --project"
        )


def _migrate(path: Path, connection: sqlite3.Connection, migrations: Sequence[Migration]) -> None:
    to_back_up = _version(connection) > 0
    for number, migration in enumerate(migrations, start=1):
        if _version(connection) >= number:
            continue
        with transaction(connection, write=True):
            version = _version(connection)
            if version >= number:
                continue
            if to_back_up:
                _back_up(path, version)
                to_back_up = False
            for statement in migration.statements:
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {number}")


def _back_up(path: Path, version: int) -> None:
    """Copy the file beside itself; another connection reads what was last committed."""
    copy = path.with_name(f"{path.name}.form{version}.bak")
    count = 1
    while copy.exists():
        count += 1
        copy = path.with_name(f"{path.name}.form{version}-{count}.bak")
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)
