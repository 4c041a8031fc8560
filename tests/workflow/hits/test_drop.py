"""Clips that are taken out: nothing lists them, and what was said of them comes back with them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import Result

from impactcut.project import Project
from impactcut.workflow.hits.deciding import Signature
from impactcut.workflow.hits.names import keep_names
from impactcut.workflow.hits.undo_history import history
from tests.helpers.projects.answering import decline
from tests.helpers.running.commands import run_command
from tests.helpers.running.watched_scans import run as scan

TOM = Signature("Tom")


@pytest.fixture
def project(project: Project, footage: Path) -> Project:
    """A project of two scanned clips with a hit each, the first left as shot."""
    scan(project, footage)
    keep_names(project)
    decline(project, 1, TOM)
    return project


def run(project: Project, *words: object) -> Result:
    return run_command(*words, "--project", project.path)


def listed(project: Project) -> list[str]:
    clips = json.loads(run(project, "hits", "--json").stdout)["clips"]
    return [hit["name"] for clip in clips for hit in clip["hits"]]


def test_a_clip_that_is_taken_out_is_nowhere_and_comes_back_whole(
    project: Project, footage: Path
) -> None:
    done = run(project, "drop", "S1T1A", "--who", "Anna")
    assert done.exit_code == 0 and done.stdout.endswith("S1_T1_A_x.mov: taken out\n")
    assert listed(project) == ["S1T2B.1"] and len(project.speeds(0.0)) == 1
    assert "1 clip measured (1 taken out), 1 hit" in run(project, "status").stdout
    for word in ("1", "S1T1A.1"):
        refused = run(project, "decide", word, "--later")
        assert refused.exit_code == 2 and "there is no hit" in refused.stderr
    report = scan(project, footage, again=True)
    assert (len(report.measured), report.plan.dropped) == (1, 1)
    assert run(project, "drop", "S1T1A").exit_code == 2, "it is out already"
    assert run(project, "drop", "S1T1A", "S9", "--back").exit_code == 1
    assert listed(project) == ["S1T1A.1", "S1T2B.1"]
    decision = project.hit(1).decision
    assert decision is not None and (decision.answer, decision.who) == ("declined", "Tom")


def test_taking_out_is_in_the_history_and_taken_back(project: Project) -> None:
    run(project, "drop", "S1T1A", "S1T2B", "--who", "Anna")
    assert run(project, "hits").exit_code == 2
    told = run(project, "undo").stdout.splitlines()
    assert [line.rpartition(": ")[2] for line in told] == ["back in", "back in"]
    assert listed(project) == ["S1T1A.1", "S1T2B.1"]
    assert [(line.who, line.words) for line in history(project)][1:3] == [
        ("Anna", "taken out"), ("Anna", "taken out"),
    ]  # fmt: skip
    assert "taken out" in run(project, "history").stdout


def test_a_file_that_cannot_be_measured_is_taken_out_too(tmp_path: Path) -> None:
    broken = tmp_path / "junk.mov"
    broken.write_bytes(b"ftypqt  " * 400)
    words = ("--project", tmp_path / "night.db")
    assert run_command("scan", broken, *words).exit_code != 0
    assert "junk.mov" in run_command("status", *words).output
    assert run_command("drop", broken, *words).exit_code == 0
    assert "junk.mov" not in run_command("status", *words).output
    again = run_command("scan", broken, *words)
    assert again.exit_code == 0 and "1 clip taken out with 'impactcut drop'" in again.output
    assert run_command("drop", "junk.mov", "--back", *words).exit_code == 0
    assert run_command("scan", broken, *words).exit_code != 0
