"""Showing how a scan gets on, on standard error."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from rich.console import Console
from rich.progress import (
    BarColumn,
    Progress,
    ProgressColumn,
    Task,
    TextColumn,
    TimeRemainingColumn,
)
from rich.text import Text

from impactcut.cli.program import printable
from impactcut.core.takes.shot_names import read_shot_name
from impactcut.workflow.scan.planning import Plan, Work

OnFault = Callable[[Exception], None]
_CALM_SECONDS = 120.0
"""Over which speed and time left are averaged, engineering choice."""


class QuietWatcher:
    """Shows nothing but faults that are asked for; counts what was kept."""

    def __init__(self, on_fault: OnFault) -> None:
        self.total = 0
        self.kept = 0
        self.failed = 0
        self._on_fault = on_fault

    def planned(self, plan: Plan) -> None:
        """Take down how much there is to do."""
        self.total = len(plan.work)

    def measured(self, path: Path, frames: int) -> None:
        """Pass over."""

    def put_off(self, work: Work, error: Exception) -> None:
        """Pass on the error."""
        self._on_fault(error)

    def ended(self, work: Work, error: Exception | None) -> None:
        """Count a clip; pass on an error."""
        if error is None:
            self.kept += 1
        else:
            self.failed += 1
            self._on_fault(error)


class LineWatcher(QuietWatcher):
    """A line for each clip, for logs."""

    def __init__(self, on_fault: OnFault) -> None:
        super().__init__(on_fault)
        self._console = Console(stderr=True, highlight=False, soft_wrap=True)

    def planned(self, plan: Plan) -> None:
        """Say how names will be read."""
        super().planned(plan)
        _tell_names(plan, self._console)

    def put_off(self, work: Work, error: Exception) -> None:
        """Say that a clip will be tried again."""
        super().put_off(work, error)
        self._say("put off", work)

    def ended(self, work: Work, error: Exception | None) -> None:
        """Say that a clip is done."""
        super().ended(work, error)
        self._say("failed" if error else "measured", work)

    def _say(self, verb: str, work: Work) -> None:
        name = printable(work.task.path.name)
        place = f"{self.kept + self.failed} of {self.total}"
        self._console.print(Text(f"{place}: {verb} {name}"))


class BarWatcher(QuietWatcher):
    """A bar with clips, failures, frames a second and time left, for a terminal.

    Use it in a `with`.
    """

    def __init__(self, on_fault: OnFault) -> None:
        super().__init__(on_fault)
        self._expected: dict[Path, int] = {}
        self._done: dict[Path, int] = {}
        self._progress = Progress(
            TextColumn("{task.description}", markup=False),
            BarColumn(),
            _FramesColumn(),
            TimeRemainingColumn(),
            TextColumn("left"),
            console=Console(stderr=True),
            speed_estimate_period=_CALM_SECONDS,
            transient=True,
        )
        self._moved = 0
        self._task = self._progress.add_task("looking", total=None)

    def __enter__(self) -> BarWatcher:
        """Start to draw."""
        self._progress.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Take the bar away."""
        self._progress.stop()

    def planned(self, plan: Plan) -> None:
        """Set out the whole length."""
        super().planned(plan)
        _tell_names(plan, self._progress.console)
        self._expected = {work.task.path: work.frames for work in plan.work}
        self._progress.update(self._task, total=sum(self._expected.values()))
        self._draw()

    def measured(self, path: Path, frames: int) -> None:
        """Move on within a clip."""
        self._move(path, min(frames, self._expected[path]))

    def put_off(self, work: Work, error: Exception) -> None:
        """Go back to a clip's start."""
        super().put_off(work, error)
        self._move(work.task.path, 0)

    def ended(self, work: Work, error: Exception | None) -> None:
        """Move on to a clip's end."""
        super().ended(work, error)
        self._move(work.task.path, work.frames)

    def _move(self, path: Path, frames: int) -> None:
        self._moved += frames - self._done.get(path, 0)
        self._done[path] = frames
        self._draw()

    def _draw(self) -> None:
        text = f"{self.kept + self.failed} of {self.total} clips"
        if self.failed:
            text += f", {self.failed} failed"
        self._progress.update(self._task, completed=self._moved, description=text)


def _tell_names(plan: Plan, console: Console) -> None:
    """How sections, takes and angles will be read, with the first name that says something."""
    for work in plan.work:
        named = asdict(read_shot_name(str(work.task.path), plan.pattern))
        said = ", ".join(f"{field} {text}" for field, text in named.items() if text)
        if said:
            name = printable(work.task.path.name)
            told = f"names are read as {plan.pattern.text}: {name} is {said}; "
            console.print(Text(f"{told}'impactcut shots' shows and changes it"), soft_wrap=True)
            return


class _FramesColumn(ProgressColumn):
    def render(self, task: Task) -> Text:
        """Frames done, of how many, and how many a second."""
        speed = task.finished_speed or task.speed
        rate = "" if speed is None else f", {speed:.0f} a second"
        total = "?" if task.total is None else f"{task.total:.0f}"
        return Text(f"{task.completed:.0f}/{total} frames{rate}")
