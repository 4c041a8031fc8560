"""Everything that was said can be read again, and the last of it taken back, act by act."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.project import Actor, Project
from impactcut.project.file.migrations import MIGRATIONS
from impactcut.workflow.hits.deciding import Signature, Wish, decide
from impactcut.workflow.hits.undo_history import history, undo
from tests.helpers.projects.kept_clips import keep_proposed
from tests.helpers.projects.older_file import write_older
from tests.helpers.projects.project_values import make_clip
from tests.helpers.running.commands import run_command

ANNA, TOM = Signature("Anna"), Signature("Tom")
CONTACTS = (60, 120, 180)
MOVED = (61, 119, 181)


def scan(project: Project, contacts: tuple[int, ...] = CONTACTS) -> None:
    keep_proposed(project, make_clip(), *contacts)


@pytest.fixture
def project(project: Project) -> Project:
    """A project with three hits."""
    scan(project)
    return project


def standing(project: Project) -> list[Decision | None]:
    return [hit.decision for hits in project.all_hits().values() for hit in hits]


def test_a_batch_is_taken_back_whole_and_again_and_again(project: Project) -> None:
    decide(project, (1,), Wish("later"), TOM)
    before = standing(project)
    decide(project, (1, 2, 3), Wish("approved"), ANNA)
    assert [line.hit.id for line in undo(project, TOM.by) if line.hit] == [3, 2, 1]
    assert standing(project) == before
    undo(project, TOM.by)
    assert standing(project) == [None] * 3
    assert undo(project, TOM.by) == ()


def test_nothing_is_lost_by_taking_back(project: Project) -> None:
    decide(project, (1,), Wish("approved"), Signature("Anna", "sells it"))
    decide(project, (1,), Wish("declined"), TOM)
    undo(project, Signature("Mara").by)
    told = [(line.who, line.words, line.act.undone) for line in history(project, 1)]
    assert told == [
        ("Anna", "approved 2 from 59; note: sells it", False),
        ("Tom", "as shot; note (Anna): sells it", True),
        ("Mara", "back to approved 2 from 59, by Anna; note (Anna): sells it", False),
    ]
    decision = project.hit(1).decision
    assert decision is not None and (decision.who, decision.note_who) == ("Anna", "Anna")
    assert history(project, 2) == ()


def test_taking_back_reaches_over_a_scan(project: Project) -> None:
    decide(project, (2,), Wish("declined"), ANNA)
    scan(project, MOVED)
    undo(project, ANNA.by)
    assert standing(project) == [None] * 3


def test_commands_list_and_take_back(project: Project) -> None:
    def run(*words: object) -> str:
        done = run_command(*words, "--project", project.path)
        assert done.exit_code == 0, done.output
        return done.stdout

    assert run("history") == "nothing has been decided yet\n"
    run("decide", 1, 2, "--as-shot", "--who", "Anna")
    run("decide", 1, "--not-a-hit", "--who", "Tom")
    assert run("undo") == "hit S2T3B.1 in S2_T3_B.mov: back to as shot, by Anna\n"
    lines = [line.split() for line in run("history").splitlines()[1:]]
    assert [(line[0], line[3]) for line in lines] == [
        ("1", "Anna"), ("1", "Anna"), ("2", "Tom"), ("3", "Mara"),
    ]  # fmt: skip
    assert "command line" in run("history", 1) and "takes back 2" in run("history", 1)
    read = json.loads(run("history", 2, "--json"))["history"]
    assert [(line["who"], line["hit"], line["said"], line["from"]) for line in read] == [
        ("Anna", 2, "as shot", "command")
    ]
    run("undo")
    nothing = run_command("undo", "--project", project.path)
    assert nothing.exit_code == 2 and "nothing is left to take back" in nothing.stderr


def test_an_older_file_keeps_its_answers_and_each_can_be_taken_back(tmp_path: Path) -> None:
    older = next(n for n, step in enumerate(MIGRATIONS) if "taken back" in step.name)
    with Project(tmp_path / "new.db", create=True) as project:
        scan(project)
    write_older(tmp_path / "old.db", tmp_path / "new.db", older, "clips", "hits", "hit_motions")
    with closing(sqlite3.connect(tmp_path / "old.db")) as old, old:
        add = "INSERT INTO decisions (clip_id, thread, contact, digest, answer, first, count, who, "
        add += "decided, note) VALUES (1, ?, 60, 'aa', ?, ?, ?, ?, '2024-03-01T12:00:00Z', ?)"
        old.execute(add, (None, "approved", 59, 2, "Anna", "sells it"))
        old.execute(add, (1, "declined", None, None, "Tom", ""))
    first = Decision(
        "approved", FrameRange(59, 61), "Anna", "2024-03-01T12:00:00Z", "sells it", "Anna"
    )
    with Project(tmp_path / "old.db") as project:
        second = Decision("declined", None, "Tom", "2024-03-01T12:00:00Z")
        for expected in (second, first, None):
            assert project.hit(1).decision == expected
            undo(project, TOM.by)
        assert [line.act.by.source for line in history(project)][:2] == ["", ""]


ACTS = st.tuples(
    st.lists(st.sampled_from([1, 2, 3]), min_size=1, unique=True),
    st.sampled_from(["approved", "declined", "later", "not-a-hit", "open", "cleared", "note"]),
    st.sampled_from([None, "", "sells it", "too small"]),
    st.sampled_from(["Anna", "Tom"]),
)
"""Hits, what is wished for them, a note, and by whom."""


@settings(max_examples=40)
@given(st.lists(st.one_of(ACTS, st.sampled_from(["undo", "scan", "other scan"])), max_size=12))
def test_whatever_was_done_can_be_undone_to_the_start(acts: list[object]) -> None:
    with TemporaryDirectory() as folder, Project(Path(folder) / "night.db", True) as project:
        scan(project)
        stood = [standing(project)]
        for act in acts:
            number = len(project.acts())
            if act == "undo":
                undo(project, ANNA.by)
                if len(project.acts()) > number:
                    stood.pop()
                    assert standing(project) == stood[-1]
            elif isinstance(act, str):
                scan(project, CONTACTS if act == "scan" else MOVED)
                assert standing(project) == stood[-1]
            else:
                hits, answer, note, who = act  # type: ignore[misc]
                decide(project, hits, Wish(answer), Signature(who, note))
                if len(project.acts()) > number:
                    stood.append(standing(project))
        said = len(project.history())
        while len(stood) > 1:
            assert undo(project, TOM.by)
            stood.pop()
            assert standing(project) == stood[-1]
        assert undo(project, TOM.by) == ()
        assert standing(project) == [None] * 3
        assert len(project.history()) >= said
        assert all(isinstance(act.by, Actor) and act.by.who for act in project.acts())
