"""No answer without somebody's name, and answer and note each with their own author."""

from __future__ import annotations

import getpass
import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from impactcut.cli import main
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.errors import AnswersError
from impactcut.project import Project
from impactcut.review.cache import PictureCache
from impactcut.review.material import Material
from impactcut.workflow.hits.deciding import Signature
from impactcut.workflow.hits.page_answers import GivenAnswer, HitKey, take_answer, version
from tests.helpers.projects.answering import add_note, approve, decline
from tests.helpers.projects.kept_clips import keep_proposed
from tests.helpers.projects.project_values import (
    SEEN,
    make_clip,
)
from tests.helpers.running.commands import run_command

NOON, LATER = "2024-03-01T12:00:00Z", "2024-03-01T13:00:00Z"
APPROVED = GivenAnswer(
    HitKey(1, "S2_T3_B.mov", SEEN.digest, 100),
    "approved", FrameRange(99, 101), "Anna", NOON, "", "",
)  # fmt: skip
NAMELESS = {
    "hit": 1, "clip": "S2_T3_B.mov", "digest": SEEN.digest, "contact": 100, "answer": "not-a-hit",
    "first": None, "count": None, "who": "", "when": NOON, "note": "", "seen": "",
}  # fmt: skip


@pytest.fixture
def project(project: Project) -> Project:
    """A project with one hit."""
    keep_proposed(project, make_clip(), 100)
    return project


def decision(project: Project) -> Decision:
    found = project.hit(1).decision
    assert found is not None
    return found


def test_nobody_decides_nothing() -> None:
    with pytest.raises(ValueError, match="somebody's name"):
        Signature("  ")


def test_name_comes_from_the_option_the_environment_or_the_login(
    project: Project, monkeypatch: pytest.MonkeyPatch
) -> None:
    def who(*more: str) -> str:
        run_command("decide", 1, "--as-shot", *more, "--project", project.path)
        return decision(project).who

    assert who("--who", " Anna ") == "Anna"
    assert who() == "Mara"
    monkeypatch.delenv("IMPACTCUT_WHO")
    monkeypatch.setattr(getpass, "getuser", lambda: "tomas")
    assert who() == "tomas"


@pytest.mark.parametrize("login", ["root", "Root", ""])
def test_root_and_nobody_are_asked_and_refused_where_nobody_can_be(
    project: Project, monkeypatch: pytest.MonkeyPatch, login: str
) -> None:
    monkeypatch.delenv("IMPACTCUT_WHO")
    monkeypatch.setattr(getpass, "getuser", lambda: login)
    arguments = ("decide", "1", "--as-shot", "--project", str(project.path))
    refused = run_command(*arguments)
    assert refused.exit_code == 2 and "say --who NAME, or set IMPACTCUT_WHO" in refused.stderr
    assert run_command(*arguments, "--who", "root").exit_code == 2
    assert project.history() == ()


def test_times_read_alike_wherever_they_are_told(project: Project) -> None:
    project.decide(1, Decision("declined", None, "Anna", NOON))
    told = [run_command("trims", 1, "--project", project.path).output]
    told.append(run_command("history", "--project", project.path).output)
    assert "When (UTC)" in told[1] and "2024-03-01 12:00 " in told[1]
    project.drop_hit(1)
    told.append(run_command("status", "--project", project.path).output)
    assert all("Anna, 2024-03-01 12:00 UTC" in each for each in (told[0], told[2])), told
    assert not any("T12:00" in each for each in told)


def test_who_is_asked_at_a_terminal(project: Project, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("IMPACTCUT_WHO")
    monkeypatch.setattr(getpass, "getuser", lambda: "root")
    monkeypatch.setattr("impactcut.cli.options.signing.can_ask", lambda: True)
    arguments = ["decide", "1", "--as-shot", "--project", str(project.path)]
    result = CliRunner().invoke(main, arguments, input="root\n\nAnna\n")
    assert result.exit_code == 0 and "Your name" in result.stderr
    assert decision(project).who == "Anna"


def test_a_note_leaves_the_answer_to_whoever_gave_it(project: Project) -> None:
    approve(project, 1, Signature("Anna", when=NOON))
    add_note(project, 1, Signature("Tomas", "sells it"))
    expected = Decision("approved", FrameRange(99, 101), "Anna", NOON, "sells it", "Tomas")
    assert decision(project) == expected
    add_note(project, 1, Signature("Ines"))
    assert decision(project) == expected
    decline(project, 1, Signature("Jo", when=LATER))
    assert decision(project) == Decision("declined", None, "Jo", LATER, "sells it", "Tomas")
    decline(project, 1, Signature("Jo", "too small", when=LATER))
    assert decision(project).note_who == "Jo"


def test_a_note_from_the_page_leaves_the_answer_to_whoever_gave_it(project: Project) -> None:
    take_answer(project, APPROVED)
    noted = replace(
        APPROVED, who="Tomas", when=LATER, note="sells it", seen=version(decision(project))
    )
    expected = Decision("approved", FrameRange(99, 101), "Anna", NOON, "sells it", "Tomas")
    for fate in ("taken", "repeated"):
        assert take_answer(project, noted).fate == fate
        assert decision(project) == expected
    again = replace(noted, seen=version(decision(project)))
    assert take_answer(project, again).fate == "taken"
    assert (decision(project).who, decision(project).note_who) == ("Tomas", "Tomas")


def test_a_note_alone_from_the_page_is_no_answer_and_can_be_taken_back(project: Project) -> None:
    noted = replace(APPROVED, answer="open", trim=None, note="ask")
    take_answer(project, noted)
    assert decision(project) == Decision("open", note="ask", note_who="Anna")
    take_answer(project, replace(APPROVED, note="ask", seen=version(decision(project))))
    assert (decision(project).answer, decision(project).note_who) == ("approved", "Anna")
    back = replace(noted, when=LATER, seen=version(decision(project)))
    take_answer(project, back)
    assert decision(project) == Decision("open", note="ask", note_who="Anna")
    bare = replace(back, note="", seen=version(decision(project)))
    take_answer(project, bare)
    assert project.hit(1).decision is None


def test_the_served_page_takes_no_answer_without_a_name(project: Project) -> None:
    material = Material(project.path, PictureCache(project.path.parent / "cache"))
    with pytest.raises(AnswersError, match="fill in your name"):
        material.take({**NAMELESS, "who": " "})
    assert project.hit(1).decision is None
    material.take({**NAMELESS, "who": "Anna"})
    assert decision(project).who == "Anna"


def test_nameless_answers_of_a_file_are_those_of_whoever_is_named(
    project: Project, tmp_path: Path
) -> None:
    file = tmp_path / "answers.json"
    whole = {"schema": 1, "kind": "impactcut answers", "project": "night", "made": NOON}
    file.write_text(json.dumps({**whole, "answers": [NAMELESS]}))
    done = run_command("decide", "--answers", file, "--who", "Ines", "--project", project.path)
    assert done.stdout == "hit S2T3B.1 in S2_T3_B.mov: not a hit\n"
    assert decision(project) == Decision("not-a-hit", None, "Ines", NOON)
