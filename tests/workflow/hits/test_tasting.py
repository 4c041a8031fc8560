"""Proposing by taste: only where it is asked for, and said on every list."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal
from impactcut.project import Project
from impactcut.review.cache import PictureCache
from impactcut.review.material import Material
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip, make_hit, make_proposal
from tests.helpers.running.commands import run_command

CONTACTS = tuple(range(20, 240, 15))
NOTE = "Proposed by taste of 11 approvals (Ines): gains of 1.12"


def fill(path: Path, approved: int, late: tuple[int, ...] = ()) -> Path:
    """Hits whose rule takes two frames, of which one frame is approved of the first ones."""
    with Project(path, create=True) as project:
        made = (
            make_hit(at, reaction=at + (9 if place in late else 1))
            for place, at in enumerate(CONTACTS)
        )
        hits = project.hits(keep_clip(project, make_clip(), *made))
        project.store_proposals((hit, own_proposal(hit.impact.contact)) for hit in hits)
        for hit in hits[:approved]:
            first = hit.impact.contact - 1
            said = Decision("approved", FrameRange(first, first + 1), "Ines")
            project.decide(hit.id, said)
    return path


def own_proposal(contact: int) -> Proposal:
    """Visibility differs a little from hit to hit, as it does."""
    made = make_proposal(contact)
    first = replace(made.trims[0], visibility=0.4 + contact % 7 / 100)
    return Proposal((first, *made.trims[1:]), made.proposed, None)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return fill(tmp_path / "night.db", 11)


def proposed(path: Path, *words: str) -> list[int]:
    shown = json.loads(run_command("hits", "--json", "--project", path, *words).output)
    return [hit["proposed"]["count"] for hit in shown["clips"][0]["hits"][11:]]


def test_only_where_it_is_asked_for(path: Path) -> None:
    assert set(proposed(path)) == {2}
    assert set(proposed(path, "--taste")) == {1}
    assert set(proposed(path)) == {2}  # nothing of it is kept


def test_lists_say_so(path: Path, tmp_path: Path) -> None:
    shown = run_command("hits", "--project", path, "--taste").output
    assert NOTE in shown and "by taste" in shown
    assert "taste" not in run_command("hits", "--project", path).output
    assert NOTE in run_command("trims", "S2T3B.12", "--project", path, "--taste").output
    compared = run_command("compare", "--project", path, "--taste").output
    assert NOTE in compared and compared.count("1 from ") == len(CONTACTS)
    folder = tmp_path / "lists"
    lists = ("--only", "csv,edl,otio,changes,marks")
    done = run_command("export", folder, "--proposed", "--taste", *lists, "--project", path)
    assert done.exit_code == 0, done.output
    (cut,) = {*folder.glob("*.csv")} - {*folder.glob("*_*_*.csv")}
    rows = list(csv.DictReader(cut.read_text("utf-8").splitlines()))
    states = [row["decision"] for row in rows]
    assert states == ["approved"] * 11 + ["proposed by taste"] * (len(CONTACTS) - 11)
    assert {row["frames"] for row in rows} == {"1"}
    for name in ("*.edl", "*_changes.csv", "*_marks.csv"):
        (file,) = folder.glob(name)
        assert "proposed by taste" in file.read_text("utf-8").lower()
    (timeline,) = folder.glob("*.otio")
    assert NOTE in timeline.read_text("utf-8")


def test_the_page_proposes_by_it_as_long_as_enough_is_approved(path: Path) -> None:
    page = Material(path, PictureCache(path.parent / "cache"), taste=True)
    told = page.overview()
    assert NOTE in told["judging"]
    assert {hit["proposed"]["count"] for hit in told["hits"][11:]} == {1}
    with Project(path) as project:
        for hit in project.hits(1)[:2]:
            project.decide(hit.id, Decision("later", None, "Ines"))
    assert {hit["proposed"]["count"] for hit in page.overview()["hits"]} == {2}


def test_status_says_what_is_taken(path: Path, tmp_path: Path) -> None:
    shown = run_command("status", "--project", path).output
    assert f"With --taste: {NOTE}" in shown
    assert "the rule proposes 0, and the taste of the others 11." in shown
    assert "--taste" not in run_command("status", "--project", fill(tmp_path / "b.db", 9)).output


def test_what_is_approved_is_what_is_proposed_by_it(path: Path) -> None:
    done = run_command("decide", "S2T3B.13", "--approve", "--taste", "--project", path)
    assert done.exit_code == 0, done.output
    assert f"approved 1 from {CONTACTS[12] - 1}" in done.output


def test_late_reactions_are_no_matter_of_taste(tmp_path: Path) -> None:
    """Neither are their approvals counted, nor is anything else proposed for them."""
    path = fill(tmp_path / "night.db", 11, late=(3, 13))
    shown = json.loads(run_command("hits", "--json", "--taste", "--project", path).output)
    assert "taste of 10 approvals" in shown["judging"]
    assert [hit["proposed"]["count"] for hit in shown["clips"][0]["hits"][12:15]] == [1, 2, 1]


def test_too_few_approvals_are_told(tmp_path: Path) -> None:
    path = fill(tmp_path / "night.db", 9)
    lists = ("export", tmp_path / "lists", "--proposed")
    for words in (("hits",), ("compare",), ("review", "--no-browser"), lists):
        done = run_command(*words, "--taste", "--project", path)
        assert done.exit_code == 2
        assert "9 of the 10 approvals that a taste takes" in done.output
