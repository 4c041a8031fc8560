"""Scanning: what is measured, skipped, and measured again."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from impactcut.core.detect.hits import FoundHit
from impactcut.errors import RateError
from impactcut.project import Project
from impactcut.workflow.files.find import find_media
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis
from impactcut.workflow.scan.planning import plan_scan
from tests.helpers.footage.staged_clips import film, measure
from tests.helpers.projects.project_values import make_hit, make_motion
from tests.helpers.running.watched_scans import YES, Recorder, counts, run


def test_first_scan_keeps_clips_hits_and_proposals(project: Project, footage: Path) -> None:
    recorder = Recorder()
    report = run(project, footage, recorder=recorder)
    assert counts(report) == (2, 0, 0) and report.hits == 2
    clips = [stored.clip for stored in project.clips()]
    assert [(c.section, c.take, c.angle) for c in clips if c] == [("1", "1", "A"), ("1", "2", "B")]
    for stored in report.measured:
        (hit,) = project.hits(stored.id)
        assert hit.impact.contact == 40
        assert project.proposals(stored.id).keys() == {hit.id}
    assert [work.frames for work in recorder.plan.work] == [80, 80]
    assert recorder.frames == {"S1_T1_A_x.mov": 80, "S1_T2_B_x.mov": 80}
    assert recorder.ends == [("S1_T1_A_x.mov", None), ("S1_T2_B_x.mov", None)]


def test_unchanged_clips_are_skipped(project: Project, footage: Path) -> None:
    run(project, footage)
    assert counts(run(project, footage)) == (0, 2, 0)
    touched = footage / "S1_T1_A_x.mov"
    os.utime(touched)
    assert counts(run(project, footage)) == (0, 2, 0)
    stored = project.clip_at(str(touched.resolve()))
    assert stored is not None and stored.fingerprint is not None
    assert stored.fingerprint.mtime_ns == touched.stat().st_mtime_ns
    assert counts(run(project, footage, again=True)) == (2, 0, 0)


def test_planning_writes_nothing(project: Project, footage: Path) -> None:
    run(project, footage)
    moved = (footage / "S1_T1_A_x.mov").rename(footage / "S4_T5_C_x.mov")
    os.utime(footage / "sub/S1_T2_B_x.mov")
    (footage / "bad.mov").write_bytes(b"no media")
    before = project.clips()
    with Project(project.path, reading=True) as read:
        plan = plan_scan(read, find_media([footage]).candidates, AnalysisSettings())
    assert plan.moved == 1 and project.clips() == before
    assert [Path(clip.path).name for clip in plan.unchanged] == ["S4_T5_C_x.mov", "S1_T2_B_x.mov"]
    for note in plan.notes:  # the move, a new name, another time, and what failed
        note(project)
    after = {clip.path: clip for clip in project.clips()}
    assert len(plan.notes) == 4 and len(after) == 3
    renamed = after[str(moved.resolve())]
    assert renamed.clip is not None and renamed.clip.section == "4"
    assert after[str((footage / "bad.mov").resolve())].state == "failed"


def test_changed_content_is_measured_again(project: Project, footage: Path) -> None:
    run(project, footage)
    film(footage / "S1_T1_A_x.mov", seed=3)
    assert counts(run(project, footage)) == (1, 1, 0)


def test_same_hits_keep_numbers_and_decisions_when_measured_again(
    project: Project, footage: Path
) -> None:
    run(project, footage)
    clip_id = project.clips()[0].id
    (before,) = project.hits(clip_id)
    project.decide(before.id, YES)
    report = run(project, footage, again=True)
    (after,) = project.hits(clip_id)
    assert (after.id, after.impact, after.decision) == (before.id, before.impact, YES)
    assert report.notes == ()


def test_decisions_on_changed_material_are_pointed_out(project: Project, footage: Path) -> None:
    run(project, footage)
    project.decide(project.hits(project.clips()[0].id)[0].id, YES)
    film(footage / "S1_T1_A_x.mov", seed=3)
    (note,) = run(project, footage).notes
    assert "the file has changed" in note and "S1_T1_A_x.mov" in note


def test_decided_hit_that_is_found_no_more_stays_and_is_pointed_out(
    project: Project, footage: Path
) -> None:
    run(project, footage)
    project.decide(project.hits(project.clips()[0].id)[0].id, YES)

    def measure_elsewhere(path: Path, settings: AnalysisSettings, report: object) -> ClipAnalysis:
        analysis = measure(path, settings)
        found = (FoundHit(make_hit(20), make_motion(20)),)
        return ClipAnalysis(analysis.clip, found)

    stays, *_ = run(project, footage, analyse=measure_elsewhere, again=True).notes
    assert "hit S1T1A.1 is no longer found and stays, by hand, Ines" in stays
    (clip_id, _) = (clip.id for clip in project.clips())
    assert [hit.impact.contact for hit in project.hits(clip_id)] == [20, 40]


def test_stated_rate_and_reel_are_kept_until_taken_back(project: Project, footage: Path) -> None:
    clip = footage / "S1_T1_A_x.mov"

    def known() -> tuple[str, str]:
        stored = project.clip_at(str(clip.resolve()))
        assert stored is not None and stored.clip is not None
        return str(stored.clip.rate), stored.clip.reel

    assert counts(run(project, clip, rate="25", reel="CARD7")) == (1, 0, 0)
    assert known() == ("25", "CARD7")
    assert counts(run(project, clip)) == (0, 1, 0)
    assert counts(run(project, clip, rate="file")) == (1, 0, 0)
    assert known() == ("24", "CARD7")


def test_rate_that_is_none_stops_before_anything(project: Project, footage: Path) -> None:
    with pytest.raises(RateError, match="fast"):
        run(project, footage, rate="fast")
    assert project.clips() == ()


def test_another_reel_is_kept_without_measuring(project: Project, footage: Path) -> None:
    clip = footage / "S1_T1_A_x.mov"
    run(project, clip)
    for reel, expected in (("CARD7", "CARD7"), (None, "CARD7"), ("file", "S1_T1_A_X")):
        report = run(project, clip, reel=reel)
        assert counts(report) == (0, 1, 0)
        stored = project.clip_at(str(clip.resolve()))
        assert stored is not None and stored.clip is not None and stored.clip.reel == expected
