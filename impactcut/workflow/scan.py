"""Scanning: find media, measure what is new or changed, keep it, propose trims."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from impactcut.core.hits import SURE
from impactcut.core.viewing import Viewing
from impactcut.project import Fingerprint, Project, StoredClip
from impactcut.workflow.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from impactcut.workflow.executor import (
    Analyse,
    Outcome,
    measure_here,
    measure_in_processes,
)
from impactcut.workflow.find import Refusal, find_media
from impactcut.workflow.planning import Plan, Work, plan_scan, refusal_of, settings_text
from impactcut.workflow.proposing import propose_for_clip
from impactcut.workflow.shots import pattern_in_force, with_names


class Watcher(Protocol):
    """Who wants to know how a scan gets on."""

    def planned(self, plan: Plan) -> None:
        """Called once, before anything is measured."""

    def measured(self, path: Path, frames: int) -> None:
        """Called now and then with the frames of a clip measured so far."""

    def ended(self, work: Work, error: Exception | None) -> None:
        """Called when a clip was kept, or has failed."""


@dataclass(frozen=True)
class ScanOptions:
    """How to scan.

    Parameters
    ----------
    settings : AnalysisSettings
    viewing : Viewing
        For which trims are proposed.
    jobs : int
        Clips measured at once; 1 works in this process.
    again : bool
        Measure what is unchanged too.
    """

    settings: AnalysisSettings
    viewing: Viewing
    jobs: int = 1
    again: bool = False


@dataclass(frozen=True)
class ScanReport:
    """What a scan did.

    Parameters
    ----------
    measured : tuple of StoredClip
    hits : int
        Found in them with confidence `SURE` or more.
    unchanged, passed_over : int
        Clips measured earlier, and files that are not media.
    refusals : tuple of Refusal
        Files that were not measured.
    notes : tuple of str
        What a person should look at.
    """

    measured: tuple[StoredClip, ...]
    hits: int
    unchanged: int
    passed_over: int
    refusals: tuple[Refusal, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Kept:
    clip: StoredClip
    hits: int
    notes: tuple[str, ...]


def scan(
    project: Project,
    paths: Sequence[Path],
    options: ScanOptions,
    watcher: Watcher,
    analyse: Analyse | None = None,
) -> ScanReport:
    """Measure the media in ``paths`` and keep the results, clip by clip.

    A clip that fails is kept as failed and the rest goes on. When the scan is interrupted, every
    clip that was kept stays, and the next scan goes on from there.

    Raises
    ------
    RateError
        If the rate in the settings is none.
    ProjectFileError
        If the project file cannot be written.
    """
    found = find_media(paths)
    plan = plan_scan(project, found.candidates, options.settings, options.again)
    watcher.planned(plan)
    with closing(_measure(plan.work, options.jobs, analyse or analyse_clip, watcher)) as outcomes:
        results = [
            _keep(project, work, outcome, options.viewing, watcher) for work, outcome in outcomes
        ]
    kept = [each for each in results if isinstance(each, _Kept)]
    return ScanReport(
        measured=tuple(each.clip for each in kept),
        hits=sum(each.hits for each in kept),
        unchanged=len(plan.unchanged),
        passed_over=plan.passed_over,
        refusals=(
            *found.refusals,
            *plan.refusals,
            *(each for each in results if isinstance(each, Refusal)),
        ),
        notes=tuple(note for each in kept for note in each.notes),
    )


def _measure(
    work: Sequence[Work], jobs: int, analyse: Analyse, watcher: Watcher
) -> Generator[tuple[Work, Outcome], None, None]:
    by_path = {each.task.path: each for each in work}
    tasks = [each.task for each in work]
    jobs = min(jobs, len(tasks))
    if jobs > 1:
        outcomes = measure_in_processes(tasks, analyse, watcher.measured, jobs)
    else:
        outcomes = measure_here(tasks, analyse, watcher.measured)
    with closing(outcomes):
        for outcome in outcomes:
            yield by_path[outcome.task.path], outcome


def _keep(
    project: Project, work: Work, outcome: Outcome, viewing: Viewing, watcher: Watcher
) -> _Kept | Refusal:
    path = str(work.task.path)
    result: _Kept | Refusal
    if outcome.analysis is not None:
        result = _keep_measured(project, work, outcome.analysis, viewing)
    else:
        assert outcome.error is not None
        result = refusal_of(path, outcome.error)
        text = settings_text(work.task.settings)
        project.store_failure(path, work.before, text, result.error, result.remedy)
    watcher.ended(work, outcome.error)
    return result


def _keep_measured(project: Project, work: Work, analysis: ClipAnalysis, viewing: Viewing) -> _Kept:
    clip = with_names(analysis.clip, pattern_in_force(project))
    earlier = project.clip_at(clip.path)
    found = [(each.hit, each.motion) for each in analysis.hits]
    text = settings_text(work.task.settings)
    clip_id = project.store_clip(clip, work.before, text, analysis.track, found)
    stored = project.clip_at(clip.path)
    assert stored is not None
    propose_for_clip(project, stored, viewing)
    return _Kept(
        stored,
        sum(hit.confidence >= SURE for hit, _ in found),
        _notes(project, earlier, clip_id, work.before),
    )


def _notes(
    project: Project, earlier: StoredClip | None, clip_id: int, now: Fingerprint
) -> tuple[str, ...]:
    decided = sum(hit.decision is not None for hit in project.hits(clip_id))
    orphans = len(project.orphans(clip_id))
    if earlier is None or earlier.fingerprint is None or not decided + orphans:
        return ()
    notes = []
    if earlier.fingerprint.digest != now.digest and decided:
        notes.append(f"{earlier.path}: the file has changed; look again at what was decided on it")
    if orphans:
        notes.append(
            f"{earlier.path}: decisions that no longer find their hit: {orphans}; "
            "'impactcut status' lists them"
        )
    return tuple(notes)
