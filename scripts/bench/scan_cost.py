"""Cost of a scan against decoding alone: time and peak memory, as ratios in one run.

    python scripts/bench/scan_inputs.py FOLDER
    python scripts/bench/scan_cost.py CLIP... [--runs 5] [--farneback]
    python scripts/bench/scan_cost.py CLIP... --memory

Each run is a process of its own, so that peak memory is that of the work alone, with the threads
that a scan of one clip has. Decoding alone uses the same library and threads and touches no pixel.
The kinds of work take turns, and a ratio is the median of those of each turn, of wall time and of
processor time, which other work on the machine disturbs less. Speed is given by the clock, and as
it would be if both cores were free and always busy. Farneback's flow on whole pictures is timed on
a few intervals and scaled up. With ``--memory`` each clip is scanned once, for its peak alone.
"""

from __future__ import annotations

import importlib
import itertools
import os
import resource
import statistics
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

from measuring import asked, load, timed

FARNEBACK_INTERVALS = 3
CORES = 2
ONE = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MALLOC_ARENA_MAX")
"""Set to one in measuring processes too (`impactcut.workflow.workers.measuring_processes`)."""


class Cost(NamedTuple):
    """Seconds by the clock and of the processor for a clip, and peak MiB."""

    wall: float
    processor: float
    memory: float


def decode_only(path: Path) -> None:
    """Decode every frame and drop it."""
    import av

    from impactcut.media.decode.packets import use_threads

    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        use_threads(stream)
        for _ in container.decode(stream):
            pass


def measure_only(path: Path) -> None:
    """Decode, shrink, flow and camera, without looking for hits."""
    from impactcut.media.decode.frames import read_frames
    from impactcut.media.measure.stretches import measure
    from impactcut.media.probe.container import probe

    for _ in measure(read_frames(path), probe(path).rate):
        pass


def scan(path: Path) -> None:
    """Analyse the clip as `impactcut scan` does."""
    from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip

    analyse_clip(path, AnalysisSettings())


def farneback(path: Path) -> None:
    """Farneback's flow on a few whole pictures."""
    import av
    import cv2

    with av.open(str(path)) as container:
        frames = (frame.to_ndarray(format="gray") for frame in container.decode(video=0))
        for one, other in itertools.pairwise(itertools.islice(frames, FARNEBACK_INTERVALS + 1)):
            cv2.calcOpticalFlowFarneback(one, other, None, 0.5, 3, 15, 3, 5, 1.2, 0)


WORK = {"decode": decode_only, "measure": measure_only, "scan": scan, "farneback": farneback}


def frame_count(path: Path) -> int:
    """Frames that the header states."""
    import av

    with av.open(str(path)) as container:
        return container.streams.video[0].frames


def measured(name: str, path: Path) -> Cost:
    """Cost of one run in a process of its own, without its start-up."""
    command = [sys.executable, __file__, str(path), "--work", name]
    environment = {**os.environ, **dict.fromkeys(ONE, "1")}
    run = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
    return Cost(*map(float, run.stdout.split()))


def work_once(name: str, path: Path) -> None:
    """Do one piece of work and print its cost.

    Imports come before the clock starts, and only here: a process's peak counts in its children's.
    """
    from impactcut.media.decode.threads import limit_threads, processors
    from impactcut.workflow.workers.child_process import PRELOADED

    for module in ("impactcut.workflow.scan.analyse", *PRELOADED):
        importlib.import_module(module)
    limit_threads(processors())
    with timed() as spent:
        WORK[name](path)
    scale = frame_count(path) / FARNEBACK_INTERVALS if name == "farneback" else 1.0
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(spent.wall * scale, spent.processor * scale, peak)


def row(path: Path, names: list[str], count: int) -> str:
    """A clip's line of the table."""
    runs = [{name: measured(name, path) for name in names} for _ in range(count)]

    def median(name: str, clock: str) -> float:
        return statistics.median(getattr(run[name], clock) for run in runs)

    def ratio(name: str, below: str, clock: str) -> float:
        return statistics.median(
            getattr(run[name], clock) / getattr(run[below], clock) for run in runs
        )

    frames = frame_count(path)
    cells = [f"{path.name:22}", f"{median('decode', 'processor') / frames * 1000:6.1f}"]
    for name in ("measure", "scan"):
        cells.append(
            f"{ratio(name, 'decode', 'wall'):6.2f} {ratio(name, 'decode', 'processor'):6.2f}"
        )
    seconds = frames / 24
    free = CORES * seconds / median("scan", "processor")
    cells.append(f"{seconds / median('scan', 'wall'):5.1f} {free:5.1f}")
    cells.append(f"{max(run['scan'].memory for run in runs):5.0f}")
    if "farneback" in names:
        cells.append(f"{ratio('farneback', 'scan', 'processor'):6.0f}")
    return "  ".join(cells)


def main() -> None:
    """Measure, or do one piece of work and print its cost."""
    options = asked(__doc__, "clips+", runs=5, farneback=False, memory=False, work="")
    if options.work:
        work_once(options.work, options.clips[0])
        return
    print(f"{load()}; ratios wall, processor")
    if options.memory:
        for path in options.clips:
            print(f"{path.name:22}  {measured('scan', path).memory:5.0f} MiB", flush=True)
        return
    names = ["decode", "measure", "scan", *(["farneback"] if options.farneback else [])]
    print(f"{'clip':22}  ms/frame  measure/decode  scan/decode  x24fps  free   MiB  farneback/scan")
    for path in options.clips:
        print(row(path, names, options.runs), flush=True)


if __name__ == "__main__":
    main()
