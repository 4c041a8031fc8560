"""Measuring clips one after another: in this process, or in several others on this machine."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.queues import SimpleQueue
from pathlib import Path
from typing import Any

from impactcut.errors import MediaError
from impactcut.workflow.analyse import AnalysisSettings, ClipAnalysis

Analyse = Callable[[Path, AnalysisSettings, Callable[[int], None] | None], ClipAnalysis]
OnFrames = Callable[[Path, int], None]
"""Called with a clip's path and the frames of it measured so far."""

_POLL_SECONDS = 0.2
_GRACE_SECONDS = 5.0


@dataclass(frozen=True)
class Task:
    """One clip to measure."""

    path: Path
    settings: AnalysisSettings


@dataclass(frozen=True)
class Outcome:
    """How a task ended: exactly one of the two is there."""

    task: Task
    analysis: ClipAnalysis | None = None
    error: Exception | None = None


class StoppedError(Exception):
    """Raised inside a worker when the others are told to stop."""


def measure_here(
    tasks: Sequence[Task], analyse: Analyse, on_frames: OnFrames
) -> Generator[Outcome, None, None]:
    """Measure clips one after another in this process; a failure does not end the rest."""
    for task in tasks:

        def report(frames: int, path: Path = task.path) -> None:
            on_frames(path, frames)

        yield _attempt(task, analyse, report)


def measure_in_processes(
    tasks: Sequence[Task], analyse: Analyse, on_frames: OnFrames, jobs: int
) -> Generator[Outcome, None, None]:
    """Measure clips in ``jobs`` processes; results come as they are ready.

    When a process dies the clips that were under way are measured again, each alone, so that the
    one at fault is known and the others are not lost. Closing the iterator stops all processes.
    """
    waiting = deque(tasks)
    while waiting:
        suspects = yield from _until_broken(waiting, analyse, on_frames, jobs)
        for task in suspects:
            if (yield from _until_broken(deque([task]), analyse, on_frames, 1)):
                yield Outcome(task, error=_crash(task.path))


def _attempt(task: Task, analyse: Analyse, report: Callable[[int], None]) -> Outcome:
    try:
        return Outcome(task, analysis=analyse(task.path, task.settings, report))
    except Exception as error:
        return Outcome(task, error=error)


def _until_broken(
    waiting: deque[Task], analyse: Analyse, on_frames: OnFrames, jobs: int
) -> Generator[Outcome, None, list[Task]]:
    """Work through ``waiting``; the tasks that were under way if a process dies."""
    context = multiprocessing.get_context("spawn")
    frames: SimpleQueue[tuple[Path, int]] = context.SimpleQueue()
    alive, lifeline = context.Pipe(duplex=False)
    running: dict[Future[ClipAnalysis], Task] = {}
    executor = ProcessPoolExecutor(jobs, context, _start_worker, (frames, alive))
    try:
        while waiting or running:
            while waiting and len(running) < jobs:
                with _interrupts_ignored():
                    running[executor.submit(_work, analyse, waiting[0])] = waiting[0]
                waiting.popleft()
            finished, _ = wait(running, _POLL_SECONDS, FIRST_COMPLETED)
            _pass_on(frames, on_frames)
            for future in finished:
                yield _outcome(running[future], future)
                del running[future]
    except BrokenProcessPool:
        return list(running.values())
    finally:
        if running:
            lifeline.close()
        executor.shutdown(wait=True, cancel_futures=True)
        for end in (lifeline, alive, frames):
            end.close()
    return []


@contextmanager
def _interrupts_ignored() -> Iterator[None]:
    """Let processes that start meanwhile ignore Ctrl-C from birth: this one tells them to stop."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _outcome(task: Task, future: Future[ClipAnalysis]) -> Outcome:
    error = future.exception()
    if isinstance(error, BrokenProcessPool):
        raise error
    if isinstance(error, Exception):
        return Outcome(task, error=error)
    return Outcome(task, analysis=future.result())


def _pass_on(frames: SimpleQueue[tuple[Path, int]], on_frames: OnFrames) -> None:
    while not frames.empty():
        on_frames(*frames.get())


def _crash(path: Path) -> MediaError:
    return MediaError(
        f"{path}: the process that measured it died, twice; "
        "there may be too little memory, or the file may be damaged: transcode it"
    )


_worker: dict[str, Any] = {}


def _start_worker(frames: SimpleQueue[tuple[Path, int]], alive: Connection) -> None:
    stopped = threading.Event()
    _worker.update(frames=frames, stopped=stopped)
    threading.Thread(target=_watch, args=(alive, stopped), daemon=True).start()


def _watch(alive: Connection, stopped: threading.Event) -> None:
    """Wait until the parent lets go of the other end, or dies; then stop, in the end by force."""
    alive.poll(None)
    stopped.set()
    time.sleep(_GRACE_SECONDS)
    os._exit(1)


def _work(analyse: Analyse, task: Task) -> ClipAnalysis:
    last = -_POLL_SECONDS

    def report(frames: int) -> None:
        nonlocal last
        if _worker["stopped"].is_set():
            raise StoppedError
        if time.monotonic() - last >= _POLL_SECONDS:
            last = time.monotonic()
            _worker["frames"].put((task.path, frames))

    return analyse(task.path, task.settings, report)
