"""On a worker of a Dask cluster: measuring clips in processes beside the worker.

A clip that crashes or hangs costs one of those processes and never the worker, so a worker that is
lost is a machine that is lost. Dask then begins its clips elsewhere by itself, as often as its
scheduler is set to; a clip begun a second time ends here at once, as lost, so that the rules for
trying again are the project's own and the same as on one machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from time import monotonic
from typing import Any

import psutil
from distributed import Event, Worker, WorkerPlugin, get_worker

from impactcut import __version__
from impactcut.errors import LostProcessError, UnreadableMediaError, WorkerError
from impactcut.media.probe.versions import library_versions
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.scan.analyse import AnalysisSettings, measured_with
from impactcut.workflow.scan.clips_to_measure import Analyse
from impactcut.workflow.workers.child_process import Raised, Returned
from impactcut.workflow.workers.measuring_processes import MeasuringProcesses
from impactcut.workflow.workers.this_machine import shared_limits

REPORT_SECONDS = 2.0
"""Between reports on one clip: a scheduler hears of many, and keeps what it heard."""


@dataclass(frozen=True)
class Job:
    """A clip to measure in a process on a worker.

    Parameters
    ----------
    scan, attempt : str
        Names of the scan and of this job on the cluster.
    shown, there : str
        Path of the clip for the one who scans, and for the workers.
    digest : str
        Of the clip's content; empty if it is not known.
    versions : dict
        That the worker must have.
    """

    scan: str
    attempt: str
    shown: str
    there: str
    digest: str
    versions: dict[str, str]
    analyse: Analyse
    settings: AnalysisSettings


class Measuring(WorkerPlugin):
    """Keeps the measuring processes of one scan on a worker, and ends them with the scan.

    Parameters
    ----------
    name : str
        Of the scan.
    patience : float
        Seconds without a frame.
    memory : int or None
        Bytes that measuring a clip may take; None for a thread's share of the worker's.
    """

    def __init__(self, name: str, patience: float, memory: int | None) -> None:
        self.name = name
        self._patience = patience
        self._memory = memory
        self.processes: MeasuringProcesses | None = None

    def setup(self, worker: Worker) -> None:
        """Make ready on a worker."""
        whole = worker.memory_manager.memory_limit or psutil.virtual_memory().total
        threads = worker.state.nthreads
        limits = shared_limits(threads, self._patience, self._memory, whole)
        self.processes = MeasuringProcesses(limits)

    def teardown(self, worker: Worker) -> None:
        """End whatever is being measured."""
        if self.processes is not None:
            self.processes.close()


def run_on_worker(job: Job) -> Returned | Raised:
    """Do a job; frames measured go out as events of its scan.

    What is raised here, and not returned, is not about the clip.

    Raises
    ------
    WorkerError
        If the worker differs from what the job wants, or cannot start processes.
    """
    worker = get_worker()
    check_versions(job.versions, {worker.address: versions_here()})
    begun = Event(job.attempt)
    lost = begun.is_set()
    begun.set()
    try:
        if lost:
            return Raised(lost_worker(job.shown))
        _check_file(job, worker.address)
        return Returned(_measured(job, worker))
    except WorkerError as error:
        raise WorkerError(f"worker {worker.address}: {error}") from error
    except Exception as error:
        return Raised(error)
    finally:
        begun.clear()


def versions_here() -> dict[str, str]:
    """Versions of everything here that results depend on, or talking to each other does."""
    own = {"impactcut": __version__, "impactcut's measurement": measured_with()}
    return own | library_versions() | {"Dask's distributed": version("distributed")}


def check_versions(wanted: dict[str, str], found: dict[str, dict[str, str]]) -> None:
    """Compare the versions of workers, by their addresses, with those wanted.

    Raises
    ------
    WorkerError
        If they differ.
    """
    for worker, there in sorted(found.items()):
        for name, here in wanted.items():
            if there.get(name) != here:
                raise WorkerError(
                    f"{name} is {here} here, but {there.get(name, 'none')} on the worker {worker}: "
                    "results would not be the same; install the same versions on all machines"
                )


def lost_worker(shown: str) -> LostProcessError:
    """The worker that measured a clip went away."""
    return LostProcessError(
        f"{shown}: the worker that measured it was lost; "
        "look at that machine and its worker's log, or scan the clip without --cluster"
    )


def _measured(job: Job, worker: Worker) -> Any:
    last = 0.0

    def report(frames: int) -> None:
        nonlocal last
        if monotonic() - last >= REPORT_SECONDS:
            last = monotonic()
            worker.log_event(job.scan, [job.attempt, frames])

    plugin = worker.plugins[job.scan]
    assert isinstance(plugin, Measuring) and plugin.processes is not None
    path = Path(job.there)
    return plugin.processes.call(path, job.analyse, (path, job.settings), report)


def _check_file(job: Job, worker: str) -> None:
    try:
        found = fingerprint(Path(job.there))
    except UnreadableMediaError as error:
        reason = getattr(error.__cause__, "strerror", None) or "it cannot be read"
        raise _unseen(
            job, f"the worker {worker} cannot open it as {job.there} ({reason})"
        ) from error
    if job.digest not in ("", found.digest):
        raise _unseen(job, f"the worker {worker} has another file as {job.there}")


def _unseen(job: Job, wrong: str) -> UnreadableMediaError:
    folder = Path(job.shown).parent
    return UnreadableMediaError(
        f"{job.shown}: {wrong}; say what the workers call its folder: --map {folder}=FOLDER_THERE"
    )
