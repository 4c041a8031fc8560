"""Opening the project file and bringing it up to date.

People's notes are in it, so it is made for its owner's eyes only; what SQLite keeps beside it gets
the same permissions, and so does the copy made before its form changes.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path

from impactcut.core.words import free_name
from impactcut.errors import ProjectFileError
from impactcut.project.file.faults import explained
from impactcut.project.file.identity import APPLICATION_ID, ELSEWHERE, check_identity, refuse_newer
from impactcut.project.file.migrations import MIGRATIONS, Migration

BUSY_SECONDS = 15.0
_OWNER_ONLY = 0o600
_BESIDE = ("-wal", "-shm", "-journal")


def open_database(
    path: Path, create: bool, migrations: Sequence[Migration] = MIGRATIONS, *, reading: bool = False
) -> sqlite3.Connection:
    """A connection to the project file, brought up to date.

    What is only read, because somebody wants that or because it may not be written, stays as it is:
    a file of an older form is brought up to date as a copy in memory.

    Parameters
    ----------
    create : bool
        Make the file if there is none.
    migrations : sequence of Migration
        Every step up to the form wanted.
    reading : bool
        Only read it.

    Raises
    ------
    ProjectFileError
        If there is no file and none may be made, or it is not a project, or newer than this
        program, or cannot be read or locked.
    """
    path = path.absolute()
    check_identity(path, create, len(migrations))
    with explained(path):
        reading = reading or not may_write(path)
        connection = _connect_to_read(path) if reading else _connect_to_write(path)
        try:
            connection.execute("PRAGMA foreign_keys = ON")
            refuse_newer(path, _version(connection), len(migrations))
            if reading and _version(connection) < len(migrations):
                connection = _in_memory(connection)
                _migrate(None, connection, migrations)
            elif not reading:
                _migrate(path, connection, migrations)
                connection.execute("PRAGMA journal_mode = WAL")
            connection.execute(f"PRAGMA query_only = {int(reading)}")
        except BaseException:
            connection.close()
            raise
    return connection


def may_write(path: Path) -> bool:
    """Whether the file, and what SQLite keeps beside it, may be written."""
    return os.access(path.parent, os.W_OK) and (os.access(path, os.W_OK) or not path.exists())


def files_of(path: Path) -> tuple[Path, ...]:
    """The project file and what SQLite keeps beside it while it is in use.

    Whoever opens and closes one of them drops the locks that this process holds on it.
    """
    whole = path.resolve()
    return (whole, *(whole.with_name(whole.name + ending) for ending in _BESIDE))


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


def _connect_to_write(path: Path) -> sqlite3.Connection:
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL, _OWNER_ONLY))
    except FileExistsError:
        pass
    except OSError as error:
        raise ProjectFileError(
            f"{path}: it cannot be made ({error.strerror}); check its folder, or {ELSEWHERE}"
        ) from error
    return sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """A connection that writes nothing.

    SQLite reads a file in WAL mode only if it may keep an index beside it, which it then also
    removes, or is told that nobody changes the file. Where nobody may write it, and while there is
    no log beside it, nobody does.
    """
    if may_write(path):
        return sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)
    logged = path.with_name(f"{path.name}-wal").exists()
    address = f"{path.as_uri()}?mode=ro{'' if logged else '&immutable=1'}"
    return sqlite3.connect(address, uri=True, timeout=BUSY_SECONDS, isolation_level=None)


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _in_memory(connection: sqlite3.Connection) -> sqlite3.Connection:
    """A copy of a whole file, which is closed."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    with closing(connection):
        connection.backup(copy)
    return copy


def _migrate(
    path: Path | None, connection: sqlite3.Connection, migrations: Sequence[Migration]
) -> None:
    """Apply all steps that are wanting as one, once the file, if it is one, was copied."""
    if _version(connection) >= len(migrations):
        return
    with transaction(connection, write=True):
        version = _version(connection)  # somebody else may have been quicker
        if path is not None and 0 < version < len(migrations):
            _back_up(path, version)
        for migration in migrations[version:]:
            for statement in migration.statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {len(migrations)}")


def _back_up(path: Path, version: int) -> None:
    """Copy the file beside itself; another connection reads what was last committed."""
    form = f"{path.name}.form{version}"
    free = free_name(form, lambda name: path.with_name(f"{name}.bak").exists())
    copy = path.with_name(f"{free}.bak")
    unfinished = copy.with_name(f"{copy.name}.part")
    unfinished.unlink(missing_ok=True)
    os.close(os.open(unfinished, os.O_CREAT | os.O_EXCL, stat.S_IMODE(path.stat().st_mode)))
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as target:
        source.backup(target)
    unfinished.replace(copy)
