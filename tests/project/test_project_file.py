"""The project file as a file: whose it is, how new it is, and two at once.

Positions in the header: https://www.sqlite.org/fileformat2.html, section 1.3.
"""

from __future__ import annotations

import multiprocessing
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from impactcut.errors import ProjectFileError
from impactcut.project import Project
from impactcut.project.file import database
from impactcut.project.file.database import APPLICATION_ID, open_database
from impactcut.project.file.migrations import MIGRATIONS, Migration
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip

NEXT = Migration("a later step", ("ALTER TABLE clips ADD COLUMN mood TEXT",))


def test_header_tells_whose_file_it_is_and_its_form(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    Project(path, create=True).close()
    header = path.read_bytes()[:100]
    assert header.startswith(b"SQLite format 3\0")
    assert int.from_bytes(header[60:64], "big") == len(MIGRATIONS)
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID


def test_missing_project_is_not_made_unasked(tmp_path: Path) -> None:
    with pytest.raises(ProjectFileError, match=r"no such project.*impactcut scan"):
        Project(tmp_path / "night.db")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("create", [True, False])
def test_missing_folder_is_named(tmp_path: Path, create: bool) -> None:
    with pytest.raises(ProjectFileError, match=r"x\.db: the folder .*none does not exist; "):
        Project(tmp_path / "none/x.db", create=create)
    assert list(tmp_path.iterdir()) == []


def _sqlite_file(path: Path, *statements: str) -> None:
    connection = sqlite3.connect(path)
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()


def contents(path: Path) -> tuple[bytes, int]:
    """What a file holds, and when it was last changed."""
    return path.read_bytes(), path.stat().st_mtime_ns


@pytest.mark.parametrize("create", [True, False])
def test_foreign_files_are_refused_untouched(tmp_path: Path, create: bool) -> None:
    text = tmp_path / "notes.db"
    text.write_text("do not lose this")
    other = tmp_path / "other.db"
    _sqlite_file(other, "CREATE TABLE shopping (item)", "PRAGMA journal_mode = WAL")
    before = {path: contents(path) for path in sorted(tmp_path.iterdir())}
    for path in (text, other):
        with pytest.raises(
            ProjectFileError, match=r"not an impactcut project.*--project"
        ) as caught:
            Project(path, create=create)
        assert str(path) in str(caught.value)
    assert {path: contents(path) for path in sorted(tmp_path.iterdir())} == before


def test_newer_file_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    open_database(path, True, (*MIGRATIONS, NEXT)).close()
    before = contents(path)
    with pytest.raises(ProjectFileError, match="newer impactcut"):
        Project(path)
    assert contents(path) == before
    assert [each.name for each in tmp_path.iterdir()] == ["night.db"]


def test_older_file_is_copied_then_brought_up_to_date(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        keep_clip(project, make_clip())
    with sqlite3.connect(path) as older:
        before = list(older.iterdump())
    older.close()
    open_database(path, False, (*MIGRATIONS, NEXT)).close()
    copy = sqlite3.connect(tmp_path / f"night.db.form{len(MIGRATIONS)}.bak")
    assert list(copy.iterdump()) == before
    assert copy.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)
    copy.close()
    now = sqlite3.connect(path)
    assert now.execute("SELECT path, mood FROM clips").fetchall() == [("/quay/S2_T3_B.mov", None)]
    assert now.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS) + 1,)
    now.close()


def test_step_that_fails_leaves_the_form_before_it(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    Project(path, create=True).close()
    broken = Migration("half a step", (*NEXT.statements, "ALTER TABLE nothing ADD COLUMN x"))
    with pytest.raises(ProjectFileError):
        open_database(path, False, (*MIGRATIONS, broken))
    now = sqlite3.connect(path)
    columns = [row[1] for row in now.execute("PRAGMA table_info(clips)")]
    assert "mood" not in columns
    assert now.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)
    now.close()


class Watched(tuple[str, ...]):
    """Statements that take down the form which others see while they are about to be executed."""

    seen: list[int]
    path: Path

    def __iter__(self) -> Iterator[str]:
        with closing(sqlite3.connect(self.path)) as other:
            self.seen += other.execute("PRAGMA user_version").fetchone()
        return super().__iter__()


def test_nobody_sees_a_file_half_made(tmp_path: Path) -> None:
    """Who opened a new file of an early form would take it for an old one, and copy it."""
    Watched.seen, Watched.path = [], tmp_path / "night.db"
    steps = [replace(step, statements=Watched(step.statements)) for step in MIGRATIONS]
    with closing(open_database(Watched.path, True, steps)) as connection:
        assert Watched.seen == [0] * len(MIGRATIONS)
        assert connection.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)


def test_opening_an_up_to_date_file_makes_no_copy(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    for create in (True, False, True):
        Project(path, create=create).close()
    assert [each.name for each in tmp_path.iterdir()] == ["night.db"]


def test_file_is_in_wal_mode_with_foreign_keys(tmp_path: Path) -> None:
    connection = open_database(tmp_path / "night.db", create=True)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)
    connection.close()


def test_damaged_file_is_named(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        keep_clip(project, make_clip())
    whole = path.read_bytes()
    path.write_bytes(whole[:100] + b"\xff" * (len(whole) - 100))
    with pytest.raises(ProjectFileError, match=r"night\.db: it is damaged"):
        Project(path)


def test_locked_file_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.0)
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(ProjectFileError, match="another impactcut is writing"):
            project.store_failure("/quay/a.mov", None, "{}", "is empty", "copy it again")
        assert project.clips() == ()
        other.close()


def _store_many(path: Path, start: int) -> None:
    with Project(path, create=True) as project:
        for number in range(start, start + 15):
            keep_clip(project, make_clip(f"/quay/{number}.mov"), 50, 100)


def test_two_processes_write_at_once(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_store_many, args=(path, 100 * n)) for n in range(2)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert [writer.exitcode for writer in writers] == [0, 0]
    with Project(path) as project:
        stored = project.clips()
        assert len(stored) == 30
        numbers = [hit.id for clip in stored for hit in project.hits(clip.id)]
        assert len(set(numbers)) == 60


def test_a_file_that_a_full_disk_cut_short_is_whole_again_with_its_log(tmp_path: Path) -> None:
    """The log is taken into the file page by page; a disk that fills up meanwhile ends it early.

    SQLite reads the pages that are missing from the log (https://www.sqlite.org/wal.html).
    """
    path, kept = tmp_path / "night.db", tmp_path / "kept"
    kept.mkdir()
    with Project(path, create=True) as project:
        for number in range(60):
            keep_clip(project, make_clip(f"/quay/{number}.mov"))
        with closing(sqlite3.connect(path)) as other:
            other.execute("PRAGMA wal_checkpoint(PASSIVE)")
        for name in ("night.db", "night.db-wal"):
            shutil.copy(tmp_path / name, kept / name)
    cut = kept / "night.db"
    cut.write_bytes(cut.read_bytes()[:-4096])
    for reading in (True, False):
        with Project(cut, reading=reading) as project:
            assert len(project.clips()) == 60
    assert cut.stat().st_size == path.stat().st_size


def test_a_file_that_was_cut_short_and_has_no_log_is_damaged(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        for number in range(60):
            keep_clip(project, make_clip(f"/quay/{number}.mov"))
    path.write_bytes(path.read_bytes()[:-4096])
    with pytest.raises(ProjectFileError, match=r"night\.db: it is damaged"):
        Project(path)
