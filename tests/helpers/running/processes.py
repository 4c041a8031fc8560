"""Running Python in processes of its own, for tests of files that several processes use."""

from __future__ import annotations

import encodings.cp437  # noqa: F401  NumPy's archives need it
import os
import subprocess
import sys
from pathlib import Path

_NOBODY = 65534


def run_python(code: str, *arguments: str | Path) -> str:
    """What ``code`` prints, run with ``arguments`` in a process of its own."""
    command = [sys.executable, "-c", code, *map(str, arguments)]
    paths = {"PYTHONPATH": str(Path(__file__).parents[3])}
    done = subprocess.run(command, capture_output=True, text=True, env=os.environ | paths)
    assert done.returncode == 0, done.stderr
    return done.stdout


def become_somebody_whom_permissions_stop() -> None:
    """Give up root, in a process of the test's own; what it imports must be imported already."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(_NOBODY)
        os.setuid(_NOBODY)
