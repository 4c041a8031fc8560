"""Many clips at once: clips a minute with one job and with two, memory over many clips, size and
time of what is kept of a clip.

    python scripts/bench/batch.py [--clips 12] [--runs 3] [--many 1000]

Efficiency is the time of one job over twice that of two, by the clock, in one run, and the median
of several; other work on the machine lowers it. The ratio of processor time with two jobs and with
one shows what working side by side costs by itself. The clips are 640 x 360, 96 frames of an arm
that strikes before a wall of stones (as the tests have them). Memory is of this process, which
keeps the project, and of the largest of those that measure, over the first and the last tenth of a
scan.
"""

from __future__ import annotations

import pickle
import statistics
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import psutil
from measuring import Spent, asked, load, timed

from impactcut.project import Project
from impactcut.workflow.files.find import find_media
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from impactcut.workflow.scan.clips_to_measure import Work
from impactcut.workflow.scan.keeping import keep_measured
from impactcut.workflow.scan.planning import Plan, plan_scan
from impactcut.workflow.scan.scanning import ScanOptions, scan
from impactcut.workflow.workers.this_machine import OtherProcesses
from tests.helpers.footage.staged_clips import film_swings

MIB = 1 << 20


def measured(paths: Sequence[Path], frames: int, jobs: int) -> Spent:
    """Cost of measuring clips, starting the processes included."""
    tasks = [Work(path, AnalysisSettings(), fingerprint(path), frames) for path in paths]
    with timed() as spent:
        for outcome in OtherProcesses(jobs).measure(tasks, analyse_clip, lambda *_: None):
            if outcome.error is not None:
                raise outcome.error
    return spent


def compare(name: str, paths: Sequence[Path], frames: int, runs: int) -> None:
    """Print what two jobs gain over one."""
    pairs = [(measured(paths, frames, 1), measured(paths, frames, 2)) for _ in range(runs)]
    efficiency = [one.wall / (2 * two.wall) for one, two in pairs]
    overhead = statistics.median(two.processor / one.processor for one, two in pairs)
    minute = [
        60 * len(paths) / statistics.median(pair[jobs].wall for pair in pairs) for jobs in (0, 1)
    ]
    print(
        f"{name}: {minute[0]:.1f} a minute with 1 job, {minute[1]:.1f} with 2; efficiency "
        f"{statistics.median(efficiency):.2f} (best {max(efficiency):.2f}); processor time with 2 "
        f"over 1 {overhead:.2f}",
        flush=True,
    )


@dataclass
class MemoryWatcher:
    """Takes down memory as clips end, bytes: of this process, and of the largest it has started."""

    here: list[int] = field(default_factory=list)
    there: list[int] = field(default_factory=list)

    def planned(self, plan: Plan) -> None:
        """Pass over."""

    def measured(self, path: Path, frames: int) -> None:
        """Pass over."""

    def put_off(self, work: Work, error: Exception) -> None:
        """A clip that costs a process is no clip to measure memory on."""
        raise error

    def ended(self, work: Work, error: Exception | None) -> None:
        """Take down."""
        this = psutil.Process()
        self.here.append(this.memory_info().rss)
        self.there.append(max((each.memory_info().rss for each in this.children()), default=0))


def watch_memory(folder: Path, many: int) -> None:
    """Scan many small clips and print how memory grows."""
    for number in range(many):
        film_swings(folder / f"{number}.mp4", 10, number)
    watcher = MemoryWatcher()
    options = ScanOptions(AnalysisSettings(), OtherProcesses(2))
    with Project(folder / "many.db", create=True) as project:
        scan(project, (folder,), options, watcher)
    tenth = max(1, many // 10)
    for name, bytes_taken in (("this process", watcher.here), ("measuring", watcher.there)):
        first, last = max(bytes_taken[:tenth]), max(bytes_taken[-tenth:])
        print(
            f"memory over {len(bytes_taken)} clips, {name}: {first / MIB:.0f} MiB in the first "
            f"tenth, {last / MIB:.0f} in the last, ratio {last / first:.2f}",
            flush=True,
        )


def weigh(folder: Path, clips: Sequence[Path]) -> None:
    """Print the size of a clip's results, and the processor time of making and keeping them."""
    file = folder / "weighed.db"
    with Project(file, create=True) as project:
        plan = plan_scan(project, find_media(clips).candidates, AnalysisSettings())
    empty = file.stat().st_size
    sent, spent = [], []
    with Project(file) as project:
        for work in plan.work:
            with timed() as analysing:
                analysis = analyse_clip(work.path, AnalysisSettings())
            sent.append(len(pickle.dumps(analysis)))
            with timed() as keeping:
                keep_measured(project, work, analysis)
            with timed() as storing:
                project.store_clip(analysis.clip, work.before, "{}", analysis.hits)
            spent.append([each.processor for each in (analysing, keeping, storing)])
            hits = len(analysis.hits)
    measuring, keeping_it, storing_it = map(statistics.median, zip(*spent, strict=True))
    print(
        f"a clip of 96 frames with some {hits} hits: {statistics.mean(sent) / 1024:.0f} KiB sent, "
        f"{(file.stat().st_size - empty) / len(clips) / 1024:.0f} KiB kept; processor time "
        f"{measuring:.2f} s to measure, {keeping_it:.3f} s to propose and keep, of which "
        f"{storing_it:.3f} s to store what was measured",
        flush=True,
    )


def main() -> None:
    """Measure everything in one run."""
    options = asked(__doc__, clips=12, runs=3, many=1000)
    print(load())
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        clips = [film_swings(folder / f"{n}.mp4", 96, n, 640) for n in range(options.clips)]
        weigh(folder, clips[:4])
        compare("clips", clips, 96, options.runs)
        (folder / "many").mkdir()
        watch_memory(folder / "many", options.many)
    print(f"at the end: {load()}")


if __name__ == "__main__":
    main()
