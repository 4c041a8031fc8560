"""A Dask scheduler and workers as processes of their own, on this machine's loopback only."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from distributed import Client

LOCAL = ("--host", "127.0.0.1", "--no-dashboard")


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return int(held.getsockname()[1])


def begin(*words: str, folder: Path) -> subprocess.Popen[bytes]:
    """``dask WORDS``; what it says goes to a log in ``folder``."""
    paths = {"PYTHONPATH": str(Path(__file__).parents[3]), "TMPDIR": str(folder)}
    with (folder / "dask.log").open("ab") as log:
        return subprocess.Popen(
            [sys.executable, "-m", "dask", *words], stdout=log, stderr=log, env=os.environ | paths
        )


@contextmanager
def running(*words: str, folder: Path) -> Iterator[subprocess.Popen[bytes]]:
    """`begin`, ended at the end."""
    process = begin(*words, folder=folder)
    try:
        yield process
    finally:
        process.terminate()
        process.wait()


@contextmanager
def scheduler(folder: Path) -> Iterator[str]:
    """A scheduler; gives its address."""
    port = free_port()
    address = f"tcp://127.0.0.1:{port}"
    with running("scheduler", *LOCAL, "--port", str(port), folder=folder):
        yield address


@contextmanager
def workers(address: str, number: int, folder: Path) -> Iterator[list[subprocess.Popen[bytes]]]:
    """Workers, each a process that measures one clip at a time, ready to."""
    words = ("worker", address, *LOCAL, "--nthreads", "1", "--no-nanny")
    begun = [begin(*words, folder=folder) for _ in range(number)]
    try:
        with Client(address, timeout=60, set_as_default=False) as client:
            client.wait_for_workers(number, timeout=60)
        yield begun
    finally:
        for process in begun:
            process.terminate()
        for process in begun:
            process.wait()
