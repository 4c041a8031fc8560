"""Who measures the clips of a scan, by the options of the command."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from impactcut.cli.program import complain
from impactcut.errors import WorkerError

if TYPE_CHECKING:
    from impactcut.cli.options.common import Common
    from impactcut.workflow.workers.cluster import DaskCluster
    from impactcut.workflow.workers.this_machine import OtherProcesses

_MOST_JOBS = 4
_GIB = 1 << 30
_ADDRESS = re.compile(r"(tcp|tls)://\S+:\d{1,5}")


def local_executor(
    jobs: int | None, patience: float | None = None, memory: float | None = None
) -> OtherProcesses:
    """Processes on this machine; by default one for each processor, within reason.

    ``patience`` is in seconds, ``memory`` in GiB.
    """
    from impactcut.media.decode.threads import processors
    from impactcut.workflow.workers.this_machine import PATIENCE_SECONDS, OtherProcesses

    jobs = jobs or min(processors(), _MOST_JOBS)
    return OtherProcesses(jobs, patience or PATIENCE_SECONDS, _bytes(memory))


def chosen_executor(
    cluster: str | None, mappings: Sequence[str], memory: float | None, common: Common
) -> OtherProcesses | DaskCluster:
    """Processes on this machine, or the cluster if its scheduler's address is given."""
    if cluster is None:
        if mappings:
            raise click.UsageError("--map says what workers see: it goes with --cluster")
        return local_executor(common.jobs, common.patience, memory)
    if common.jobs is not None:
        raise click.UsageError(
            "how many clips a cluster measures at once is for its workers to say "
            "('dask worker --nthreads'): leave --jobs out"
        )
    return cluster_executor(cluster, mappings, memory, common)


def cluster_executor(
    address: str, mappings: Sequence[str], memory: float | None, common: Common
) -> DaskCluster:
    """The workers of the scheduler at ``address``; ``memory`` in GiB."""
    from impactcut.workflow.scan.clips_to_measure import untold
    from impactcut.workflow.workers.mapping import read_mounts
    from impactcut.workflow.workers.this_machine import PATIENCE_SECONDS

    if not _ADDRESS.fullmatch(address):
        raise click.UsageError(
            f"--cluster {address}: is no address of a scheduler; say tcp://HOST:PORT, "
            "such as tcp://depot:8786"
        )
    mounts = read_mounts(mappings)
    try:
        from impactcut.workflow.workers.cluster import DaskCluster
    except ImportError as error:
        raise WorkerError(
            "--cluster needs Dask; install it into the Python that runs this program: "
            "python -m pip install 'distributed>=2024.5'"
        ) from error
    patience, tell = common.patience or PATIENCE_SECONDS, untold if common.quiet else complain
    return DaskCluster(address, mounts, patience, _bytes(memory), tell=tell)


def _bytes(gib: float | None) -> int | None:
    return None if gib is None else int(gib * _GIB)
