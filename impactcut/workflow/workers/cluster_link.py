"""The connection to the scheduler of a Dask cluster, whose faults are told in plain words."""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress

from distributed import Client
from distributed.comm.core import CommClosedError
from distributed.versions import VersionMismatchWarning

from impactcut.errors import ImpactcutError, WorkerError

CONNECT_SECONDS = 8.0
_CLOSE_SECONDS = 0.5


@contextmanager
def connected(address: str) -> Iterator[Client]:
    """A client of the cluster; Dask's own reports are turned into errors here, and not printed.

    Raises
    ------
    WorkerError
        If the scheduler does not answer.
    """
    logger = logging.getLogger("distributed")
    level = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        with told_of_faults(address), warnings.catch_warnings():
            warnings.simplefilter("ignore", VersionMismatchWarning)
            client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
        try:
            yield client
        finally:
            with suppress(OSError):
                client.close(timeout=_CLOSE_SECONDS)
    finally:
        logger.setLevel(level)


@contextmanager
def told_of_faults(address: str) -> Iterator[None]:
    """Faults of the connection, in plain words."""
    try:
        yield
    except ImpactcutError:
        raise
    except (OSError, ValueError, ImportError, CancelledError, CommClosedError) as error:
        raise unreachable(address, str(error) or type(error).__name__) from error


def unreachable(address: str, reason: str) -> WorkerError:
    """The scheduler is not there, or no longer."""
    return WorkerError(
        f"{address}: the cluster's scheduler does not answer ({reason}); check the address, and "
        "that 'dask scheduler' runs there; what is measured is kept, run the same command to go on"
    )
