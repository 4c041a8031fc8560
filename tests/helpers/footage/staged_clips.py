"""Small real media files, and stand-ins for measuring them, for tests of the layers above.

The stand-ins read the file through `probe`, and then say that there is a hit in the middle.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np

from impactcut.core.detect.hits import FoundHit
from impactcut.core.time.timebase import parse_timebase
from impactcut.media.probe.container import TakeStated, frames_stated, probe, take_stated
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from tests.helpers.footage.filmed_motion import arm
from tests.helpers.footage.media_files import write_planes
from tests.helpers.projects.project_values import make_hit, make_motion

Report = Callable[[int], None] | None
FRAMES = 80


def film(path: Path, frames: int = FRAMES, rate: int = 24, seed: int = 0) -> Path:
    """Write a clip of noise."""
    path.parent.mkdir(parents=True, exist_ok=True)
    random = np.random.default_rng(seed)
    with av.open(str(path), "w", format="mov") as container:
        stream = container.add_stream("mpeg4", rate=rate)
        stream.width, stream.height = 64, 36
        for _ in range(frames):
            pixels = random.integers(0, 255, (36, 64, 3), dtype=np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(pixels, format="rgb24")))
        container.mux(stream.encode(None))
    return path


def swings(frames: int, every: int = 40) -> list[float]:
    """Places (pixels of 320) of an arm that strikes out, stops dead and is drawn back."""
    phases = [frame % every for frame in range(frames)]
    return [70.0 + 26 * min(max(phase - 12, 0), 7, (every - phase) / 1.5) for phase in phases]


def film_swings(path: Path, frames: int = FRAMES, shift: int = 0, width: int = 96) -> Path:
    """Write a clip of such an arm, in which hits are found."""
    path.parent.mkdir(parents=True, exist_ok=True)
    return write_planes(path, arm(swings(frames + shift)[shift:], camera=0.3, width=width))


def measure(path: Path, settings: AnalysisSettings, report: Report = None) -> ClipAnalysis:
    """One hit in the middle of the clip."""
    stated = None if settings.rate is None else parse_timebase(settings.rate)
    clip = probe(path, rate=stated, reel=settings.reel)
    if report is not None:
        for frame in range(1, clip.frames + 1):
            report(frame)
    contact = clip.frames // 2
    found = FoundHit(make_hit(contact), make_motion(contact, clip.rate))
    return ClipAnalysis(clip, (found,))


def measure_or_fail(path: Path, settings: AnalysisSettings, report: Report = None) -> ClipAnalysis:
    """Clips whose name begins with ``fault`` hit a fault of the program."""
    if path.name.startswith("fault"):
        raise ZeroDivisionError("something nobody thought of")
    return measure(path, settings, report)


def measure_badly(path: Path, settings: AnalysisSettings, report: Report = None) -> ClipAnalysis:
    """Names say what goes wrong: ``crash``, ``hang``, ``swell``; ``once-`` only the first time.

    Every call leaves a mark beside the clip with the number of its process.
    """
    marks = sorted(path.parent.glob(f"{path.name}.*.call"))
    path.with_name(f"{path.name}.{len(marks)}-{os.getpid()}.call").touch()
    bad = path.name.removeprefix("once-")
    if bad == path.name or not marks:
        _go_wrong(bad, report)
    return measure(path, settings, report)


def count_badly(path: Path, report: Report = None) -> int:
    """Names that begin with ``crash`` or ``open`` crash whoever opens the file."""
    if path.name.startswith(("crash", "open")):
        signal.raise_signal(signal.SIGSEGV)
    return frames_stated(path)


def say_badly(path: Path, report: Report = None) -> TakeStated | None:
    """Names that begin with ``say`` crash whoever asks a file which take it is."""
    if path.name.startswith("say"):
        signal.raise_signal(signal.SIGSEGV)
    return take_stated(path)


def _go_wrong(name: str, report: Report) -> None:
    if name.startswith("crash"):
        signal.raise_signal(signal.SIGSEGV)
    if name.startswith("hang"):
        if report is not None:
            report(1)
        time.sleep(600)
    if name.startswith("swell"):
        held = np.ones(100_000_000)
        time.sleep(600)
        held.sum()


def analyse_the_second_time(
    path: Path, settings: AnalysisSettings, report: Report = None
) -> ClipAnalysis:
    """Analyse; clips whose name begins with ``once-`` stand still when they are begun first.

    A mark beside the clip has the number of the process above, a worker's on a cluster.
    """
    mark = path.with_suffix(".pid")
    if path.name.startswith("once-") and not mark.exists():
        mark.with_suffix(".new").write_text(str(os.getppid()))
        mark.with_suffix(".new").rename(mark)
        time.sleep(600)
    return analyse_clip(path, settings, report)


def measure_slowly(path: Path, settings: AnalysisSettings, report: Report = None) -> ClipAnalysis:
    """Clips whose name begins with ``waits`` take half a minute, and leave a mark at the end."""
    if path.name.startswith("waits"):
        for frame in range(300):
            time.sleep(0.1)
            if report is not None:
                report(frame)
        path.with_suffix(".done").touch()
    return measure(path, settings, report)
