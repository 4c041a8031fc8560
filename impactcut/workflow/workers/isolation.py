"""Measuring clips in processes of their own, so that a clip can harm none but itself.

A measuring process has one clip at a time. It is used for the next clip while all goes well,
which saves the half second that starting one costs, and is replaced when it crashes, stands
still, takes too much memory, or has done its share of clips.
"""

from __future__ import annotations

import json
import os
import pickle
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
from impactcut.workflow.scan.tasks import Report, StoppedError
from impactcut.workflow.workers.child import IDLE_SECONDS, Measured, Raised, Ready, Returned
from impactcut.workflow.workers.losses import crashed, hung, too_big

MOST_CALLS = 100
"""Clips after which a process is replaced, so that what libraries leak stays small."""
_READING_RATE = 10e6
"""Bytes a second at which a clip is read at the very least, engineering choice: before the first
frame is measured, finding how frames are spaced may take reading the whole file."""
_POLL_SECONDS = 0.2
_START_SECONDS = 120.0
_END_SECONDS = 0.5
_SCRIPT = (
    "import json, sys; sys.path[:] = json.loads(sys.argv[1]); "
    "from impactcut.workflow.workers.child import main; main()"
)
_ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")


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


class _Gone:
    """The process has ended."""


class MeasuringProcess:
    """One process that measures clips, one at a time.

    Parameters
    ----------
    limits : Limits
        Of each call, from the next on.

    Raises
    ------
    WorkerError
        If the system gives none.
    """

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._replies: SimpleQueue[Any] = SimpleQueue()
        self._stopped = False
        self._rested = time.monotonic()
        self.calls = 0
        with ExitStack() as opened:
            try:
                self._complaints = opened.enter_context(TemporaryFile())
                self._process = _begin(self._complaints)
            except OSError as error:
                raise _not_starting(str(error)) from error
            opened.pop_all()
        assert self._process.stdout is not None
        arguments = (self._process.stdout, self._replies)
        threading.Thread(target=_listen, args=arguments, daemon=True).start()

    def wait_until_ready(self) -> None:
        """Wait until the process can take calls.

        Raises
        ------
        WorkerError
            If it does not start.
        """
        with suppress(Empty):
            if isinstance(self._replies.get(timeout=_START_SECONDS), Ready):
                return
        if self._stopped:
            raise StoppedError
        raise _not_starting(self._last_words() or "no reason given")

    def call(
        self, path: Path, function: Callable[..., Any], arguments: tuple[Any, ...], report: Report
    ) -> Returned | Raised:
        """Have ``function(*arguments, report)`` called there; it is about the file ``path``.

        Raises
        ------
        LostProcessError
            If the process crashes, or the call exceeds the limits. It cannot be used again then.
        StoppedError
            If it is closed meanwhile.
        """
        self.calls += 1
        self._send(pickle.dumps((self.limits.threads, function, arguments)))
        patience = self.limits.patience
        due = time.monotonic() + patience + _size(path) / _READING_RATE
        while True:
            match self._next_reply():
                case Returned() | Raised() as reply:
                    self._rested = time.monotonic()
                    return reply
                case Measured(frames):
                    report(frames)
                    due = time.monotonic() + patience
                case _Gone():
                    self._process.wait()
                    raise self._with_last_words(crashed(path, self._process.returncode))
            if time.monotonic() > due:
                raise hung(path, patience)
            if self.memory() > self.limits.memory:
                raise too_big(path, self.limits.memory)

    def memory(self) -> int:
        """Bytes of main memory that it takes now."""
        with suppress(psutil.Error):
            return int(psutil.Process(self._process.pid).memory_info().rss)
        return 0

    def usable(self) -> bool:
        """Whether it may be given another clip."""
        small = self.memory() < self.limits.memory // 2
        fresh = time.monotonic() - self._rested < IDLE_SECONDS / 2
        return self._process.poll() is None and self.calls < MOST_CALLS and small and fresh

    def close(self) -> None:
        """End it at once; one that hangs in the system on a dead disk is left behind."""
        self._stopped = True
        self._process.kill()
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(_END_SECONDS)
        with suppress(OSError):
            self._stdin().close()
        self._complaints.close()

    def _next_reply(self) -> Any:
        if self._stopped:
            raise StoppedError
        try:
            reply = self._replies.get(timeout=_POLL_SECONDS)
        except Empty:
            return None
        if self._stopped:
            raise StoppedError
        return reply

    def _send(self, call: bytes) -> None:
        with suppress(OSError):  # it has died: the reply says so
            pickle.dump(call, self._stdin())
            self._stdin().flush()

    def _stdin(self) -> Any:
        assert self._process.stdin is not None
        return self._process.stdin

    def _with_last_words(self, error: LostProcessError) -> LostProcessError:
        if words := self._last_words():
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
        env={**os.environ, **_ONE_THREAD},
        start_new_session=True,
    )


def _not_starting(reason: str) -> WorkerError:
    return WorkerError(
        f"a process for measuring does not start ({reason}); "
        "close other programs, or take fewer --jobs"
    )


def _listen(stream: BinaryIO, replies: SimpleQueue[Any]) -> None:
    with stream:
        try:
            while True:
                replies.put(pickle.load(stream))
        except Exception:  # the end, or what a crash left of a reply
            replies.put(_Gone())


def _size(path: Path) -> int:
    with suppress(OSError):
        return path.stat().st_size
    return 0
