"""Scanning: find media, measure what is new or changed, keep it, propose trims."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from impactcut.errors import LostProcessError
from impactcut.project import Project, StoredClip
from impactcut.workflow.files.find import find_media
from impactcut.workflow.files.moved_files import gone_failures
from impactcut.workflow.files.refusals import MOST_TRIES, Refusal, failure_of
from impactcut.workflow.hits.names import keep_names
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from impactcut.workflow.scan.clips_to_measure import (
    Analyse,
    Executor,
    Order,
    Outcome,
    Work,
    by_name,
)
from impactcut.workflow.scan.keeping import Kept, keep_failed, keep_measured
from impactcut.workflow.scan.learning import taught
from impactcut.workflow.scan.planning import Plan, plan_scan


class Watcher(Protocol):
    """Who wants to know how a scan gets on."""

    def planned(self, plan: Plan) -> None:
        """Called once, before anything is measured."""

    def measured(self, path: Path, frames: int) -> None:
        """Called now and then with the frames of a clip measured so far."""

    def put_off(self, work: Work, error: Exception) -> None:
        """Called when a clip cost a process and will be tried again after the others."""

    def ended(self, work: Work, error: Exception | None) -> None:
        """Called when a clip was kept, or has failed."""


@dataclass(frozen=True)
class ScanOptions:
    """How to scan.

    Parameters
    ----------
    settings : AnalysisSettings
        What clips are measured with.
    executor : Executor
        What measures the clips.
    order : callable
        Which clips come first: `by_name`, `smallest_first`, `largest_first`, `in_order_of`.
    again : bool
        Measure what is unchanged too.
    retry : bool
        Try again what was set aside after `MOST_TRIES` failures.
    """

    settings: AnalysisSettings
    executor: Executor
    order: Order = by_name
    again: bool = False
    retry: bool = False


@dataclass(frozen=True)
class ScanReport:
    """What a scan did.

    Parameters
    ----------
    notes : tuple of str
        What a person should look at.
    refusals : tuple of Refusal
        Files that were not measured.
    """

    plan: Plan
    kept: tuple[Kept, ...]
    notes: tuple[str, ...]
    refusals: tuple[Refusal, ...]

    @property
    def measured(self) -> tuple[StoredClip, ...]:
        """The clips that were measured."""
        return tuple(each.clip for each in self.kept)

    @property
    def hits(self) -> int:
        """Found in them with confidence `SURE` or more."""
        return sum(each.hits for each in self.kept)


def scan(
    project: Project,
    paths: Sequence[Path],
    options: ScanOptions,
    watcher: Watcher,
    analyse: Analyse | None = None,
) -> ScanReport:
    """Measure the media in ``paths`` and keep the results, clip by clip.

    A clip that fails is kept as failed and the rest goes on. One that costs a process is tried
    again after the others, alone, until it has failed `MOST_TRIES` times in all. When the scan is
    interrupted, every clip that was kept stays, and the next scan goes on from there.

    Raises
    ------
    RateError
        If the rate in the settings is none.
    ProjectFileError
        If the project file cannot be written.
    WorkerError
        If there is nothing to measure in.
    """
    found = find_media(paths, leave_out=project.files)
    again, retry = options.again, options.retry
    settings = replace(options.settings, taught=taught(project))
    with options.executor as executor:
        plan = plan_scan(project, found.candidates, settings, again, retry, executor.call)
        for note in plan.notes:
            note(project)
        project.forget_failures(gone_failures(project.clips(), paths))
        watcher.planned(plan)
        clips = sorted(plan.work, key=options.order)
        try:
            results = list(_Scan(project, executor, watcher).of(clips, analyse or analyse_clip))
        finally:
            keep_names(project)
    kept = tuple(each for each in results if isinstance(each, Kept))
    refused = (each for each in results if isinstance(each, Refusal))
    notes = (*found.notes, *(note for each in kept for note in each.notes))
    return ScanReport(plan, kept, notes, (*found.refusals, *plan.refusals, *refused))


@dataclass(frozen=True)
class _Scan:
    """Where clips are kept, what measures them, and who wants to know of it."""

    project: Project
    executor: Executor
    watcher: Watcher

    def of(self, clips: Sequence[Work], analyse: Analyse) -> Iterator[Kept | Refusal]:
        """Measure clips and keep what comes of them; what costs a process again, alone."""
        alone = False
        while clips:
            put_off = []
            measuring = self.executor.measure(clips, analyse, self.watcher.measured, alone)
            with closing(measuring) as outcomes:
                for outcome in outcomes:
                    result = self._keep(outcome)
                    if result is None:
                        put_off.append(outcome.work)
                    else:
                        yield result
            clips, alone = put_off, True

    def _keep(self, outcome: Outcome) -> Kept | Refusal | None:
        """What came of a clip; None if it is to be tried again."""
        clip, error = outcome.work, outcome.error
        if outcome.analysis is not None:
            kept = keep_measured(self.project, clip, outcome.analysis, self.executor.call)
            self.watcher.ended(clip, None)
            return kept
        assert error is not None
        failed = keep_failed(self.project, clip, error)
        if isinstance(error, LostProcessError) and failed.tries < MOST_TRIES:
            self.watcher.put_off(clip, error)
            return None
        self.watcher.ended(clip, error)
        return failure_of(failed)
