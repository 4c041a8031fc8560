"""Measuring clips in processes of their own, so that a clip can harm none but itself.

A measuring process has one clip at a time. It is used for the next clip while all goes well,
which saves the half second that starting one costs, and is replaced when it crashes, stands
still, takes too much memory, or has done its share of clips.
"""

from __future__ import annotations

import json
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from tempfile import TemporaryFile
from typing import Any, BinaryIO

import psutil

from impactcut.errors import LostProcessError, WorkerError
from impactcut.workflow.scan.clips_to_measure import Report, StoppedError
from impactcut.workflow.workers.child_process import IDLE_SECONDS, Measured, Raised, Ready, Returned

MOST_CALLS = 100
"""Clips after which a process is replaced, so that what libraries leak stays small."""
_READING_RATE = 10e6
"""Bytes a second at which a clip is read at the very least, engineering choice: before the first
frame is measured, finding how frames are spaced may take reading the whole file."""
_POLL_SECONDS = 0.2
_START_SECONDS = 120.0
_END_SECONDS = 0.5
_GIB = 1 << 30
_SCRIPT = (
    "import json, sys; sys.path[:] = json.loads(sys.argv[1]); "
    "from impactcut.workflow.workers.child_process import main; main()"
)
_ENVIRONMENT = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MALLOC_ARENA_MAX"), "1")
"""One thread for libraries that would start one to a processor, and one heap of the C library's for
all threads (mallopt(3), glibc only): with one for each, memory grows by half in two dozen clips."""


@dataclass(frozen=True)
class Limits:
    """What a clip may take before it is given up.

    Parameters
    ----------
    patience : float
        Seconds without a frame.
    memory : int
        Bytes of main memory of the process that measures it.
    threads : int
        To decode with.
    """

    patience: float
    memory: int
    threads: int


class MeasuringProcesses:
    """The processes of one scan on one machine: started when needed, kept while they are good.

    Parameters
    ----------
    limits : Limits
        Of each call, from the next on.
    """

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._lock = threading.Lock()
        self._idle: list[_Process] = []
        self._all: set[_Process] = set()
        self._closed = False

    def call(
        self, path: Path, function: Callable[..., Any], arguments: tuple[Any, ...], report: Report
    ) -> Any:
        """What ``function(*arguments, report)``, which is about ``path``, returns or raises.

        Raises
        ------
        LostProcessError
            If the process crashes, or the call exceeds the limits.
        WorkerError
            If no process starts.
        StoppedError
            If all are closed meanwhile.
        """
        process, reply = self._take(), None
        try:
            reply = process.call(path, (self.limits.threads, function, arguments), report)
        finally:
            self._put_back(process, reply is not None and process.usable())
        if isinstance(reply, Raised):
            raise reply.error
        return reply.value

    def close(self) -> None:
        """End all of them, whatever they are doing."""
        with self._lock:
            self._closed = True
            processes = tuple(self._all)
        for process in processes:
            process.close()

    def _take(self) -> _Process:
        with self._lock:
            if self._closed:
                raise StoppedError
            while self._idle:
                process = self._idle.pop()
                process.limits = self.limits
                if process.usable():
                    return process
                self._all.discard(process)
                process.close()
            process = _Process(self.limits)
            self._all.add(process)
            return process

    def _put_back(self, process: _Process, good: bool) -> None:
        with self._lock:
            if good and not self._closed:
                self._idle.append(process)
                return
            self._all.discard(process)
        process.close()


class _Process:
    """One process that measures clips, one at a time.

    Raises
    ------
    WorkerError
        If the system gives none.
    """

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._replies: SimpleQueue[Any] = SimpleQueue()
        self._ready = self._stopped = False
        self._rested = time.monotonic()
        self._calls = 0
        with ExitStack() as opened:
            try:
                self._complaints = opened.enter_context(TemporaryFile())
                self._process = _begin(self._complaints)
            except OSError as error:
                raise _not_starting(str(error)) from error
            opened.pop_all()
        arguments = (self._process.stdout, self._replies)
        threading.Thread(target=_listen, args=arguments, daemon=True).start()

    def call(self, path: Path, call: tuple[Any, ...], report: Report) -> Returned | Raised:
        """Have a call made there, which is about the file ``path``.

        Raises
        ------
        LostProcessError
            If the process crashes, or the call exceeds the limits. It cannot be used again then.
        WorkerError
            If it does not start.
        StoppedError
            If it is closed meanwhile.
        """
        self._calls += 1
        self._send(pickle.dumps(call))
        first = self.limits.patience + _size(path) / _READING_RATE
        due = time.monotonic() + (first if self._ready else _START_SECONDS)
        while True:
            try:
                reply = self._replies.get(timeout=_POLL_SECONDS)
            except Empty:
                reply = None
            match reply:
                case Ready():
                    self._ready, due = True, time.monotonic() + first
                case Measured(frames):
                    report(frames)
                    due = time.monotonic() + self.limits.patience
                case Returned() | Raised():
                    self._rested = time.monotonic()
                    return reply
            if self._stopped or isinstance(reply, EOFError) or time.monotonic() > due:
                raise self._gone(path, reply is not None)
            if self._memory() > self.limits.memory:
                raise LostProcessError(
                    f"{path}: measuring it takes more than {self.limits.memory / _GIB:.1f} GiB of "
                    "memory; allow more with --memory, or transcode it to a smaller picture"
                )

    def usable(self) -> bool:
        """Whether it may be given another clip."""
        small = self._memory() < self.limits.memory // 2
        fresh = time.monotonic() - self._rested < IDLE_SECONDS / 2
        return self._process.poll() is None and self._calls < MOST_CALLS and small and fresh

    def close(self) -> None:
        """End it at once; one that hangs in the system on a dead disk is left behind."""
        self._stopped = True
        self._process.kill()
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(_END_SECONDS)
        with suppress(OSError):
            self._stdin.close()
        self._complaints.close()

    def _memory(self) -> int:
        """Bytes of main memory that it takes now."""
        with suppress(psutil.Error):
            return int(psutil.Process(self._process.pid).memory_info().rss)
        return 0

    def _send(self, call: bytes) -> None:
        with suppress(OSError, ValueError):  # it has died, or is closed: the reply says so
            pickle.dump(call, self._stdin)
            self._stdin.flush()

    @property
    def _stdin(self) -> Any:
        assert self._process.stdin is not None
        return self._process.stdin

    def _gone(self, path: Path, ended: bool) -> Exception:
        """Why there will be no reply: the process has ``ended``, or stands still."""
        if self._stopped:
            return StoppedError()
        if ended:
            self._process.wait()
        words = self._last_words()
        if not self._ready:
            return _not_starting(words or "no reason given")
        if not ended:
            return LostProcessError(
                f"{path}: no frame of it was measured for {self.limits.patience:.0f} s; check that "
                "its disk answers, transcode it, or wait longer with --patience"
            )
        error = _crashed(path, self._process.returncode)
        if words:
            error.add_note(words)
        return error

    def _last_words(self) -> str:
        with suppress(OSError, ValueError):
            self._complaints.seek(0)
            return self._complaints.read().decode(errors="replace").strip()
        return ""


def _begin(complaints: BinaryIO) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", _SCRIPT, json.dumps(sys.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=complaints,
        env={**os.environ, **_ENVIRONMENT},
        start_new_session=True,
    )


def _not_starting(reason: str) -> WorkerError:
    return WorkerError(
        f"a process for measuring does not start ({reason}); "
        "close other programs, or take fewer --jobs"
    )


def _crashed(path: Path, code: int) -> LostProcessError:
    """The process ended by itself with exit ``code``, negative for a signal."""
    try:
        named = signal.Signals(-code).name if code < 0 else f"exit code {code}"
    except ValueError:
        named = f"signal {-code}"
    if named in ("SIGTERM", "SIGKILL"):
        return LostProcessError(
            f"{path}: the process that measured it was ended from outside ({named}), "
            "as systems do when memory is short; close other programs, or take fewer --jobs"
        )
    return LostProcessError(
        f"{path}: the process that measured it crashed ({named}); "
        "the file may be damaged: copy it again from the card, or transcode it"
    )


def _listen(stream: BinaryIO, replies: SimpleQueue[Any]) -> None:
    with stream:
        try:
            while True:
                replies.put(pickle.load(stream))
        except Exception:  # the end, or what a crash left of a reply
            replies.put(EOFError())


def _size(path: Path) -> int:
    with suppress(OSError):
        return path.stat().st_size
    return 0
