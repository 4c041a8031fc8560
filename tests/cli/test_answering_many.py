"""Many hits decided at once: which are meant, what is asked first, and what is left alone."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from impactcut.cli import main
from impactcut.core.trims.trim import Proposal
from impactcut.project import Project, StoredHit
from impactcut.workflow.hits.deciding import Signature
from tests.helpers.projects.answering import approve, decline
from tests.helpers.projects.kept_clips import keep_proposed
from tests.helpers.projects.project_values import (
    SEEN,
    make_clip,
    make_hit,
    make_proposal,
)
from tests.helpers.running.commands import run_command

CONTACTS = (40, 80, 120, 160)


@pytest.fixture
def project(project: Project) -> Project:
    """Two takes and another section, each with four hits; the last find of each is doubtful."""
    for section, take, angle in (("2", "1", "A"), ("2", "2", "B"), ("3", "1", "A")):
        path = f"/quay/S{section}_T{take}_{angle}.mov"
        clip = make_clip(path, section=section, take=take, angle=angle)
        keep_proposed(project, clip, *CONTACTS[:-1], make_hit(CONTACTS[-1], confidence=0.2))
    return project


def run(project: Project, *words: object) -> Result:
    return run_command("decide", *words, "--project", project.path)


def decided(project: Project) -> list[int]:
    hits = (hit for each in project.all_hits().values() for hit in each)
    return [hit.id for hit in hits if hit.decision is not None]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("S2T1A.1-2",), [1, 2]),
        (("S2T1A",), [1, 2, 3]),
        (("S2T1A", "S3T1A.2-3"), [1, 2, 3, 10, 11]),
        (("--section", "2"), [1, 2, 3, 5, 6, 7]),
        (("--take", "1"), [1, 2, 3, 9, 10, 11]),
        (("--angle", "B"), [5, 6, 7]),
        (("S2T1A", "S2T2B", "--angle", "B"), [5, 6, 7]),
        (("--shows", "nobody"), [1, 2, 3, 5, 6, 7, 9, 10, 11]),
    ],
)
def test_what_is_meant_is_decided_in_one_act(
    project: Project, words: tuple[str, ...], expected: list[int]
) -> None:
    done = run(project, *words, "--as-shot", "--yes")
    assert done.exit_code == 0 and decided(project) == expected
    assert done.stderr.startswith(f"{len(expected)} hits in ")
    assert len(project.acts()) == 1
    run_command("undo", "--project", project.path)
    assert decided(project) == []


def price(project: Project, hit: int, **changes: Any) -> None:
    """Have something else proposed for a hit."""
    proposal = make_proposal(project.hit(hit).impact.contact)
    assert proposal.proposed is not None
    trim = replace(proposal.proposed, **changes)
    project.store_proposals([(project.hit(hit), Proposal((trim,), trim, None))])


def test_only_what_gains_so_much_and_shows_to_nobody_for_certain(project: Project) -> None:
    price(project, 1, speed_gain=1.05)
    price(project, 2, verdict="attentive")
    price(project, 3, confident=False)
    clip = ("S2T1A", "--later", "--yes")
    assert run(project, *clip, "--shows", "nobody", "--gain", "1.01").exit_code == 0
    assert decided(project) == [1]
    nothing = run(project, *clip, "--shows", "everybody")
    assert nothing.exit_code == 2 and "no hit is left" in nothing.stderr
    run(project, *clip, "--gain", 1.09)
    assert decided(project) == [1, 2, 3]
    run(project, "--shows", "attentive", "--as-shot", "--yes")
    assert len(project.acts()) == 2, "what was put off is answered and left alone"


def test_what_was_answered_is_left_alone_unless_it_is_named(project: Project) -> None:
    decline(project, 1, Signature("Anna"))
    nothing = Proposal((), None, "nothing is gained")
    project.store_proposals([(project.hit(2), nothing)])
    done = run(project, "S2T1A", "--approve", "--yes")
    assert done.stderr == (
        "1 hit in 1 clip: approved (left as they are: 1 answered before, "
        "1 without a trim to approve)\n"
    )
    first = project.hit(1).decision
    assert first is not None and first.answer == "declined"
    refused = run(project, "S2T1A.1-2", "--approve", "--yes")
    assert refused.exit_code == 1 and "nothing is proposed" in refused.stderr
    first = project.hit(1).decision
    assert first is not None and first.answer == "approved"
    run(project, "S2T1A", "--clear", "--yes")
    assert decided(project) == []


def test_nothing_is_done_unasked(project: Project) -> None:
    done = run(project, "S2T1A", "--as-shot")
    assert done.exit_code == 2 and "say --yes where nobody can be asked" in done.stderr
    assert done.stderr.startswith("3 hits in 1 clip: as shot\n")
    assert project.acts() == () and run(project, "--as-shot").exit_code == 2


@pytest.mark.parametrize(("said", "hits"), [("y\n", [1, 2, 3]), ("n\n", [])])
def test_it_is_asked_at_a_terminal(
    project: Project, monkeypatch: pytest.MonkeyPatch, said: str, hits: list[int]
) -> None:
    monkeypatch.setattr(sys.modules["impactcut.cli.hits.decide"], "can_ask", lambda: True)
    words = ["decide", "S2T1A", "--as-shot", "--project", str(project.path)]
    CliRunner().invoke(main, words, input=said)
    assert decided(project) == hits


def test_names_that_are_nobodys_are_told_and_the_others_done(project: Project) -> None:
    done = run(project, "S2T1A.1", "S2T1A.77", "--later")
    assert done.exit_code == 1 and "there is no hit S2T1A.77" in done.stderr
    assert decided(project) == [1]
    none = run(project, "--section", "9", "--later", "--yes")
    assert none.exit_code == 2 and "no clip belongs to section '9'; there are 2, 3" in none.stderr


def test_one_batch_never_approves_trims_that_touch(project: Project) -> None:
    clip = make_clip("/quay/S4_T1_A.mov", section="4", take="1", angle="A")
    hits = keep_proposed(project, clip, 100, 102)
    trims = [make_proposal(at).trims[1].frames for at in (100, 102)]
    assert trims[0].stop >= trims[1].start
    done = run(project, "S4T1A", "--approve", "--yes")
    assert done.exit_code == 1 and "meet or touch the approved trim of hit S4T1A.1" in done.stderr
    approve(project, hits[0].id, Signature("Anna"))


def test_what_one_person_answered_in_a_file_is_one_act(project: Project, tmp_path: Path) -> None:
    def given(hit: StoredHit, who: str) -> dict[str, object]:
        return {
            "hit": hit.id, "clip": "S2_T1_A.mov", "digest": SEEN.digest,
            "contact": int(hit.impact.contact), "answer": "declined", "first": None, "count": None,
            "who": who, "note": "", "when": "2024-03-01T20:00:00Z", "seen": "",
        }  # fmt: skip

    first, second, third, _ = project.hits(1)
    answers = [given(first, "Mara"), given(second, "Jo"), given(third, "Mara")]
    whole = {"schema": 1, "kind": "impactcut answers", "project": "night", "made": "2024-03-01"}
    file = tmp_path / "answers.json"
    file.write_text(json.dumps({**whole, "answers": answers}))
    done = run_command("decide", "--answers", file, "--project", project.path)
    assert done.exit_code == 0, done.output
    assert [act.by.who for act in project.acts()] == ["Mara", "Jo"]
    run_command("undo", "--project", project.path)
    assert [hit.decision is None for hit in project.hits(1)] == [False, True, False, True]
    undone = run_command("undo", "--project", project.path)
    assert undone.stdout.count("back to undecided") == 2
    assert all(hit.decision is None for hit in project.hits(1))
