"""Scans of staged clips, and what they tell their watcher."""

from __future__ import annotations

from pathlib import Path

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.project import Project
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.clips_to_measure import Analyse, Executor, Work
from impactcut.workflow.scan.planning import Plan
from impactcut.workflow.scan.scanning import ScanOptions, ScanReport, scan
from tests.helpers.footage.staged_clips import measure
from tests.helpers.running.this_process import ThisProcess

YES = Decision("approved", FrameRange(38, 40), "Ines", "2024-03-01T20:00:00Z")


class Recorder:
    """Takes down what a scan tells its watcher."""

    def __init__(self) -> None:
        self.frames: dict[str, int] = {}
        self.ends: list[tuple[str, str | None]] = []

    def planned(self, plan: Plan) -> None:
        self.plan = plan

    def measured(self, path: Path, frames: int) -> None:
        self.frames[path.name] = frames

    def put_off(self, work: Work, error: Exception) -> None:
        self.ends.append((work.path.name, f"put off: {type(error).__name__}"))

    def ended(self, work: Work, error: Exception | None) -> None:
        self.ends.append((work.path.name, None if error is None else type(error).__name__))


def work_for(path: Path) -> Work:
    """A file to measure, that nothing is known of."""
    return Work(path, AnalysisSettings(), fingerprint(path))


def run(
    project: Project,
    *paths: Path,
    analyse: Analyse = measure,
    executor: Executor | None = None,
    again: bool = False,
    retry: bool = False,
    rate: str | None = None,
    reel: str | None = None,
    recorder: Recorder | None = None,
) -> ScanReport:
    settings = AnalysisSettings(rate=rate, reel=reel)
    options = ScanOptions(settings, executor or ThisProcess(), again=again, retry=retry)
    return scan(project, paths, options, recorder or Recorder(), analyse)


def counts(report: ScanReport) -> tuple[int, int, int]:
    return len(report.measured), len(report.plan.unchanged), len(report.refusals)
