"""Inside a measuring process: calls come in, frame counts and results go out.

`impactcut.workflow.workers.isolation` starts it and is the only one to talk to it. Calls are
pickled twice: the outer layer marks where one ends, so that reading it needs nothing of what is
inside.
"""

from __future__ import annotations

import faulthandler
import importlib
import os
import pickle
import signal
import sys
import threading
import time
import traceback
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any, BinaryIO

from impactcut.media.decode.threads import limit_threads

PRELOADED = (
    "impactcut.media.measure.counters",
    "impactcut.media.probe.container",
    "impactcut.workflow.scan.finding",
    "impactcut.workflow.scan.spotting",
)
"""What calls need, loaded before the first: loading is not to be taken for a standstill."""
REPORT_SECONDS = 0.2
IDLE_SECONDS = 60.0
"""After which a process without a call ends: on a worker whose client has died nobody ends it."""


@dataclass(frozen=True)
class Ready:
    """The process has started and waits for its first call."""


@dataclass(frozen=True)
class Measured:
    """So many frames are measured."""

    frames: int


@dataclass(frozen=True)
class Returned:
    """The call returned that value."""

    value: Any


@dataclass(frozen=True)
class Raised:
    """The call raised that error."""

    error: Exception


class Reporter:
    """Tells the parent of frames measured, a few times a second."""

    def __init__(self, replies: BinaryIO) -> None:
        self._replies = replies
        self._lock = threading.Lock()
        self._last = -REPORT_SECONDS

    def __call__(self, frames: int) -> None:
        """Tell of frames measured so far, unless that was done a moment ago."""
        now = time.monotonic()
        if now - self._last >= REPORT_SECONDS:
            self._last = now
            self.send(Measured(frames))

    def send(self, reply: Ready | Measured | Returned | Raised) -> None:
        """Hand a reply to the parent."""
        packed = _packed(reply)
        with self._lock:
            self._replies.write(packed)
            self._replies.flush()


def main() -> None:
    """Answer calls until none has come for long."""
    incoming, replies = _own_streams()
    faulthandler.enable()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _be_the_first_to_go()
    for name in PRELOADED:
        importlib.import_module(name)
    calls: SimpleQueue[bytes] = SimpleQueue()
    threading.Thread(target=_listen, args=(incoming, calls), daemon=True).start()
    reporter = Reporter(replies)
    reporter.send(Ready())
    with suppress(Empty):
        while True:
            reporter.send(_answer(calls.get(timeout=IDLE_SECONDS), Reporter(replies)))


def _own_streams() -> tuple[BinaryIO, BinaryIO]:
    """The pipes to the parent; what libraries print goes where complaints go."""
    incoming = os.fdopen(os.dup(0), "rb")
    replies = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return incoming, replies


def _be_the_first_to_go() -> None:
    """Where memory runs out, let Linux end this process and not the one that keeps the project."""
    if sys.platform == "linux":
        with suppress(OSError):
            Path("/proc/self/oom_score_adj").write_text("1000")


def _listen(incoming: BinaryIO, calls: SimpleQueue[bytes]) -> None:
    """Pass calls on; when the parent lets go of its end, or dies, end at once."""
    while True:
        try:
            calls.put(pickle.load(incoming))
        except (EOFError, OSError):
            os._exit(0)


def _answer(packed: bytes, report: Reporter) -> Returned | Raised:
    try:
        threads, function, arguments = pickle.loads(packed)
        limit_threads(threads)
        return Returned(function(*arguments, report))
    except Exception as error:
        error.add_note("".join(traceback.format_exception(error)))
        return Raised(error)


def _packed(reply: Ready | Measured | Returned | Raised) -> bytes:
    """A reply in bytes that are sure to be readable; not every error of a library is."""
    try:
        packed = pickle.dumps(reply)
        if isinstance(reply, Raised):
            pickle.loads(packed)
    except Exception as error:
        told = repr(reply.error) if isinstance(reply, Raised) else repr(error)
        return pickle.dumps(Raised(RuntimeError(told)))
    return packed
