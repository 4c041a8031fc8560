"""What a large project costs: starting, scanning what has not changed, and listing its hits.

    python scripts/bench/store.py CLIP [--clips 2000] [--hits 5000] [--runs 5] [--profile COMMAND]

CLIP is measured once, and its hits are stored over and over as those of other clips, whose files
are a few bytes each: a scan that opened one would fail. Commands run as people run them, in
processes of their own; times are medians: seconds by the clock and of the processor, and starts of
Python that loads nothing.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path

from impactcut.core.detect.confidence import SURE
from impactcut.project import Project
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.hits.proposing import propose_for_clip
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from impactcut.workflow.scan.stated import settings_text

PYTHON = [sys.executable, "-c", "pass"]
PROGRAM = [sys.executable, "-m", "impactcut"]
COMMANDS = {
    "help": ["--help"],
    "scan": ["scan", "cards"],
    "hits": ["hits"],
    "json": ["hits", "--json"],
    "status": ["status"],
    "export": ["export", "lists", "--proposed", "--force", "--only", "csv,edl"],
}


def fill(folder: Path, analysis: ClipAnalysis, clips: int, hits: int) -> None:
    """Write the files and the project."""
    found = [(one.hit, one.motion) for one in analysis.hits if one.hit.confidence >= SURE]
    if not found:
        raise SystemExit("no sure hit was found in the clip: name one with a staged hit")
    (folder / "cards").mkdir()
    settings = settings_text(AnalysisSettings())
    with Project(folder / "impactcut.db", create=True) as project:
        for number in range(clips):
            path = folder / "cards" / f"S{number // 50}_T{number % 50}_A.mov"
            path.write_text(f"stands for clip {number}")
            clip = replace(analysis.clip, path=str(path.resolve()), name=path.name)
            some = list(islice(cycle(found), hits // clips + (number < hits % clips)))
            seen = fingerprint(path)
            project.store_clip(clip, seen, settings, some)
        for stored in project.clips():
            propose_for_clip(project, stored)


def seconds(command: list[str], folder: Path, runs: int) -> tuple[float, float]:
    """Median time of a command that must succeed, by the clock and of the processor."""
    walls, processor = [], []
    for _ in range(runs):
        before, start = os.times(), time.perf_counter()
        subprocess.run(command, cwd=folder, check=True, capture_output=True)
        walls.append(time.perf_counter() - start)
        after = os.times()
        spent = (after.children_user, after.children_system)
        processor.append(sum(spent) - before.children_user - before.children_system)
    return statistics.median(walls), statistics.median(processor)


def show(folder: Path, runs: int) -> None:
    """Print the time of every command."""
    bare, _ = seconds(PYTHON, folder, runs)
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; bare Python {bare:.3f} s")
    print(f"{'':8}  clock  processor  starts of Python")
    for name, words in COMMANDS.items():
        wall, processor = seconds([*PROGRAM, *words], folder, runs)
        print(f"{name:8} {wall:6.2f} {processor:10.2f} {wall / bare:17.0f}", flush=True)


def main() -> None:
    """Fill a project and time the commands, or profile one of them."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("clip", type=Path)
    parser.add_argument("--clips", type=int, default=2000)
    parser.add_argument("--hits", type=int, default=5000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--profile", choices=COMMANDS)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fill(folder, analyse_clip(options.clip, AnalysisSettings()), options.clips, options.hits)
        if options.profile:
            words = [*PROGRAM[1:], *COMMANDS[options.profile]]
            command = [sys.executable, "-m", "cProfile", "-s", "cumulative", *words]
            subprocess.run(command, cwd=folder, check=True)
        else:
            show(folder, options.runs)


if __name__ == "__main__":
    main()
