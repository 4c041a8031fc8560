"""Clips to measure, and how that ended."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis

if TYPE_CHECKING:
    from impactcut.media.probe.container import TakeStated

Report = Callable[[int], None]
"""Called with the frames of a clip measured so far."""
Analyse = Callable[[Path, AnalysisSettings, Report | None], ClipAnalysis]
Call = Callable[[Path, Callable[..., Any], tuple[Any, ...]], Any]
"""Has ``function(*arguments, report)`` called, which is about a file, where that harms none."""
Tell = Callable[[str], None]
"""Called with what the user should know."""
OnFrames = Callable[[Path, int], None]
"""Called with a clip's path and the frames of it measured so far."""


@dataclass(frozen=True)
class Task:
    """One clip to measure.

    Parameters
    ----------
    path : Path
    settings : AnalysisSettings
    digest : str
        Of its content, by which other machines tell that they see the same file; empty if unknown.
    frames : int
        About how many frames it has; 0 if that is not known.
    """

    path: Path
    settings: AnalysisSettings
    digest: str = ""
    frames: int = 0


@dataclass(frozen=True)
class Outcome:
    """How a task ended: exactly one of the two is there."""

    task: Task
    analysis: ClipAnalysis | None = None
    error: Exception | None = None


class Executor(Protocol):
    """A way to have clips measured."""

    def measure(
        self, tasks: Sequence[Task], analyse: Analyse, on_frames: OnFrames
    ) -> Generator[Outcome, None, None]:
        """Measure clips; each ends in an outcome, in any order. Closing it stops everything."""

    def planning(self) -> AbstractContextManager[tuple[Call, Executor]]:
        """What opens new files, as in `calling`, and what measures them in the same process."""

    def calling(self) -> AbstractContextManager[Call]:
        """What opens files for something else, at no more risk than measuring them."""

    def alone(self) -> Executor:
        """The same, for clips that need all the room there is."""


def count_frames(path: Path, report: Report) -> int:
    """About how many frames a file has, as measuring processes call things."""
    from impactcut.media.probe import container  # loaded by who opens files

    return container.frames_stated(path)


def say_take(path: Path, report: Report) -> TakeStated | None:
    """What a file says of its take, if anything, as measuring processes call things."""
    from impactcut.media.probe import container

    return container.take_stated(path)


def here(path: Path, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
    """Call in this process, which a bad file may take along."""
    return function(*arguments, unreported)


def unreported(frames: int) -> None:
    """Stand in for somebody who does not ask how far it got."""


def untold(text: str) -> None:
    """Stand in for a user who does not listen."""


class StoppedError(Exception):
    """Raised where a clip is being measured when everything is told to stop."""
