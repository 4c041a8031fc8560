"""Clips to measure, which come first, who measures them, and how that ended."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, Self

from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis

if TYPE_CHECKING:
    from impactcut.media.probe.container import TakeStated
    from impactcut.project import Fingerprint

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
class Beside:
    """A file that holds the take of one that is measured.

    Parameters
    ----------
    listed : bool
        Whether it is the original, by which lists name the take.
    """

    path: Path
    seen: Fingerprint
    stated: TakeStated
    listed: bool


@dataclass(frozen=True)
class Work:
    """One clip to measure.

    Parameters
    ----------
    before : Fingerprint
        Before it is measured; by its digest other machines tell that they see the same file.
    frames : int
        About how many frames it has; 0 if that is not known.
    beside : tuple of Beside
        Files that hold the same take, and need no measuring.
    """

    path: Path
    settings: AnalysisSettings
    before: Fingerprint
    frames: int = 0
    beside: tuple[Beside, ...] = ()


Order = Callable[[Work], tuple[int, ...]]
"""Sorting key for the clips of a scan; those with equal keys go by name."""


def by_name(work: Work) -> tuple[int, ...]:
    """In natural order of their paths."""
    return ()


def smallest_first(work: Work) -> tuple[int, ...]:
    """Small files first, so that there is soon something to look at."""
    return (work.before.size,)


def largest_first(work: Work) -> tuple[int, ...]:
    """Large files first, so that no job is left with a long clip at the end."""
    return (-work.before.size,)


def in_order_of(paths: Sequence[Path]) -> Order:
    """Those of the path named first before those of the next."""
    places = [path.resolve() for path in paths]

    def place(work: Work) -> tuple[int, ...]:
        path = work.path
        return (next((n for n, each in enumerate(places) if path.is_relative_to(each)), -1),)

    return place


@dataclass(frozen=True)
class Outcome:
    """How measuring a clip ended: exactly one of analysis and error is there."""

    work: Work
    analysis: ClipAnalysis | None = None
    error: Exception | None = None


class Executor(Protocol):
    """A way to have files opened and clips measured; what it has started ends when it is left."""

    def __enter__(self) -> Self: ...

    def __exit__(self, *_: object) -> None: ...

    def call(self, path: Path, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        """Call as `Call` says."""

    def measure(
        self, clips: Sequence[Work], analyse: Analyse, on_frames: OnFrames, alone: bool = False
    ) -> Generator[Outcome, None, None]:
        """Measure clips; each ends in an outcome, in any order. Closing it stops everything.

        ``alone``: one after the other, with all the room there is.
        """


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
