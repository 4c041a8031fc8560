"""Showing how a scan gets on, on standard error."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, Progress, ProgressColumn, Task, TextColumn, TimeRemainingColumn
from rich.text import Text

from impactcut.cli.program import printable, show_trace
from impactcut.core.takes.shot_names import read_shot_name
from impactcut.workflow.scan.clips_to_measure import Work
from impactcut.workflow.scan.planning import Plan

_CALM_SECONDS = 120.0
"""Over which speed and time left are averaged, engineering choice."""


class ScanProgress:
    """What a scan has kept; a bar on a terminal, a line for each clip elsewhere, or nothing.

    Use it in a `with`. Tracebacks of what goes wrong are shown where they are wanted.
    """

    def __init__(self, quiet: bool) -> None:
        self.total = 0
        self.kept = 0
        self.failed = 0
        self._expected: dict[Path, int] = {}
        self._done: dict[Path, int] = {}
        self._console = Console(stderr=True, highlight=False, soft_wrap=True, quiet=quiet)
        self._bar = Progress(
            TextColumn("{task.description}", markup=False),
            BarColumn(),
            _FramesColumn(),
            TimeRemainingColumn(),
            TextColumn("left"),
            console=self._console,
            speed_estimate_period=_CALM_SECONDS,
            transient=True,
            disable=quiet or not sys.stderr.isatty(),
        )
        self._task = self._bar.add_task("looking", total=None)

    def __enter__(self) -> ScanProgress:
        """Start to draw."""
        self._bar.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Take the bar away."""
        self._bar.stop()

    def planned(self, plan: Plan) -> None:
        """Set out the whole length, and say how names will be read."""
        self.total = len(plan.work)
        self._expected = {work.path: work.frames for work in plan.work}
        self._bar.update(self._task, total=sum(self._expected.values()))
        self._tell_names(plan)
        self._draw()

    def measured(self, path: Path, frames: int) -> None:
        """Move on within a clip."""
        self._move(path, min(frames, self._expected[path]))

    def put_off(self, work: Work, error: Exception) -> None:
        """Go back to a clip's start; it will be tried again."""
        show_trace(error)
        self._move(work.path, 0)
        self._say("put off", work)

    def ended(self, work: Work, error: Exception | None) -> None:
        """Count a clip, and move on to its end."""
        if error is None:
            self.kept += 1
        else:
            self.failed += 1
            show_trace(error)
        self._move(work.path, work.frames)
        self._say("failed" if error else "measured", work)

    def _say(self, verb: str, work: Work) -> None:
        if self._bar.disable:
            place = f"{self.kept + self.failed} of {self.total}"
            self._console.print(Text(f"{place}: {verb} {printable(work.path.name)}"))

    def _move(self, path: Path, frames: int) -> None:
        self._done[path] = frames
        self._draw()

    def _draw(self) -> None:
        text = f"{self.kept + self.failed} of {self.total} clips"
        if self.failed:
            text += f", {self.failed} failed"
        self._bar.update(self._task, completed=sum(self._done.values()), description=text)

    def _tell_names(self, plan: Plan) -> None:
        """How sections, takes and angles will be read, with the first name that says something."""
        for work in plan.work:
            named = asdict(read_shot_name(str(work.path), plan.pattern))
            said = ", ".join(f"{field} {text}" for field, text in named.items() if text)
            if said:
                name = printable(work.path.name)
                told = f"names are read as {plan.pattern.text}: {name} is {said}; "
                self._console.print(Text(f"{told}'impactcut shots' shows and changes it"))
                return


class _FramesColumn(ProgressColumn):
    def render(self, task: Task) -> Text:
        """Frames done, of how many, and how many a second."""
        speed = task.finished_speed or task.speed
        rate = "" if speed is None else f", {speed:.0f} a second"
        total = "?" if task.total is None else f"{task.total:.0f}"
        return Text(f"{task.completed:.0f}/{total} frames{rate}")
