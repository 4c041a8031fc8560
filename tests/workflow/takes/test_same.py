"""One take in several files: measured once, named by its original, its answers never lost.

Whether files are of one take is checked by hand: they are written from the same pictures, with the
same timecode, or not.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from impactcut.core.detect.hits import FoundHit
from impactcut.core.motion.likeness import same_pictures
from impactcut.core.takes.same_take import why_not_same
from impactcut.core.trims.decision import Decision
from impactcut.errors import NotSameTakeError
from impactcut.project import Actor, HandMark, Project
from impactcut.workflow.hits.listing import list_hits
from impactcut.workflow.hits.undo_history import history, undo
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis
from impactcut.workflow.takes.same import make_same, part
from tests.helpers.footage.media_files import Recipe, write_clip
from tests.helpers.footage.staged_clips import measure
from tests.helpers.projects.project_values import make_clip, make_proposal
from tests.helpers.running.commands import run_command
from tests.helpers.running.watched_scans import counts, run

FRAMES = 60
YES = Decision("declined", None, "Ines", "2024-03-01T20:00:00Z", "as it is", "Ines")
BY = Actor("Ines", "2024-03-01T20:00:00Z")


def film(
    path: Path, start: str | None = "01:00:00:00", size: tuple[int, int] = (64, 36),
    frames: int = FRAMES, rate: int = 24, crf: int = 20,
) -> Path:  # fmt: skip
    path.parent.mkdir(parents=True, exist_ok=True)
    tags = {} if start is None else {"timecode": start}
    recipe = Recipe(rate=Fraction(rate), tags=tags, stream_tags=tags, options={"crf": str(crf)})
    return write_clip(path, recipe, frames=frames, size=size)


def luma_of(path: Path, settings: AnalysisSettings, report: object = None) -> ClipAnalysis:
    """As `measure`, with a brightness that the last character of the file's folder decides."""
    made = measure(path, settings)
    seed = ord(path.parent.name[-1])
    luma = 0.4 + np.cumsum(np.random.default_rng(seed).normal(0, 0.002, FRAMES))
    return replace(made, brightness=luma.astype(np.float32))


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    """An original and its proxy, which say so."""
    original = film(tmp_path / "orig/S1_T1_A.mov", size=(320, 180), crf=2)
    return original, film(tmp_path / "proxy/S1_T1_A.mov")


def names(project: Project) -> list[tuple[str, str]]:
    """Path and original of every clip that is listed."""
    return [(each.clip.path, each.clip.original) for each in list_hits(project)]


def test_a_scan_measures_the_smaller_file_and_names_the_larger(
    project: Project, pair: tuple[Path, Path]
) -> None:
    original, proxy = pair
    report = run(project, original, proxy)
    assert (counts(report), report.plan.same) == ((1, 0, 0), 1)
    assert names(project) == [(str(proxy), str(original))]
    (hit,) = project.hits(project.clips()[0].id)
    project.decide(hit.id, YES)
    assert project.spoken_of() == {project.clips()[0].id}, "so that nothing takes its place"
    again = run(project, original.parent.parent)
    assert (counts(again), again.plan.same) == ((0, 1, 0), 1)
    assert project.hit(hit.id).decision == YES


def test_a_copy_that_lost_its_reel_is_known_by_its_name(project: Project, tmp_path: Path) -> None:
    """Names and reels as cameras and transcoders give them; common practice, no source."""
    tags = {"timecode": "01:00:00:00", "reel_name": "A004C011"}
    recipe = Recipe(rate=Fraction(24), stream_tags=tags, options={"crf": "2"})
    (tmp_path / "orig").mkdir()
    write_clip(tmp_path / "orig/take one.mov", recipe, frames=FRAMES, size=(320, 180))
    film(tmp_path / "proxy/take one.mov")
    film(tmp_path / "web/A004C011.mov", crf=33)
    film(tmp_path / "other/elsewhere.mov", crf=24)
    report = run(project, tmp_path)
    assert (counts(report), report.plan.same) == ((2, 0, 0), 2)
    assert [stored.clip.reel for stored in project.clips() if stored.clip] == [
        "ELSEWHERE", "A004C011",
    ]  # fmt: skip


@pytest.mark.parametrize("first", [0, 1])
def test_whichever_comes_later_is_not_measured(
    project: Project, pair: tuple[Path, Path], first: int
) -> None:
    run(project, pair[first])
    report = run(project, pair[1 - first])
    assert (counts(report), report.plan.same) == ((0, 0, 0), 1)
    shown = [(str(pair[0]), "")] if first == 0 else [(str(pair[1]), str(pair[0]))]
    assert names(project) == shown


def test_lists_of_proxies_name_originals_and_stay_in_force(
    project: Project, pair: tuple[Path, Path]
) -> None:
    original, proxy = pair
    run(project, original, proxy)
    project.store_proposals(
        [(hit, make_proposal(hit.impact.contact)) for hit in project.hits(project.clips()[0].id)]
    )
    folder = project.path.parent / "lists"
    asked = ("--project", project.path)
    assert run_command("export", folder, "--proposed", "--only", "otio", *asked).exit_code == 0
    text = (folder / "night_24.otio").read_text("utf-8")
    assert original.as_uri() in text and proxy.as_uri() not in text
    assert "delivered" not in run_command("status", *asked).stdout


@pytest.mark.parametrize(
    "other", [{"start": "01:00:00:01"}, {"frames": FRAMES + 1}, {"rate": 25}, {"start": None}]
)
def test_files_that_say_otherwise_are_clips_of_their_own(
    project: Project, tmp_path: Path, other: dict[str, object]
) -> None:
    film(tmp_path / "orig/S1_T1_A.mov", size=(320, 180))
    film(tmp_path / "proxy/S1_T1_A.mov", **other)  # type: ignore[arg-type]
    report = run(project, tmp_path)
    assert (counts(report), report.plan.same) == ((2, 0, 0), 0)


def test_takes_above_a_hundred_frames_a_second_do_not_stop_a_scan(
    project: Project, tmp_path: Path
) -> None:
    for place, start in (("one", "01:00:00:00"), ("two", "01:00:09:00")):
        film(tmp_path / place / "S1_T1_A.mov", rate=120, start=start)
        assert counts(run(project, tmp_path / place)) == (1, 0, 0)
    assert len(names(project)) == 2


def test_told_apart_a_file_is_measured_and_stays_apart(
    project: Project, pair: tuple[Path, Path]
) -> None:
    original, proxy = pair
    run(project, original, proxy)
    assert part(project, str(original), BY) == str(original)
    assert counts(run(project, original, proxy)) == (1, 1, 0)
    assert names(project) == [(str(original), ""), (str(proxy), "")]
    with pytest.raises(NotSameTakeError, match="stands for no clip"):
        part(project, str(original), BY)


def test_told_to_be_one_they_are_and_it_is_taken_back(project: Project, tmp_path: Path) -> None:
    """The proxy has no timecode, so nobody but a person can say."""
    original = film(tmp_path / "orig/A004C011.mov", size=(320, 180))
    proxy = film(tmp_path / "proxy/fight take 3.mov", start=None)
    run(project, proxy)
    made = make_same(project, str(original), "fight take 3.mov", BY)
    clip = made.clip
    assert (clip.name, clip.reel, clip.source_label(0), clip.timecode_source) == (
        "A004C011.mov", "A004C011", "01:00:00:00", "file",
    )  # fmt: skip
    assert counts(run(project, original)) == (0, 0, 0)
    assert [line.words for line in history(project)] == [f"one take with {original}"]
    lines = undo(project, BY)
    assert [line.words for line in lines] == [f"taken back: one take with {original}"]
    assert names(project) == [(str(proxy), "")]


def test_said_twice_they_are_one_already_and_nothing_is_kept_of_it(
    project: Project, tmp_path: Path
) -> None:
    film(tmp_path / "a/A.mov")
    film(tmp_path / "b/B.mov", start=None)
    run(project, tmp_path)
    made = make_same(project, "A.mov", str(tmp_path / "b/B.mov"), BY).clip
    with pytest.raises(NotSameTakeError, match="one clip already"):
        make_same(project, "A.mov", str(tmp_path / "b/B.mov"), BY)
    assert len(project.acts()) == 1
    make_same(project, str(tmp_path / "b/B.mov"), "A.mov", BY)
    lines = undo(project, BY)
    assert [line.words for line in lines] == [f"taken back: one take with {tmp_path / 'b/B.mov'}"]
    assert names(project) == [(made.path, made.original)], "they are one still"


def test_taken_back_in_a_clip_is_one_of_its_own_again(project: Project, tmp_path: Path) -> None:
    film(tmp_path / "a/A.mov")
    film(tmp_path / "b/B.mov", start=None)
    run(project, tmp_path)
    make_same(project, "A.mov", "B.mov", BY)
    result = run_command("drop", "B.mov", "--back", "--project", project.path)
    assert result.exit_code == 0, result.output
    assert counts(run(project, tmp_path)) == (0, 2, 0)


def test_status_names_files_of_one_name_that_are_two_clips(
    project: Project, tmp_path: Path
) -> None:
    film(tmp_path / "a/A.mov")
    film(tmp_path / "b/A.mov", start=None)
    run(project, tmp_path)
    asked = ("--project", project.path)
    text = run_command("status", *asked).stdout
    assert f"1 clip has the file name of another: {tmp_path / 'b/A.mov'} (as" in text
    run_command("same", tmp_path / "a/A.mov", tmp_path / "b/A.mov", *asked)
    assert "file name of another" not in run_command("status", *asked).stdout


@pytest.mark.parametrize(
    ("other", "figures"),
    [
        ({"rate": 25}, ("24", "25")),
        ({"frames": FRAMES - 2}, (str(FRAMES), str(FRAMES - 2))),
        ({"start": "01:00:00:03"}, ("01:00:00:00", "01:00:00:03")),
    ],
)
def test_what_cannot_be_one_take_is_refused_with_both_figures(
    project: Project, tmp_path: Path, other: dict[str, object], figures: tuple[str, str]
) -> None:
    original = film(tmp_path / "orig/A.mov")
    proxy = film(tmp_path / "proxy/B.mov", **other)  # type: ignore[arg-type]
    run(project, proxy)
    result = run_command("same", original, proxy, "--project", project.path)
    assert result.exit_code == 2
    assert all(figure in result.stderr for figure in figures), result.stderr
    assert names(project) == [(str(proxy), "")]


def test_answers_go_over_where_both_were_measured(project: Project, tmp_path: Path) -> None:
    original = film(tmp_path / "orig/A.mov", size=(320, 180))
    proxy = film(tmp_path / "proxy/B.mov", start=None)
    run(project, original, proxy)
    first, second = (project.hits(clip.id)[0] for clip in project.clips())
    project.decide(second.id, YES)
    made = make_same(project, "A.mov", "B.mov", BY)
    assert made.carried == 0, "the measured file of which something was said stays"
    assert names(project) == [(str(proxy), str(original))]
    undo(project, BY)
    project.decide(first.id, replace(YES, answer="later", note="look", note_who="Jo"))
    project.decide(second.id, YES)
    made = make_same(project, "A.mov", "B.mov", BY)
    assert (made.carried, names(project)) == (0, [(str(original), "")])
    kept = project.hit(first.id).decision
    assert kept is not None and kept.answer == "later", "what was said of it itself comes first"


def test_hits_by_hand_and_answers_of_the_other_file_are_kept(
    project: Project, tmp_path: Path
) -> None:
    original = film(tmp_path / "orig/A.mov", size=(320, 180))
    proxy = film(tmp_path / "proxy/B.mov", start=None)
    run(project, original, proxy)
    one, other = project.clips()
    (here,), (there,) = project.hits(one.id), project.hits(other.id)
    project.decide(here.id, Decision("open", None, "", "", "mine", "Jo"))
    moved = replace(there.impact, contact=10, onset=8, peak=9, settle=11, reaction=None)
    found = FoundHit(moved, project.motion(there.id))
    project.mark([HandMark(other.id, None, found)], BY)
    project.decide(there.id, YES)
    made = make_same(project, "A.mov", "B.mov", BY)
    hits = project.hits(one.id)
    assert names(project) == [(str(original), "")]
    assert [(hit.impact.contact, hit.by_hand) for hit in hits] == [(10, "Ines"), (30, "")]
    assert made.carried == 0 and hits[1].decision is not None and hits[1].decision.note == "mine"
    undo(project, BY)
    assert [hit.impact.contact for hit in project.hits(one.id)] == [30]
    assert len(names(project)) == 2


def test_media_moved_and_encoded_anew_keep_their_answers_by_timecode(
    project: Project, tmp_path: Path
) -> None:
    old = film(tmp_path / "cards/A004C011.mov")
    run(project, old)
    clip = project.clips()[0]
    (hit,) = project.hits(clip.id)
    project.decide(hit.id, YES)
    old.unlink()
    film(tmp_path / "shed/A004C011.mov", crf=30)
    report = run(project, tmp_path)
    assert any("encoded anew, as reel and timecode tell" in note for note in report.notes)
    assert [each.id for each in project.clips()] == [clip.id]
    assert project.hit(hit.id).decision == YES


def test_media_moved_and_encoded_anew_keep_their_answers_by_their_pictures(
    project: Project, tmp_path: Path
) -> None:
    """Three takes without timecode, of one length; the brightness of each runs its own way."""
    for take in "123":
        film(tmp_path / f"cards{take}/T{take}.mov", start=None, crf=20 + int(take))
    run(project, tmp_path, analyse=luma_of)
    clip = project.clips()[1]
    (hit,) = project.hits(clip.id)
    project.decide(hit.id, YES)
    for take in "123":
        (tmp_path / f"cards{take}/T{take}.mov").unlink()
    film(tmp_path / "new2/other name.mov", start=None, crf=33)
    report = run(project, tmp_path, analyse=luma_of)
    assert any("as its pictures tell" in note for note in report.notes)
    assert [each.id for each in project.clips() if "new2" in each.path] == [clip.id]
    assert project.hit(hit.id).decision == YES
    film(tmp_path / "new9/nobody's.mov", start=None, crf=35)
    run(project, tmp_path, analyse=luma_of)
    assert len(project.clips()) == 4, "of no take that is known"


def test_pictures_are_told_by_how_their_brightness_runs() -> None:
    random = np.random.default_rng(3)
    luma = (0.3 + np.cumsum(random.normal(0, 0.001, 200))).astype(np.float32)
    encoded = luma + random.normal(0, 0.0003, 200).astype(np.float32)
    assert same_pictures(luma, encoded)
    assert not same_pictures(luma, encoded[:-1])
    assert not same_pictures(luma, encoded + np.float32(0.02)), "graded"
    assert not same_pictures(luma, (0.3 + 0 * luma).astype(np.float32)), "tells nothing"
    assert not same_pictures(luma, luma[::-1].copy())


def test_counting_is_part_of_a_take() -> None:
    ntsc = Fraction(30000, 1001)
    one = make_clip(rate=ntsc, drop_frame=True, source_start=100)
    assert why_not_same(one, replace(one, path="/other/x.mov", reel="OTHER")) == ""
    assert "starts at" in why_not_same(one, replace(one, drop_frame=False))
