"""What a large project costs: proposing, starting, scanning what is as it was, listing its hits.

    python scripts/bench/store.py CLIP [--clips 2000] [--hits 5000] [--runs 5] [--profile COMMAND]

CLIP is measured once, and its hits are stored over and over as those of other clips, whose files
are a few bytes each: a scan that opened one would fail. Proposals are made for all, as a scan makes
them, without a frame being decoded, and set beside reading the motion of the hits alone. Commands
run as people run them, in processes of their own that find the program compiled; times are medians:
seconds by the clock and of the processor, and starts of Python that loads nothing.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path

from measuring import asked, load, timed

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
    "export": ["export", "lists", "--proposed", "--force", "--only", "csv,edl", "--who", "bench"],
}


def fill(folder: Path, analysis: ClipAnalysis, clips: int, hits: int) -> None:
    """Write the files and the project."""
    found = [one for one in analysis.hits if one.hit.confidence >= SURE]
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
        stored = project.clips()
        with timed() as reading:
            for hit in [hit.id for clip in stored for hit in project.hits(clip.id)]:
                project.motion(hit)
        with timed() as proposing:
            for clip in stored:
                propose_for_clip(project, clip)
    ratio = proposing.processor / reading.processor
    print(
        f"{hits} hits: {proposing.processor:.1f} s of processor time to propose, "
        f"{ratio:.1f} times as long as reading their motion"
    )


def seconds(command: list[str], folder: Path, runs: int) -> tuple[float, float]:
    """Median time of a command that must succeed, by the clock and of the processor."""
    keeps = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    turns = []
    for _ in range(runs + 1):
        with timed() as spent:
            subprocess.run(command, cwd=folder, check=True, capture_output=True, env=keeps)
        turns.append((spent.wall, spent.processor))
    wall, processor = map(statistics.median, zip(*turns[1:], strict=True))
    return wall, processor


def show(folder: Path, runs: int) -> None:
    """Print the time of every command."""
    bare, _ = seconds(PYTHON, folder, runs)
    print(f"{load()}; bare Python {bare:.3f} s")
    print(f"{'':8}  clock  processor  starts of Python")
    for name, words in COMMANDS.items():
        wall, processor = seconds([*PROGRAM, *words], folder, runs)
        print(f"{name:8} {wall:6.2f} {processor:10.2f} {wall / bare:17.0f}", flush=True)


def main() -> None:
    """Fill a project and time the commands, or profile one of them."""
    options = asked(__doc__, "clip", clips=2000, hits=5000, runs=5, profile="")
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
