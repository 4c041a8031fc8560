"""Scanning clips that were moved, renamed, copied or taken away: each keeps what is its own."""

from __future__ import annotations

import shutil
from pathlib import Path

from impactcut.project import Project
from tests.helpers.footage.staged_clips import film
from tests.helpers.running.watched_scans import YES, counts, run


def test_moved_file_takes_its_decisions_along(project: Project, footage: Path) -> None:
    run(project, footage)
    (hit,) = project.hits(project.clips()[0].id)
    project.decide(hit.id, YES)
    moved = footage.parent / "shed" / "S1_T1_A_x.mov"
    moved.parent.mkdir()
    shutil.move(footage / "S1_T1_A_x.mov", moved)
    assert counts(run(project, moved)) == (0, 1, 0)
    assert project.hit(hit.id).decision == YES
    renamed = moved.with_name("S4_T5_C_x.mov")
    moved.rename(renamed)
    assert counts(run(project, renamed)) == (0, 1, 0)
    stored = project.clip_at(str(renamed.resolve()))
    assert stored is not None and stored.clip is not None and stored.clip.section == "4"
    assert project.hit(hit.id).decision == YES
    assert len(project.clips()) == 2


def test_renumbered_takes_keep_what_was_decided_on_each(project: Project, footage: Path) -> None:
    film(footage / "S1_T3_A_x.mov", seed=3)
    run(project, footage)
    by_content = {clip.fingerprint: clip.id for clip in project.clips()}
    for take in (3, 2, 1):
        (old,) = footage.rglob(f"S1_T{take}_*")
        old.rename(footage / f"S1_T{take + 1}_A_x.mov")
    report = run(project, footage)
    assert counts(report) == (0, 3, 0) and report.plan.moved == 3
    assert {clip.fingerprint: clip.id for clip in project.clips()} == by_content
    assert [clip.clip.take for clip in project.clips() if clip.clip] == ["2", "3", "4"]
    assert counts(run(project, footage)) == (0, 3, 0)


def test_renamed_clip_is_known_though_another_took_its_name(
    project: Project, footage: Path
) -> None:
    """Only the renamed one is named; what lies at its old path is looked at all the same."""
    run(project, footage)
    first = footage / "S1_T1_A_x.mov"
    (hit,) = project.hits(project.clips()[0].id)
    renamed = first.rename(footage / "S1_T9_A_x.mov")
    film(first, seed=9)
    assert counts(run(project, renamed)) == (0, 1, 0)
    stored = project.clip_at(str(renamed.resolve()))
    assert stored is not None and stored.id == hit.clip_id


def test_file_moved_over_one_that_failed_is_recognised(project: Project, footage: Path) -> None:
    bad = footage / "S1_T2_A_x.mov"
    bad.write_bytes(b"cut short by a full card")
    run(project, footage)
    (hit,) = project.hits(project.clips()[0].id)
    project.decide(hit.id, YES)
    (footage / "S1_T1_A_x.mov").replace(bad)
    assert counts(run(project, footage)) == (0, 2, 0)
    stored = project.clip_at(str(bad.resolve()))
    assert stored is not None and stored.id == hit.clip_id and stored.state == "done"
    assert project.hit(hit.id).decision == YES


def test_file_moved_over_a_measured_one_takes_nothing_from_it(
    project: Project, footage: Path
) -> None:
    run(project, footage)
    first, second = project.clips()
    project.decide(project.hits(second.id)[0].id, YES)
    Path(first.path).replace(second.path)
    report = run(project, footage)
    assert counts(report) == (1, 0, 0) and "the file has changed" in report.notes[0]
    assert project.hits(second.id)[0].decision == YES


def test_copy_makes_room_for_its_original_once_that_is_gone(
    project: Project, footage: Path
) -> None:
    original = footage / "S1_T1_A_x.mov"
    run(project, footage)
    (hit,) = project.hits(project.clips()[0].id)
    project.decide(hit.id, YES)
    copy = footage / "disk" / original.name
    copy.parent.mkdir()
    shutil.copy(original, copy)
    assert counts(run(project, footage)) == (1, 2, 0)
    original.unlink()
    report = run(project, footage)
    assert counts(report) == (0, 2, 0) and report.plan.moved == 1
    assert [clip.path for clip in project.clips()].count(str(copy.resolve())) == 1
    assert project.hit(hit.id).decision == YES and len(project.clips()) == 2


def test_copy_that_was_decided_on_stays_as_it_is(project: Project, footage: Path) -> None:
    original = footage / "S1_T1_A_x.mov"
    copy = footage / "copy.mov"
    shutil.copy(original, copy)
    run(project, original, copy)
    for clip in project.clips():
        project.decide(project.hits(clip.id)[0].id, YES)
    before = {clip.id: clip.path for clip in project.clips()}
    original.unlink()
    assert counts(run(project, copy)) == (0, 1, 0)
    assert {clip.id: clip.path for clip in project.clips()} == before


def test_moved_and_copied_at_once_goes_where_the_name_is_the_same(
    project: Project, footage: Path
) -> None:
    first = footage / "S1_T1_A_x.mov"
    copy = footage / "a.mov"
    shutil.copy(first, copy)
    run(project, footage)
    before = {Path(clip.path).name: clip.id for clip in project.clips()}
    shed = footage.parent / "shed"
    footage.rename(shed)
    assert counts(run(project, shed)) == (0, 3, 0)
    assert {Path(clip.path).name: clip.id for clip in project.clips()} == before


def test_failures_that_are_gone_from_a_folder_are_forgotten(
    project: Project, footage: Path
) -> None:
    bad = footage / "S9_T1_A_x.mov"
    bad.write_bytes(b"cut short by a full card")
    run(project, footage)
    bad.unlink()
    gone = footage.rename(footage.parent / "away")
    run(project, footage)
    assert len(project.clips()) == 3
    gone.rename(footage)
    run(project, footage)
    assert [clip.state for clip in project.clips()] == ["done", "done"]


def test_copy_is_a_clip_of_its_own(project: Project, footage: Path) -> None:
    run(project, footage)
    shutil.copy2(footage / "S1_T1_A_x.mov", footage / "copy.mov")
    assert counts(run(project, footage)) == (1, 2, 0)
