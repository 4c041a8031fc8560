"""Cost of a scan against decoding alone: time and peak memory, as ratios in one run.

    python scripts/bench/scan_cost.py CLIP [--runs 5]

Each run is a process of its own, so that peak memory is that of the work alone. Decoding alone
uses the same library and threads and touches no pixel.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path


def decode_only(path: Path) -> None:
    """Decode every frame and drop it."""
    import av

    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        for _ in container.decode(stream):
            pass


def scan(path: Path) -> None:
    """Analyse the clip as `impactcut scan` does."""
    from impactcut.workflow.analyse import AnalysisSettings, analyse_clip

    analyse_clip(path, AnalysisSettings())


WORK = {"decode": decode_only, "scan": scan}


def measured(name: str, path: Path) -> tuple[float, float]:
    """Seconds (without start-up) and peak MiB of one run in a process of its own."""
    command = [sys.executable, __file__, str(path), "--work", name]
    shown = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    return float(shown[0]), float(shown[1])


def main() -> None:
    """Measure, or do one piece of work and print its cost."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("clip", type=Path)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--work", choices=WORK, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.work:
        start = time.perf_counter()
        WORK[options.work](options.clip)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(time.perf_counter() - start, peak)
        return
    runs = [{name: measured(name, options.clip) for name in WORK} for _ in range(options.runs)]
    ratio = statistics.median(run["scan"][0] / run["decode"][0] for run in runs)
    for name in WORK:
        seconds = statistics.median(run[name][0] for run in runs)
        print(f"{name:8} {seconds:7.2f} s  peak {max(run[name][1] for run in runs):6.0f} MiB")
    print(f"scan / decode {ratio:.2f}")


if __name__ == "__main__":
    main()
