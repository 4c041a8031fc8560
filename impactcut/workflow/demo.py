"""The sample scenario: rendered if absent, and what is found in it held against its truth."""

from __future__ import annotations

import importlib.util
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import impactcut
from impactcut.core.fight.entries import ClipEntry
from impactcut.core.time.matching import count_matches
from impactcut.errors import OutputError

WITHIN_FRAMES = 1
_RENDERER = Path("warehouse") / "render.py"


@dataclass(frozen=True)
class DemoScore:
    """Hits staged in the sample scenario, hits found, and pairs of them within a frame."""

    staged: int
    found: int
    matched: int


def find_renderer() -> Path:
    """The script that renders the sample scenario: of the source tree, or as installed.

    Raises
    ------
    OutputError
        If there is none.
    """
    places = [Path(impactcut.__file__).resolve().parent.parent / "samples"]
    installed = importlib.util.find_spec("impactcut_samples")
    if installed is not None and installed.submodule_search_locations:
        places += map(Path, installed.submodule_search_locations)
    for place in places:
        if (place / _RENDERER).is_file():
            return place / _RENDERER
    raise OutputError("the sample scenario is not installed; install impactcut again")


def is_rendered(folder: Path) -> bool:
    """Whether the whole scenario is there."""
    truth = folder / "truth.json"
    return truth.is_file() and all((folder / entry["clip"]).is_file() for entry in _truth(folder))


def render_samples(folder: Path, on_line: Callable[[str], None]) -> None:
    """Render the sample scenario into ``folder``.

    Parameters
    ----------
    on_line : callable
        Called with every line that the renderer says.

    Raises
    ------
    OutputError
        If it cannot be rendered.
    """
    command = [sys.executable, str(find_renderer()), str(folder)]
    _make_folder(folder)
    last = ""
    with subprocess.Popen(
        command, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as process:
        assert process.stderr is not None
        try:
            for line in process.stderr:
                last = line.strip() or last
                on_line(last)
            process.wait()
        finally:
            _stop(process)
    if process.returncode:
        raise OutputError(
            f"{folder}: the samples could not be rendered there ({last}); "
            "check the free space, or name another folder"
        )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be made ({error.strerror}); name another folder"
        ) from error


def score_demo(folder: Path, entries: Iterable[ClipEntry]) -> DemoScore:
    """Hold the hits found in the scenario against those that were staged."""
    staged = {entry["clip"]: [hit["frame"] for hit in entry["hits"]] for entry in _truth(folder)}
    found = {
        entry.clip.name: [hit.impact.contact for hit in entry.hits]
        for entry in entries
        if entry.clip.name in staged
    }
    return DemoScore(
        staged=sum(map(len, staged.values())),
        found=sum(map(len, found.values())),
        matched=sum(
            count_matches(frames, found.get(name, []), WITHIN_FRAMES)
            for name, frames in staged.items()
        ),
    )


def _truth(folder: Path) -> list[dict[str, Any]]:
    path = folder / "truth.json"
    try:
        entries: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise OutputError(
            f"{path}: cannot be read; delete it, and 'impactcut demo' makes it anew"
        ) from error
    return entries


def _stop(process: subprocess.Popen[str]) -> None:
    """End the renderer and the processes that it started, if they still run."""
    if process.poll() is not None:
        return
    if os.name == "posix":
        os.killpg(process.pid, signal.SIGTERM)
    else:
        process.terminate()
    process.wait()
