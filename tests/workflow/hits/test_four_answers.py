"""Approve, as shot, later, not a hit: what each does in every list, picture, page and count."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from impactcut.core.detect.confidence import SURE
from impactcut.core.fight.overview import fight_overview
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.errors import NotListedError
from impactcut.project import Project
from impactcut.review.cache import PictureCache
from impactcut.review.material import Material
from impactcut.workflow.hits.deciding import Signature, Wish, answer_one
from impactcut.workflow.hits.hit_filter import HitFilter
from impactcut.workflow.hits.listing import list_chosen, list_hits
from impactcut.workflow.hits.removals import select_removals
from impactcut.workflow.reports.status import project_status
from impactcut.workflow.takes.comparing import compare
from tests.helpers.projects.answering import decline
from tests.helpers.projects.kept_clips import keep_clip, keep_proposed
from tests.helpers.projects.project_values import make_clip, make_hit
from tests.helpers.running.commands import run_command

ANNA = Signature("Anna")
DOUBTFUL = 0.18


@pytest.fixture
def project(project: Project) -> Project:
    """Two sure hits and a doubtful find, each with the same proposal of two frames."""
    keep_proposed(project, make_clip(), 60, 120, make_hit(180, confidence=DOUBTFUL))
    return project


def say(project: Project, hit: int, answer: str) -> None:
    answer_one(project, hit, Wish(answer), ANNA)  # type: ignore[arg-type]


def everywhere(project: Project) -> dict[str, list[int]]:
    """The hits that each list, picture and page holds, the page but for its "Not a hit"."""
    chosen = list_chosen(project)
    answers = on_page(project)
    return {
        "hits": [hit.id for clip in list_hits(project) for hit in clip.hits],
        "lists": [hit.id for hit in select_removals(project, proposed=False).hits],
        "overview": [hit.id for _, hit in fight_overview(chosen).hits],
        "compare": sorted(
            each.showing.entry.id
            for beat in compare(project, HitFilter()).beats
            for each in beat.ranked
        ),
        "page": [hit for hit, answer in answers.items() if answer != "not-a-hit"],
    }


def on_page(project: Project) -> dict[int, str | None]:
    """All finds that the page is given, with what was answered."""
    page = Material(project.path, PictureCache(project.path.parent / "cache"))
    hits = page.overview()["hits"]
    return {hit["id"]: hit["decision"] and hit["decision"]["answer"] for hit in hits}


def frames_out(project: Project, proposed: bool) -> dict[int, FrameRange]:
    chosen = select_removals(project, proposed).removals
    return {removal.hit.id: removal.frames for removal in chosen}


def test_only_what_nobody_put_off_or_left_goes_out_as_proposed(project: Project) -> None:
    assert frames_out(project, proposed=True) == {
        1: FrameRange(59, 61), 2: FrameRange(119, 121),
    }  # fmt: skip
    for answer in ("later", "declined", "not-a-hit"):
        say(project, 1, answer)
        assert list(frames_out(project, proposed=True)) == [2]
    answer_one(project, 1, Wish("approved", 1), ANNA)
    assert [len(frames) for frames in frames_out(project, proposed=False).values()] == [1]


def test_what_was_put_off_still_waits(project: Project) -> None:
    answer_one(project, 1, Wish("later"), ANNA)
    assert select_removals(project, proposed=True).undecided == 1
    assert select_removals(project, proposed=False).undecided == 2


def test_a_hit_as_shot_stands_in_every_list_and_takes_nothing_out(project: Project) -> None:
    say(project, 1, "declined")
    assert all(hits == [1, 2] for hits in everywhere(project).values())
    (_, hit), _ = fight_overview(list_chosen(project)).hits
    assert (hit.trim_state, hit.going_out, hit.shown) == ("declined", None, None)
    assert hit.taken is not None, "what was proposed is still told"


def test_what_is_no_hit_is_in_no_list_but_that_of_all_finds(project: Project) -> None:
    say(project, 1, "not-a-hit")
    assert all(hits == [2] for hits in everywhere(project).values())
    assert on_page(project) == {1: "not-a-hit", 2: None}, "where it can be taken back"
    held = project_status(project)
    assert (held.hits, held.answers["not-a-hit"]) == (1, 1)
    all_finds = list_hits(project, HitFilter(everything=True))
    assert [hit.id for clip in all_finds for hit in clip.hits] == [1, 2, 3]
    assert [entry.said.who for entry in project.history()] == ["Anna"]


def test_what_is_no_hit_counts_for_no_usual_speed(project: Project) -> None:
    assert len(project.speeds(SURE)) == 2
    say(project, 1, "not-a-hit")
    assert len(project.speeds(SURE)) == 1
    say(project, 1, "declined")
    assert len(project.speeds(SURE)) == 2


def test_what_is_no_hit_keeps_no_frames_from_the_next_one(project: Project) -> None:
    clip = make_clip("/quay/S2_T4_B.mov", take="4")
    clip_id = keep_clip(project, clip, make_hit(100, confidence=0.95), 104)
    first, second = (hit.id for hit in project.hits(clip_id))

    def proposed() -> object:
        hits = {hit.id: hit for each in list_hits(project) for hit in each.hits}
        return hits[second].proposal

    beside = proposed()
    say(project, first, "not-a-hit")
    alone = proposed()
    assert alone != beside
    project.undo(ANNA.by)
    assert proposed() == beside


@pytest.mark.parametrize("answer", ["later", "open", "not-a-hit"])
def test_no_such_answer_makes_a_hit_of_a_doubtful_find(project: Project, answer: str) -> None:
    answer_one(project, 3, Wish(answer), replace(ANNA, note="hm"))  # type: ignore[arg-type]
    assert all(hits == [1, 2] for hits in everywhere(project).values())
    assert project_status(project).hits == 2


def test_making_a_hit_of_a_doubtful_find_has_to_be_meant(project: Project) -> None:
    wishes = (Wish("approved", FrameRange(179, 181), False), Wish("declined", doubtful=False))
    for wish in wishes:
        with pytest.raises(NotListedError, match=r"was not listed, confidence 0\.18: say --yes"):
            answer_one(project, 3, wish, ANNA)
    assert project.history() == ()
    for wish in wishes:
        answer_one(project, 3, replace(wish, doubtful=True), ANNA)
        answer_one(project, 3, wish, ANNA)
        assert all(hits == [1, 2, 3] for hits in everywhere(project).values())
        project.undo(ANNA.by)
        project.undo(ANNA.by)


def test_command_says_so_when_a_find_was_doubtful(project: Project) -> None:
    refused = run_command("decide", 3, "--as-shot", "--project", project.path)
    assert refused.exit_code == 2
    assert refused.stderr == "impactcut: hit S2T3B.2a was not listed, confidence 0.18: say --yes\n"
    done = run_command("decide", 3, "--as-shot", "--yes", "--project", project.path)
    assert done.stdout.endswith(": as shot; it was not listed, confidence 0.18\n")


def test_command_knows_all_four_and_the_old_word(project: Project) -> None:
    for option, word in (
        ("--approve", "approved 2 from 59"), ("--as-shot", "as shot"), ("--decline", "as shot"),
        ("--later", "later"), ("--not-a-hit", "not a hit"), ("--clear", "undecided"),
    ):  # fmt: skip
        done = run_command("decide", 1, option, "--project", project.path)
        assert done.stdout == f"hit S2T3B.1 in S2_T3_B.mov: {word}\n"


def test_every_find_can_be_listed(project: Project) -> None:
    say(project, 1, "not-a-hit")
    listed = [
        [hit["id"] for hit in json.loads(told.stdout)["clips"][0]["hits"]]
        for told in (
            run_command("hits", "--json", *more, "--project", project.path)
            for more in ((), ("--confidence", 0.1), ("--all",))
        )
    ]
    assert listed == [[2], [2, 3], [1, 2, 3]]
    assert "not a hit" in run_command("hits", "--all", "--project", project.path).stdout
    told = run_command("status", "--project", project.path).stdout
    assert "0 approved, 0 as shot, 1 undecided; 1 find said to be no hit\n" in told
    held = json.loads(run_command("status", "--json", "--project", project.path).stdout)
    assert (held["hits"], held["not_a_hit"]) == (1, 1)


def test_a_note_is_no_answer(project: Project) -> None:
    done = run_command("decide", 1, "--note", "ask Tom", "--project", project.path)
    assert done.exit_code == 0
    assert frames_out(project, proposed=True)[1] == FrameRange(59, 61)
    decision = project.hit(1).decision
    assert decision == Decision("open", note="ask Tom", note_who="Mara")


def test_list_of_changes_names_who_approved(project: Project, tmp_path: Path) -> None:
    decline(project, 1, ANNA)
    answer_one(project, 2, Wish("approved"), ANNA)
    folder = tmp_path / "lists"
    run_command("export", folder, "--only", "csv", "--project", project.path)
    (file,) = folder.glob("*.csv")
    assert ",approved,Anna," in file.read_text()
