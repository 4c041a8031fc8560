"""The project file among several: threads, processes, and people who may only read it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from impactcut.core.trims.decision import Decision
from impactcut.errors import ProjectFileError
from impactcut.project import Project
from impactcut.project.file.database import open_database
from impactcut.project.file.migrations import MIGRATIONS, Migration
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip
from tests.helpers.running.processes import run_python

NO = Decision("declined", None, "Ines", "2024-03-01T20:00:00Z", "the sleeve shows")
OPEN_AND_CLOSE = """
import sys
from pathlib import Path
from impactcut.project import Project
with Project(Path(sys.argv[1])) as project:
    print(len(project.clips()))
"""
FAIL_ONE = """
import sys
from pathlib import Path
from impactcut.project import Project
with Project(Path(sys.argv[1])) as project:
    project.store_failure("/quay/b.mov", None, "{}", "is empty", "copy it again")
"""
READ = """
import sys
from pathlib import Path
from impactcut.core.trims.decision import Decision
from impactcut.errors import ProjectFileError
from impactcut.project import Project
from impactcut.workflow.hits.listing import list_hits
from tests.helpers.running.processes import become_somebody_whom_permissions_stop
become_somebody_whom_permissions_stop()
with Project(Path(sys.argv[1]), fov=20.0) as project:
    (entry,) = list_hits(project)
    print(project.writable, entry.clip.name, [hit.decision.note for hit in entry.hits])
    try:
        project.decide(entry.hits[0].id, Decision("later"))
    except ProjectFileError as error:
        print(error)
"""
READ_AS_NEWER = """
import sys
from pathlib import Path
from impactcut.project.file.database import open_database
from impactcut.project.file.migrations import MIGRATIONS, Migration
from tests.helpers.running.processes import become_somebody_whom_permissions_stop
become_somebody_whom_permissions_stop()
later = Migration("later", ("CREATE TABLE later (x)", "INSERT INTO later SELECT path FROM clips"))
opened = open_database(Path(sys.argv[1]), False, (*MIGRATIONS, later))
print(opened.execute("SELECT x FROM later").fetchall())
"""


@pytest.fixture
def project_path(tmp_path: Path) -> Path:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        clip_id = keep_clip(project, make_clip(), 100)
        project.decide(project.hits(clip_id)[0].id, NO)
    return path


@pytest.fixture
def shown_path(project_path: Path) -> Iterator[Path]:
    """The project in a folder that everybody may enter and read, and nobody may write."""
    folder = Path(tempfile.mkdtemp(prefix="impactcut-"))
    path = Path(shutil.copy(project_path, folder))
    path.chmod(0o444)
    folder.chmod(0o555)
    yield path
    folder.chmod(0o700)
    shutil.rmtree(folder)


def beside(path: Path) -> list[str]:
    return sorted(each.name for each in path.parent.iterdir())


def test_second_look_of_a_process_keeps_its_locks(project_path: Path) -> None:
    """Closing the file would drop them: https://www.sqlite.org/howtocorrupt.html, section 2.2."""
    with Project(project_path) as first:
        before = first.clips()
        Project(project_path).close()
        run_python(OPEN_AND_CLOSE, project_path)
        assert beside(project_path) == ["night.db", "night.db-shm", "night.db-wal"]
        run_python(FAIL_ONE, project_path)
        first.decide(first.hits(before[0].id)[0].id, NO)
        assert len(first.clips()) == 2
    with Project(project_path) as project:
        assert len(project.clips()) == 2 and len(project.history(before[0].id)) == 2


def test_all_that_holds_notes_is_its_owners_alone(project_path: Path) -> None:
    later = Migration("a later step", ("ALTER TABLE clips ADD COLUMN mood TEXT",))
    connection = open_database(project_path, False, (*MIGRATIONS, later))
    names = {f"night.db{end}" for end in ("", "-wal", "-shm", f".form{len(MIGRATIONS)}.bak")}
    assert set(beside(project_path)) == names
    for each in project_path.parent.iterdir():
        assert stat.S_IMODE(each.stat().st_mode) == 0o600, each.name
    connection.close()


def test_permissions_that_somebody_widened_stay(project_path: Path) -> None:
    project_path.chmod(0o660)
    with Project(project_path) as project:
        project.clips()
        assert stat.S_IMODE(project_path.stat().st_mode) == 0o660


def test_unfinished_copy_of_an_interrupted_step_is_no_hindrance(project_path: Path) -> None:
    copy = project_path.with_name(f"night.db.form{len(MIGRATIONS)}.bak")
    copy.with_name(f"{copy.name}.part").write_bytes(b"half")
    later = Migration("a later step", ("ALTER TABLE clips ADD COLUMN mood TEXT",))
    open_database(project_path, False, (*MIGRATIONS, later)).close()
    assert beside(project_path) == ["night.db", copy.name]
    with sqlite3.connect(copy) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


def test_project_that_may_not_be_written_is_read(shown_path: Path) -> None:
    first, refused = run_python(READ, shown_path).splitlines()
    assert first == "False S2_T3_B.mov ['the sleeve shows']"
    assert str(shown_path) in refused and "cannot be written; check its permissions" in refused
    assert beside(shown_path) == ["night.db"]


def test_project_in_use_by_its_owner_is_read_by_others(shown_path: Path) -> None:
    shown_path.chmod(0o644)
    with Project(shown_path) as owner:
        owner.decide(owner.hits(1)[0].id, Decision("later", note="ask the camera"))
        first, _ = run_python(READ, shown_path).splitlines()
    assert first == "False S2_T3_B.mov ['ask the camera']"


def test_old_project_that_may_not_be_written_is_read_all_the_same(shown_path: Path) -> None:
    before = shown_path.read_bytes()
    assert "S2_T3_B.mov" in run_python(READ_AS_NEWER, shown_path)
    assert beside(shown_path) == ["night.db"] and shown_path.read_bytes() == before


@pytest.mark.parametrize("name", [":memory:", "file:night.db?mode=memory", "to night?#%41.db"])
def test_odd_names_are_names_of_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        Project(Path(name), create=True).close()
    assert [each.name for each in tmp_path.iterdir()] == [name]


def test_what_is_no_file_is_no_project(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.db")
    for path in (tmp_path / "pipe.db", tmp_path):
        with pytest.raises(ProjectFileError, match=r"not a file.*--project"):
            Project(path, create=True)


def test_empty_file_becomes_a_project_only_when_asked(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    path.touch()
    with pytest.raises(ProjectFileError, match="no such project"):
        Project(path)
    assert path.stat().st_size == 0
    Project(path, create=True).close()
    with Project(path) as project:
        assert project.clips() == ()
