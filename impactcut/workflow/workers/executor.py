"""Having clips measured on this machine: in this process, or in several others."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from queue import SimpleQueue
from typing import Any

import psutil

from impactcut.errors import WorkerError
from impactcut.media.decode.threads import processors
from impactcut.workflow.scan.analyse import ClipAnalysis
from impactcut.workflow.scan.tasks import (
    Analyse,
    Call,
    OnFrames,
    Outcome,
    Report,
    Task,
    here,
    unreported,
)
from impactcut.workflow.workers.isolation import Limits
from impactcut.workflow.workers.process_pool import MeasuringProcesses

PATIENCE_SECONDS = 120.0
_MEMORY_SHARE = 0.75
"""Of the main memory, for all measuring processes together; the rest is the system's."""
_POLL_SECONDS = 0.2

Heard = SimpleQueue[tuple[Path, int]]
"""Frames measured, from other threads."""
Begin = Callable[[Task], Future[ClipAnalysis]]


class ThisProcess:
    """Measures clips one after another in this process, which a bad clip may take along."""

    def measure(
        self, tasks: Sequence[Task], analyse: Analyse, on_frames: OnFrames
    ) -> Generator[Outcome, None, None]:
        """Measure clips; a failure does not end the rest."""
        for task in tasks:
            try:
                report = partial(on_frames, task.path)
                yield Outcome(task, analysis=analyse(task.path, task.settings, report))
            except Exception as error:
                yield Outcome(task, error=error)

    def planning(self) -> AbstractContextManager[tuple[Call, ThisProcess]]:
        """Calls and measures in this process."""
        return nullcontext((here, self))

    def calling(self) -> AbstractContextManager[Call]:
        """Calls in this process."""
        return nullcontext(here)

    def alone(self) -> ThisProcess:
        """The same."""
        return self


@dataclass(frozen=True)
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
    processes : MeasuringProcesses, optional
        Those to use first, and to end.
    """

    jobs: int
    patience: float = PATIENCE_SECONDS
    memory: int | None = None
    processes: MeasuringProcesses | None = None

    def measure(
        self, tasks: Sequence[Task], analyse: Analyse, on_frames: OnFrames
    ) -> Generator[Outcome, None, None]:
        """Measure clips; outcomes come as they are ready. Closing it ends all processes.

        Raises
        ------
        WorkerError
            If no process can be started.
        """
        heard: Heard = SimpleQueue()
        jobs = max(1, min(self.jobs, len(tasks)))
        whole = psutil.virtual_memory().total
        limits = shared_limits(jobs, self.patience, self.memory, whole)
        processes = self.processes or MeasuringProcesses(limits)
        processes.limits = limits
        threads = ThreadPoolExecutor(jobs)

        def begin(task: Task) -> Future[ClipAnalysis]:
            report = telling(heard, task.path)
            arguments = (task.path, task.settings)
            return threads.submit(processes.call, task.path, analyse, arguments, report)

        try:
            yield from gathered(tasks, begin, lambda: jobs, partial(pass_on, heard, on_frames))
        finally:
            processes.close()
            threads.shutdown(cancel_futures=True)

    @contextmanager
    def planning(self) -> Iterator[tuple[Call, OtherProcesses]]:
        """Calls in another process, in which a clip can be measured next."""
        whole = psutil.virtual_memory().total
        processes = MeasuringProcesses(shared_limits(1, self.patience, self.memory, whole))

        def call(path: Path, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
            return processes.call(path, function, arguments, unreported)

        try:
            yield call, replace(self, processes=processes)
        finally:
            processes.close()

    @contextmanager
    def calling(self) -> Iterator[Call]:
        """Calls in another process."""
        with self.planning() as (call, _):
            yield call

    def alone(self) -> OtherProcesses:
        """One clip at a time, with the whole machine to itself."""
        return replace(self, jobs=1, processes=None)


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
    tasks: Sequence[Task], begin: Begin, most: Callable[[], int], heed: Callable[[], None]
) -> Generator[Outcome, None, None]:
    """Begin tasks, at most ``most()`` at once, and yield their outcomes as they end.

    Parameters
    ----------
    tasks : sequence of Task
        Begun in this order.
    begin : callable
        Begins a task and returns its future.
    most : callable
        How many may be under way, asked again and again.
    heed : callable
        Called a few times a second.

    Raises
    ------
    WorkerError
        If a task ends in one: then it is not about its clip.
    """
    waiting = deque(tasks)
    running: dict[Future[ClipAnalysis], Task] = {}
    while waiting or running:
        while waiting and len(running) < most():
            task = waiting.popleft()
            running[begin(task)] = task
        if not running:
            time.sleep(_POLL_SECONDS)
        finished, _ = wait(running, _POLL_SECONDS, FIRST_COMPLETED)
        heed()
        for future in finished:
            yield _outcome(running.pop(future), future)


def telling(heard: Heard, path: Path) -> Report:
    """What takes down the frames measured of a clip, whatever thread calls it."""

    def report(frames: int) -> None:
        heard.put((path, frames))

    return report


def pass_on(heard: Heard, on_frames: OnFrames) -> None:
    """Tell ``on_frames`` what was heard from other threads."""
    while not heard.empty():
        on_frames(*heard.get())


def _outcome(task: Task, future: Future[ClipAnalysis]) -> Outcome:
    error = future.exception()
    if isinstance(error, WorkerError):
        raise error
    if isinstance(error, Exception):
        return Outcome(task, error=error)
    return Outcome(task, analysis=future.result())
