"""A file that changes and then cannot be measured: what is known is still of the old content."""

from __future__ import annotations

from pathlib import Path

from impactcut.errors import UnreadableMediaError
from impactcut.project import Fingerprint, Project
from impactcut.project.file.migrations import MIGRATIONS
from impactcut.workflow.files.fingerprint import as_measured, fingerprint
from impactcut.workflow.hits.page_answers import GivenAnswer, HitKey, take_answer
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis
from tests.helpers.footage.staged_clips import film
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.older_file import write_older
from tests.helpers.projects.project_values import SEEN, make_clip
from tests.helpers.running.watched_scans import YES, run

CHANGED = Fingerprint(9, 9, "bb")


def measured(project: Project, seen: Fingerprint, path: str = "/quay/S2_T3_B.mov") -> int:
    return keep_clip(project, make_clip(path), 100, seen=seen)


def failed(project: Project, seen: Fingerprint, path: str = "/quay/S2_T3_B.mov") -> None:
    project.store_failure(path, seen, "{}", "is cut short", "copy it again")


def test_decision_is_about_what_its_hit_was_measured_on(project: Project) -> None:
    clip_id = measured(project, SEEN)
    failed(project, CHANGED)
    (hit,) = project.hits(clip_id)
    project.decide(hit.id, YES)
    assert [entry.digest for entry in project.history(clip_id)] == [SEEN.digest]
    measured(project, SEEN)
    assert project.decided_on_other_content() == ()
    measured(project, CHANGED)
    assert project.decided_on_other_content() == (hit.id,)
    project.decide(hit.id, YES)
    assert project.decided_on_other_content() == ()


def test_answer_from_an_earlier_page_is_about_what_its_hit_was_measured_on(
    project: Project,
) -> None:
    clip_id = measured(project, SEEN)
    failed(project, CHANGED)
    key = HitKey(1, "S2_T3_B.mov", SEEN.digest, 100)
    given = GivenAnswer(key, "declined", None, "Ines", "2024-03-01T12:00:00Z", "", "")
    take_answer(project, given)
    (entry,) = project.history(clip_id)
    assert entry.said.who == "Ines" and entry.digest == SEEN.digest
    measured(project, CHANGED)
    assert project.decided_on_other_content() == (1,)


def test_scan_points_it_out_after_a_failure_between(project: Project, footage: Path) -> None:
    def fail(path: Path, settings: AnalysisSettings, report: object) -> ClipAnalysis:
        raise UnreadableMediaError(f"{path}: is cut short; copy it again")

    run(project, footage)
    film(footage / "S1_T1_A_x.mov", seed=3)
    assert len(run(project, footage, analyse=fail).refusals) == 1
    project.decide(project.hits(project.clips()[0].id)[0].id, YES)
    (note,) = run(project, footage).notes
    assert "the file has changed" in note and "S1_T1_A_x.mov" in note


def test_frames_of_the_new_content_are_not_those_of_the_old(
    project: Project, tmp_path: Path
) -> None:
    path = tmp_path / "S2_T3_B.mov"
    path.write_bytes(b"night")
    measured(project, fingerprint(path), str(path))
    failed(project, fingerprint(path), str(path))
    (stored,) = project.clips()
    assert as_measured(path, stored)
    path.write_bytes(b"another night")
    assert not as_measured(path, stored)
    failed(project, fingerprint(path), str(path))
    (stored,) = project.clips()
    assert not as_measured(path, stored)


def test_older_file_knows_it_of_clips_that_did_not_fail(tmp_path: Path) -> None:
    older = next(n for n, step in enumerate(MIGRATIONS) if "measured on" in step.name)
    with Project(tmp_path / "new.db", create=True) as project:
        measured(project, SEEN)
        measured(project, SEEN, "/quay/broken.mov")
        failed(project, CHANGED, "/quay/broken.mov")
    write_older(tmp_path / "old.db", tmp_path / "new.db", older, "clips")
    with Project(tmp_path / "old.db") as project:
        digests = {clip.path: clip.measured for clip in project.clips()}
    assert digests == {"/quay/S2_T3_B.mov": SEEN.digest, "/quay/broken.mov": ""}
