"""Inside a measuring process: calls come in, frame counts and results go out.

`impactcut.workflow.workers.measuring_processes` starts it and is the only one to talk to it. Calls
are pickled twice: the outer layer marks where one ends, so that reading it needs nothing of what
is inside.
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
from collections.abc import Callable
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


Reply = Ready | Measured | Returned | Raised


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
    _send(replies, Ready())
    with suppress(Empty):
        while True:
            _send(replies, _answer(calls.get(timeout=IDLE_SECONDS), _reporting(replies)))


def _send(replies: BinaryIO, reply: Reply) -> None:
    """Hand a reply to the parent."""
    replies.write(_packed(reply))
    replies.flush()


def _reporting(replies: BinaryIO) -> Callable[[int], None]:
    """What tells the parent of frames measured, a few times a second."""
    last = -REPORT_SECONDS

    def report(frames: int) -> None:
        nonlocal last
        if time.monotonic() - last >= REPORT_SECONDS:
            last = time.monotonic()
            _send(replies, Measured(frames))

    return report


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


def _answer(packed: bytes, report: Callable[[int], None]) -> Returned | Raised:
    try:
        threads, function, arguments = pickle.loads(packed)
        limit_threads(threads)
        return Returned(function(*arguments, report))
    except Exception as error:
        error.add_note("".join(traceback.format_exception(error)))
        return Raised(error)


def _packed(reply: Reply) -> bytes:
    """A reply in bytes that are sure to be readable; not every error of a library is."""
    try:
        packed = pickle.dumps(reply)
        if isinstance(reply, Raised):
            pickle.loads(packed)
    except Exception as error:
        told = repr(reply.error) if isinstance(reply, Raised) else repr(error)
        return pickle.dumps(Raised(RuntimeError(told)))
    return packed
