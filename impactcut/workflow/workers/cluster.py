"""Having clips measured by the workers of a Dask cluster."""

from __future__ import annotations

import math
import time
import uuid
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from threading import Thread
from typing import Any, Self, TypeVar

from distributed import Client, KilledWorker
from distributed.cfexecutor import ClientExecutor
from distributed.comm.core import CommClosedError

from impactcut.errors import WorkerError
from impactcut.workflow.scan.analyse import ClipAnalysis
from impactcut.workflow.scan.clips_to_measure import (
    Analyse,
    OnFrames,
    Outcome,
    Report,
    Tell,
    Work,
    untold,
)
from impactcut.workflow.workers.child_process import Raised, Returned
from impactcut.workflow.workers.cluster_link import connected, told_of_faults, unreachable
from impactcut.workflow.workers.cluster_worker import (
    Job,
    Measuring,
    check_versions,
    lost_worker,
    run_on_worker,
    versions_here,
)
from impactcut.workflow.workers.mapping import (
    Mount,
    analysis_seen_here,
    error_seen_here,
    seen_there,
)
from impactcut.workflow.workers.this_machine import PATIENCE_SECONDS, OtherProcesses, gathered

WORKERS_SECONDS = 300.0
"""How long a scan waits for workers when there are none: queues of clusters take minutes."""
_COUNT_SECONDS = 1.0
_END_SECONDS = 1.0
_AHEAD = 2
"""Clips sent for each thread of the cluster, so that none waits for its next clip."""


Made = TypeVar("Made")


@dataclass(frozen=True)
class DaskCluster:
    """Measures clips on the workers of a Dask cluster; opens files in a process on this machine.

    Parameters
    ----------
    address : str
        Of the scheduler, such as ``tcp://depot:8786``.
    mounts : tuple of Mount
        Where workers see the media, if elsewhere.
    patience, memory
        As for `OtherProcesses`; without ``memory``, a thread's share of its worker's.
    tell : callable
        Called with what the user should know while waiting.
    """

    address: str
    mounts: tuple[Mount, ...] = ()
    patience: float = PATIENCE_SECONDS
    memory: int | None = None
    tell: Tell = untold
    _beside: OtherProcesses = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_beside", OtherProcesses(1, self.patience, self.memory))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._beside.close()

    def call(self, path: Path, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        """Call in another process on this machine."""
        return self._beside.call(path, function, arguments)

    def measure(
        self, clips: Sequence[Work], analyse: Analyse, on_frames: OnFrames, alone: bool = False
    ) -> Generator[Outcome, None, None]:
        """Measure clips; outcomes come as they are ready. Closing it ends all, on workers too.

        How many a worker takes at once is for who starts it to say, ``alone`` or not.

        Raises
        ------
        WorkerError
            If the cluster cannot be reached or has no workers for long, or a worker differs from
            this machine in a version.
        """
        with connected(self.address) as client, _Scan(client, self) as scan:

            def begin(work: Work, report: Report) -> Future[ClipAnalysis]:
                future = scan.submit(work, analyse, report)
                return _made_of(future, partial(analysis_seen_here, self.mounts, work))

            yield from gathered(clips, begin, _Room(client, self).clips, on_frames)


class _Scan:
    """What one scan has on the cluster, for as long as it is entered."""

    def __init__(self, client: Client, cluster: DaskCluster) -> None:
        self._client = client
        self._cluster = cluster
        self._name = f"impactcut-{uuid.uuid4().hex}"
        self._versions = versions_here()
        self._reports: dict[str, Report] = {}
        self._executor = ClientExecutor(client, pure=False)

    def __enter__(self) -> _Scan:
        """Check the workers and make them ready."""
        with told_of_faults(self._cluster.address):
            found = self._client.run(versions_here, on_error="return")
            told = {name: each if isinstance(each, dict) else {} for name, each in found.items()}
            check_versions(self._versions, told)
            self._client.subscribe_topic(self._name, self._hear)
            plugin = Measuring(self._name, self._cluster.patience, self._cluster.memory)
            self._client.register_plugin(plugin)
        return self

    def __exit__(self, *_: object) -> None:
        """End what is under way; a cluster that does not answer is not waited for."""
        ending = Thread(target=self._end, daemon=True)
        ending.start()
        ending.join(_END_SECONDS)

    def submit(self, work: Work, analyse: Analyse, report: Report) -> Future[Any]:
        """Have a clip measured in a process on a worker."""
        job = Job(
            scan=self._name,
            attempt=uuid.uuid4().hex,
            shown=str(work.path),
            there=seen_there(work.path, self._cluster.mounts),
            digest=work.before.digest,
            versions=self._versions,
            analyse=analyse,
            settings=work.settings,
        )
        self._reports[job.attempt] = report
        return _made_of(self._executor.submit(run_on_worker, job), partial(self._ended, job))

    def _ended(self, job: Job, future: Future[Returned | Raised]) -> Any:
        """What a job returned; raises what it raised, in words for this machine."""
        del self._reports[job.attempt]
        if future.cancelled():
            raise unreachable(self._cluster.address, "the connection was lost")
        error = future.exception()
        if isinstance(error, KilledWorker):
            raise lost_worker(job.shown)
        if isinstance(error, WorkerError):
            raise error
        if error is not None:
            raise WorkerError(
                f"{self._cluster.address}: its workers cannot do what they are sent ({error!r}); "
                "install the same impactcut, with its extra 'cluster', on all machines"
            )
        reply = future.result()
        if isinstance(reply, Raised):
            raise error_seen_here(reply.error, job.shown, job.there)
        return reply.value

    def _hear(self, event: tuple[float, tuple[str, int]]) -> None:
        attempt, frames = event[1]
        if report := self._reports.get(attempt):
            report(frames)

    def _end(self) -> None:
        with suppress(OSError, ValueError, CommClosedError):
            self._executor.shutdown(wait=False)
            self._client.unregister_worker_plugin(self._name)


class _Room:
    """How many clips the cluster can take, counted now and then."""

    def __init__(self, client: Client, cluster: DaskCluster) -> None:
        self._client = client
        self._cluster = cluster
        self._counted = -math.inf
        self._threads = 0
        self._empty_since: float | None = None

    def clips(self) -> int:
        """Clips that may be under way now.

        Raises
        ------
        WorkerError
            If there have been no workers for `WORKERS_SECONDS`, or the scheduler is gone.
        """
        now = time.monotonic()
        if now - self._counted >= _COUNT_SECONDS:
            with told_of_faults(self._cluster.address):
                self._threads = sum(self._client.nthreads().values())
            self._counted = now
            self._heed_emptiness(now)
        return self._threads * _AHEAD

    def _heed_emptiness(self, now: float) -> None:
        address = self._cluster.address
        start = f"start some with 'dask worker {address}'"
        if self._threads:
            self._empty_since = None
        elif self._empty_since is None:
            self._empty_since = now
            self._cluster.tell(
                f"{address}: the cluster has no workers; {start}; waiting for them, Ctrl-C stops"
            )
        elif now - self._empty_since > WORKERS_SECONDS:
            raise WorkerError(
                f"{address}: the cluster has had no workers for {WORKERS_SECONDS:.0f} s; "
                f"{start}; what is measured is kept"
            )


def _made_of(future: Future[Any], make: Callable[[Future[Any]], Made]) -> Future[Made]:
    """What ``make`` makes of ``future`` once that has ended, in whatever way.

    ``make`` runs in the thread that ends ``future``, so it has to be quick.
    """
    made: Future[Made] = Future()

    def ended(future: Future[Any]) -> None:
        try:
            made.set_result(make(future))
        except BaseException as error:
            made.set_exception(error)

    future.add_done_callback(ended)
    return made
