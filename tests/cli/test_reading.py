"""What only reads a project leaves its file as it is, to the byte, and nothing beside it."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from impactcut.cli import main
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.media.probe.container import probe
from impactcut.project import Project
from impactcut.project.file.migrations import MIGRATIONS
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.hits.listing import list_chosen
from tests.helpers.footage.staged_clips import film
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.older_file import write_older
from tests.helpers.running.commands import Run, run_command

READING: tuple[tuple[str, ...], ...] = (
    ("hits",),
    ("hits", "--json", "--all", "--fov", "60"),
    ("trims", "1", "--plot", "hit.png"),
    ("compare", "--csv", "beats.csv"),
    ("history",),
    ("status",),
    ("shots", "--save", "log.csv"),
    ("page", "page.html"),
    ("preview", "--all", "all.mp4"),
    ("export", "pages", "--only", "overview,summary"),
    ("deliveries", "--json"),
    ("recut", "cut.edl", "new.edl", "--rate", "24"),
    ("review", "--no-browser"),
)
CUT = """TITLE: QUAY
001  S1_T1_A  V     C        00:00:00:00 00:00:03:00 01:00:00:00 01:00:03:00
* FROM CLIP NAME: S1_T1_A.mov
"""
WRITING = {
    "add", "calibrate", "decide", "demo", "drop", "export", "learn", "mark", "move", "same",
    "scan", "undo",
}  # fmt: skip
"""Export keeps that lists were handed over, and nothing else: its pages alone are only read."""
NO_PROJECT = {"help"}


@pytest.fixture(params=["new", "older", "locked"])
def project(request: pytest.FixtureRequest, tmp_path: Path, run: Run) -> Path:
    """A project of one clip without proposals, with an approved trim, in a folder of its own."""
    path, clip_path = tmp_path / "held/quay.db", film(tmp_path / "S1_T1_A.mov")
    path.parent.mkdir()
    (tmp_path / "cut.edl").write_text(CUT)
    made = path if request.param != "older" else tmp_path / "new.db"
    with Project(made, create=True) as project:
        clip = replace(probe(clip_path), section="1", take="1")
        keep_clip(project, clip, 30, 50, seen=fingerprint(clip_path))
        project.decide(1, Decision("approved", FrameRange(30, 32), "Ines", "2024-03-01T20:00:00Z"))
    if request.param == "older":
        write_older(path, made, len(MIGRATIONS) - 1)
    if request.param == "locked":
        patch = request.getfixturevalue("monkeypatch")
        for module in ("store", "file.database"):
            patch.setattr(f"impactcut.project.{module}.may_write", lambda path: False)
    return path


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.chdir(tmp_path)
    served = import_module("impactcut.review.serve")
    monkeypatch.setattr(served, "serve", ask_for_everything)
    return run_command


def ask_for_everything(material: Any, reception: Any, _: bool) -> None:
    """What a browser asks for, without one."""
    reception.socket.close()
    assert material.overview()["hits"] and material.decisions()
    assert material.detail(1) and material.pictures(1) and material.strip(1)


def test_reading_commands_leave_the_file_as_it_is(project: Path, run: Run) -> None:
    before = project.read_bytes()
    for command in READING:
        result = run(*command, "--project", project)
        assert result.exit_code in (0, 1), (command, result.output)
        assert [each.name for each in project.parent.iterdir()] == ["quay.db"], command
        assert project.read_bytes() == before, command


def test_every_command_is_known_to_read_or_to_write() -> None:
    assert {name for name, *_ in READING} | WRITING | NO_PROJECT == set(main.commands)


def test_what_is_proposed_while_reading_is_what_a_scan_keeps(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        clip_path = film(tmp_path / "a.mov")
        clip = probe(clip_path)
        keep_clip(project, clip, 30, 50, seen=fingerprint(clip_path))
    with Project(path, reading=True) as project:
        assert project.clips_without_proposals() == {1}
        unkept = list_chosen(project)
        assert project.clips_without_proposals() == frozenset()
    with Project(path, reading=True) as project:
        assert project.clips_without_proposals() == {1}
    with Project(path) as project:
        kept = list_chosen(project)
    with Project(path, reading=True) as project:
        assert project.clips_without_proposals() == frozenset()
        again = list_chosen(project)
    taken = [[hit.taken for clip in each for hit in clip.hits] for each in (unkept, kept, again)]
    assert taken[0] == taken[1] == taken[2] and len(taken[0]) == 2
