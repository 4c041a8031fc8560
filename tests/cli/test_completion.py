"""What the shell is offered, asked for as Click documents it (`click.shell_completion`)."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from impactcut.cli import main
from impactcut.project import Project
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip, make_hit


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        for angle in ("B", "C"):
            clip = make_clip(f"/quay/S2_T3_{angle}.mov", angle=angle)
            keep_clip(project, clip, 40, 90, make_hit(150, confidence=0.2))
    return path


def offered(*words: str, begun: str = "") -> list[str]:
    completer = ShellComplete(main, {}, "impactcut", "_IMPACTCUT_COMPLETE")
    return [item.value for item in completer.get_completions(list(words), begun)]


@pytest.mark.parametrize("command", ["decide", "trims", "history", "preview", "move", "add"])
def test_clips_and_then_their_hits(command: str, path: Path) -> None:
    at = ("--project", str(path))
    assert offered(command, *at) == ["S2T3B", "S2T3C"]
    assert offered(command, *at, begun="s2t3c") == ["S2T3C"]
    assert offered(command, *at, begun="S2T3C.") == ["S2T3C.1", "S2T3C.2"]


def test_the_project_may_stand_in_the_environment_or_behind(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert offered("decide") == []
    monkeypatch.setenv("IMPACTCUT_PROJECT", str(path))
    assert offered("decide", begun="S2T3B.") == ["S2T3B.1", "S2T3B.2"]
    assert offered("compare", "--apart", begun="S2T3B.") == ["S2T3B.1", "S2T3B.2"]


def test_sections_takes_and_angles(path: Path) -> None:
    at = ("--project", str(path))
    assert offered("hits", *at, "--angle") == ["B", "C"]
    assert offered("export", *at, "--section") == ["2"]
    assert offered("page", *at, "--take", begun="4") == []


def test_lists_after_commas() -> None:
    assert offered("export", "--only", begun="e") == ["edl"]
    assert offered("export", "--only", begun="edl,s")[:2] == ["edl,spotting", "edl,summary"]
    assert "edl,edl" not in offered("export", "--only", begun="edl,")


def test_a_file_that_is_no_project_offers_nothing(tmp_path: Path) -> None:
    other = tmp_path / "notes.db"
    other.write_text("no project")
    assert offered("decide", "--project", str(other)) == []
    assert other.read_text() == "no project"
