"""The measuring processes of one machine: started when needed, used again, ended together."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from impactcut.workflow.scan.tasks import Report, StoppedError
from impactcut.workflow.workers.child import Raised
from impactcut.workflow.workers.isolation import Limits, MeasuringProcess


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
        self._idle: list[MeasuringProcess] = []
        self._all: set[MeasuringProcess] = set()
        self._closed = False

    def call(
        self, path: Path, function: Callable[..., Any], arguments: tuple[Any, ...], report: Report
    ) -> Any:
        """What ``function(*arguments, report)`` returns or raises, called in one of them.

        Raises
        ------
        LostProcessError
            If the process crashes, or the call exceeds the limits.
        WorkerError
            If no process starts.
        StoppedError
            If all are closed meanwhile.
        """
        process = self._take()
        reply = None
        try:
            if not process.calls:
                process.wait_until_ready()
            reply = process.call(path, function, arguments, report)
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

    def _take(self) -> MeasuringProcess:
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
            process = MeasuringProcess(self.limits)
            self._all.add(process)
            return process

    def _put_back(self, process: MeasuringProcess, good: bool) -> None:
        with self._lock:
            if good and not self._closed:
                self._idle.append(process)
                return
            self._all.discard(process)
        process.close()
