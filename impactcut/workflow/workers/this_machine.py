"""Having clips measured on this machine, in processes beside this one."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from pathlib import Path
from queue import SimpleQueue
from typing import Any, Self

import psutil

from impactcut.errors import WorkerError
from impactcut.media.decode.threads import processors
from impactcut.workflow.scan.analyse import ClipAnalysis
from impactcut.workflow.scan.clips_to_measure import (
    Analyse,
    OnFrames,
    Outcome,
    Report,
    Work,
    unreported,
)
from impactcut.workflow.workers.measuring_processes import Limits, MeasuringProcesses

PATIENCE_SECONDS = 120.0
_MEMORY_SHARE = 0.75
"""Of the main memory, for all measuring processes together; the rest is the system's."""
_POLL_SECONDS = 0.2

Heard = SimpleQueue[tuple[Path, int]]
"""Frames measured, from other threads."""
Begin = Callable[[Work, Report], Future[ClipAnalysis]]
"""Begins a clip, and tells of its frames from whatever thread."""


class OtherProcesses:
    """Measures clips in other processes on this machine, each clip in one of them.

    Parameters
    ----------
    jobs : int
        Clips measured at once.
    patience : float
        Seconds without a frame after which a clip is given up.
    memory : int or None
        Bytes that measuring a clip may take; None for its share of the machine's.
    """

    def __init__(
        self, jobs: int, patience: float = PATIENCE_SECONDS, memory: int | None = None
    ) -> None:
        self.jobs, self.patience, self.memory = jobs, patience, memory
        self._processes: MeasuringProcesses | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End all processes; new ones are started when they are needed."""
        if self._processes is not None:
            self._processes.close()
            self._processes = None

    def call(self, path: Path, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        """Call in another process, in which a clip can be measured next."""
        processes = self._processes or self._limited(1)
        return processes.call(path, function, arguments, unreported)

    def measure(
        self, clips: Sequence[Work], analyse: Analyse, on_frames: OnFrames, alone: bool = False
    ) -> Generator[Outcome, None, None]:
        """Measure clips; outcomes come as they are ready. Closing it ends all processes.

        Raises
        ------
        WorkerError
            If no process can be started.
        """
        jobs = 1 if alone else max(1, min(self.jobs, len(clips)))
        processes, threads = self._limited(jobs), ThreadPoolExecutor(jobs)

        def begin(work: Work, report: Report) -> Future[ClipAnalysis]:
            arguments = (work.path, work.settings)
            return threads.submit(processes.call, work.path, analyse, arguments, report)

        try:
            yield from gathered(clips, begin, lambda: jobs, on_frames)
        finally:
            self.close()
            threads.shutdown(cancel_futures=True)

    def _limited(self, jobs: int) -> MeasuringProcesses:
        """The processes, each with its share of the machine from the next call on."""
        whole = psutil.virtual_memory().total
        limits = shared_limits(jobs, self.patience, self.memory, whole)
        self._processes = self._processes or MeasuringProcesses(limits)
        self._processes.limits = limits
        return self._processes


def shared_limits(jobs: int, patience: float, memory: int | None, whole: int) -> Limits:
    """What each of ``jobs`` clips measured side by side may take.

    Parameters
    ----------
    patience : float
        Seconds without a frame.
    memory : int or None
        Bytes; None for a share of ``whole``, which is what all of them may take.
    """
    share = int(whole * _MEMORY_SHARE) // jobs
    return Limits(patience, memory or share, max(1, processors() // jobs))


def gathered(
    clips: Sequence[Work], begin: Begin, most: Callable[[], int], on_frames: OnFrames
) -> Generator[Outcome, None, None]:
    """Begin clips, at most ``most()`` at once, and yield their outcomes as they end.

    Parameters
    ----------
    clips : sequence of Work
        Begun in this order.
    begin : callable
        Begins a clip and returns its future.
    most : callable
        How many may be under way, asked again and again.
    on_frames : callable
        Told of frames measured, a few times a second.

    Raises
    ------
    WorkerError
        If a clip ends in one: then it is not about the clip.
    """
    waiting, heard = deque(clips), Heard()
    running: dict[Future[ClipAnalysis], Work] = {}
    while waiting or running:
        while waiting and len(running) < most():
            work = waiting.popleft()
            running[begin(work, _telling(heard, work.path))] = work
        if not running:
            time.sleep(_POLL_SECONDS)
        finished, _ = wait(running, _POLL_SECONDS, FIRST_COMPLETED)
        while not heard.empty():
            on_frames(*heard.get())
        for future in finished:
            yield _outcome(running.pop(future), future)


def _telling(heard: Heard, path: Path) -> Report:
    """What takes down the frames measured of a clip, whatever thread calls it."""
    return lambda frames: heard.put((path, frames))


def _outcome(work: Work, future: Future[ClipAnalysis]) -> Outcome:
    error = future.exception()
    if isinstance(error, WorkerError):
        raise error
    if isinstance(error, Exception):
        return Outcome(work, error=error)
    return Outcome(work, analysis=future.result())
