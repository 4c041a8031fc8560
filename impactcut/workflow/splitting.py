"""Having a long clip analysed in parts by several processes at once."""

from __future__ import annotations

from concurrent.futures import Future
from dataclasses import dataclass, field
from functools import partial

from impactcut.media.measure import STRETCH
from impactcut.media.pieces import InexactError
from impactcut.workflow.analyse import ClipAnalysis, analyse_clip
from impactcut.workflow.futures import in_thread
from impactcut.workflow.parts import Part, PlannedParts, analyse_part, join_parts, plan_parts
from impactcut.workflow.tasks import Analyse, Report, Submit, Task, Tell


@dataclass(frozen=True)
class Splitter:
    """Analyses long clips in parts.

    Parameters
    ----------
    stretches : int
        Least length of a part, in stretches of `impactcut.media.measure`; 0 for no parts at all.
    submit : callable
        Has something called in another process.
    tell : callable
        Called with the names of clips that cannot be divided, and why.
    """

    stretches: int
    submit: Submit
    tell: Tell

    def begin(self, task: Task, analyse: Analyse, report: Report) -> Future[ClipAnalysis]:
        """Have a clip analysed by ``analyse``, in parts if it is long; stand-ins have no parts."""
        if analyse is analyse_clip and parts_expected(task, self.stretches) > 1:
            return in_thread(partial(self._in_parts_if_exact, task, report))
        return self.submit(task, analyse, (task.settings,), report)

    def _in_parts_if_exact(self, task: Task, report: Report) -> ClipAnalysis:
        try:
            return self._in_parts(task, report)
        except InexactError as error:
            self.tell(f"{task.path}: is measured in one piece, since {error}")
        whole: ClipAnalysis = self.submit(task, analyse_clip, (task.settings,), report).result()
        return whole

    def _in_parts(self, task: Task, report: Report) -> ClipAnalysis:
        arguments = (task.settings, self.stretches)
        planned: PlannedParts = self.submit(task, plan_parts, arguments, report).result()
        progress = _Progress(report)
        parts = [
            self.submit(task, analyse_part, (task.settings, planned, part), progress.of(part))
            for part in planned.parts
        ]
        try:
            return join_parts(planned, [part.result() for part in parts])
        finally:
            for part in parts:
                part.cancel()


@dataclass(frozen=True)
class _Progress:
    """Adds up the frames measured in parts."""

    report: Report
    frames: dict[Part, int] = field(default_factory=dict)

    def of(self, part: Part) -> Report:
        """What to tell of the frames of one part."""

        def report(frames: int) -> None:
            self.frames[part] = frames
            self.report(sum(tuple(self.frames.values())))

        return report


def parts_expected(task: Task, stretches: int) -> int:
    """About how many parts a clip would be analysed in."""
    return max(1, task.frames // (STRETCH * stretches)) if stretches else 1
