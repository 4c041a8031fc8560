"""Scanning what is damaged, no media or unreadable, and going on after an interruption."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from impactcut.project import Project
from impactcut.workflow.files.refusals import MOST_TRIES
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from impactcut.workflow.scan.clips_to_measure import Executor, Report, Work
from impactcut.workflow.workers.this_machine import OtherProcesses
from tests.helpers.footage.media_files import Recipe, write_clip
from tests.helpers.footage.staged_clips import film, measure, measure_or_fail, measure_slowly
from tests.helpers.running.this_process import ThisProcess
from tests.helpers.running.watched_scans import Recorder, counts, run, work_for


def test_clip_is_known_by_its_content(project: Project, footage: Path) -> None:
    whole = (footage / "S1_T1_A_x.mov").read_bytes()
    for name in ("take.txt", "reel.bin", "take 4", "old.bak", "half.part", ".hidden"):
        (footage / name).write_bytes(whole + name.encode())
    report = run(project, footage)
    assert counts(report) == (6, 0, 0) and report.plan.passed_over == 0


@pytest.mark.parametrize("name", ["night.db", "night", "night.mov"])
def test_project_among_the_media_is_not_opened_as_media(
    footage: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Closing it would drop the locks that this process has on it."""
    opened: list[str] = []
    real = Path.open

    def watched(path: Path, *rest: Any, **named: Any) -> Any:
        opened.append(path.name)
        return real(path, *rest, **named)

    monkeypatch.setattr(Path, "open", watched)
    with Project(footage / name, create=True) as project:
        assert counts(run(project, footage)) == (2, 0, 0)
        assert counts(run(project, footage, footage / name)) == (0, 2, 1)
    assert "S1_T1_A_x.mov" in opened and not {each for each in opened if each.startswith("night")}


def test_damaged_clip_is_kept_as_failed_and_the_rest_goes_on(
    project: Project, footage: Path
) -> None:
    whole = (footage / "S1_T1_A_x.mov").read_bytes()
    (footage / "S1_T1_A_x.mov").write_bytes(whole[: len(whole) // 2])
    report = run(project, footage)
    assert counts(report) == (1, 0, 1)
    (refusal,) = report.refusals
    assert refusal.name.endswith("S1_T1_A_x.mov") and refusal.error and refusal.remedy
    stored = project.clip_at(refusal.name)
    assert stored is not None and stored.state == "failed"
    assert (stored.error, stored.remedy) == (refusal.error, refusal.remedy)


def test_failures_are_tried_again_a_few_times_then_only_on_request(
    project: Project, footage: Path
) -> None:
    clip = film(footage / "fault.mov")
    for _ in range(MOST_TRIES):
        recorder = Recorder()
        assert counts(run(project, clip, analyse=measure_or_fail, recorder=recorder)) == (0, 0, 1)
        assert recorder.ends == [("fault.mov", "ZeroDivisionError")]
    recorder = Recorder()
    report = run(project, clip, analyse=measure_or_fail, recorder=recorder)
    assert counts(report) == (0, 0, 1) and recorder.ends == []
    assert "--retry" in report.refusals[0].remedy
    report = run(project, clip, analyse=measure_or_fail, retry=True, recorder=recorder)
    assert counts(report) == (0, 0, 1) and recorder.ends == [("fault.mov", "ZeroDivisionError")]
    assert counts(run(project, clip, again=True)) == (1, 0, 0)


def test_files_of_folders_that_are_no_media_are_passed_over(
    project: Project, footage: Path
) -> None:
    (footage / "README").write_text("slates are on the door")
    (footage / "sound.mov").write_bytes(b"not media, though its name says so")
    report = run(project, footage)
    assert counts(report) == (2, 0, 1) and report.plan.passed_over == 1
    assert project.clip_at(str((footage / "README").resolve())) is None
    assert counts(run(project, footage / "README")) == (0, 0, 1)


def test_clip_that_was_cut_short_says_so(project: Project, footage: Path) -> None:
    recipe = Recipe(options={"g": "1"})
    path = write_clip(footage / "short.mkv", recipe, frames=80)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    run(project, path, analyse=analyse_clip)
    stored = project.clip_at(str(path))
    assert stored is not None
    assert [said for said in stored.clip.warnings if "cut short" in said]
    whole = write_clip(footage / "whole.mkv", recipe, frames=80)
    run(project, whole, analyse=analyse_clip)
    stored = project.clip_at(str(whole))
    assert stored is not None and "cut short" not in " ".join(stored.clip.warnings)


def test_clip_that_is_still_being_copied_is_named(project: Project, footage: Path) -> None:
    clip = footage / "S1_T1_A_x.mov"

    def growing(path: Path, settings: AnalysisSettings, report: Report | None) -> ClipAnalysis:
        analysis = measure(path, settings, report)
        if path.name == clip.name:
            path.write_bytes(path.read_bytes() + b"more")
        return analysis

    report = run(project, footage, analyse=growing)
    assert counts(report) == (2, 0, 0)
    (note,) = report.notes
    assert note.startswith(f"{clip}: changed while it was measured") and "scan again" in note
    report = run(project, footage)
    assert counts(report) == (1, 1, 0) and report.notes == ()


def test_clip_that_cannot_be_read_for_now_keeps_its_hits(
    project: Project, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run(project, footage)
    clip = footage / "S1_T1_A_x.mov"
    os.utime(clip)
    real = Path.open

    def fail(path: Path, *rest: object) -> object:
        if path.name == clip.name:
            raise OSError(5, "Input/output error")
        return real(path, *rest)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "open", fail)
    assert counts(run(project, footage)) == (0, 1, 1)
    stored = project.clip_at(str(clip.resolve()))
    assert stored is not None and stored.state == "done"


@pytest.mark.parametrize("executor", [ThisProcess(), OtherProcesses(1), OtherProcesses(2)])
def test_interrupted_scan_keeps_what_is_done_and_goes_on(
    project: Project, footage: Path, executor: Executor
) -> None:
    film(footage / "waits.mov", seed=4)

    class Impatient(Recorder):
        def ended(self, work: Work, error: Exception | None) -> None:
            super().ended(work, error)
            if len(self.ends) == 2:
                raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(project, footage, analyse=measure_slowly, executor=executor, recorder=Impatient())
    assert len(project.clips()) == 2
    assert not (footage / "waits.done").exists()
    assert counts(run(project, footage)) == (1, 2, 0)


def test_several_processes_find_the_same(project: Project, footage: Path, tmp_path: Path) -> None:
    film(footage / "fault.mov", seed=4)
    recorder = Recorder()
    report = run(
        project, footage, analyse=measure_or_fail, executor=OtherProcesses(3), recorder=recorder
    )
    assert counts(report) == (2, 0, 1)
    assert sorted(recorder.ends) == [
        ("S1_T1_A_x.mov", None),
        ("S1_T2_B_x.mov", None),
        ("fault.mov", "ZeroDivisionError"),
    ]
    with Project(tmp_path / "other.db", create=True) as other:
        run(other, footage, analyse=measure_or_fail)
        assert [c.own for c in other.clips()] == [c.own for c in project.clips()]


def test_measuring_here_goes_on_after_a_fault(footage: Path) -> None:
    tasks = [work_for(film(footage / name, frames=10)) for name in ("fault.mov", "b.mov")]
    first, second = ThisProcess().measure(tasks, measure_or_fail, lambda *_: None)
    assert isinstance(first.error, ZeroDivisionError) and second.analysis is not None
