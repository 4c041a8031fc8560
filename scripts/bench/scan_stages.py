"""Where the time of a scan goes: processor milliseconds a frame for each kind of work.

    OPENBLAS_NUM_THREADS=1 python scripts/bench/scan_stages.py CLIP... [--runs 5]

Each call of the functions below is timed by its thread's own clock, so that waiting does not count,
and the time of what it calls that is listed itself is left to that. A stage's cost is the least of
the runs, as other work on the machine only ever adds to it. What may be done side by side is done
in the thread that asks for it, as with a single processor. "elsewhere" is the rest of the process:
decoding itself, handing over, and the little that is not listed.
"""

from __future__ import annotations

import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

import av
from measuring import asked, timed

from impactcut.media.decode import frames
from impactcut.media.decode.packets import leave_out_colour, use_threads
from impactcut.media.decode.threads import limit_threads
from impactcut.media.measure import counters, flow
from impactcut.media.measure import stretches as measure
from impactcut.workflow.scan import analyse, finding, spotting

STAGES = {
    "shrink": (frames, "small_luma"),
    "flow picture": (measure, "flow_picture"),
    "flow, change": (measure, "measure_interval"),
    "cells": (flow, "cell_means"),
    "camera": (flow, "fit_camera"),
    "planes": (flow, "motion_planes"),
    "shown planes": (measure, "shown_planes"),
    "put together": (measure, "_stretch"),
    "scout": (spotting, "describe"),
    "head, others": (spotting.Opinions, "of"),
    "no jumps": (spotting, "_without_jumps"),
    "follow": (finding, "follow"),
    "bodies": (finding, "scene_of"),
    "who moves": (finding, "motion_in"),
    "splices": (finding, "skips_in"),
    "counter": (counters, "shows_counter"),
}


class Clocks:
    """Seconds of each stage, without those of the stages inside it."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = defaultdict(float)
        self._inside = threading.local()

    def timed(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """The function, its time added up under a name."""

        def call(*arguments: Any, **options: Any) -> Any:
            outer = getattr(self._inside, "seconds", 0.0)
            self._inside.seconds, start = 0.0, time.thread_time()
            try:
                return function(*arguments, **options)
            finally:
                spent = time.thread_time() - start
                self.seconds[name] += spent - self._inside.seconds
                self._inside.seconds = outer + spent

        return call


@contextmanager
def all_timed() -> Iterator[Clocks]:
    """Time every stage while the block runs."""
    clocks = Clocks()
    with ExitStack() as patches:
        for name, (module, function) in STAGES.items():
            replaced = clocks.timed(name, getattr(module, function))
            patches.enter_context(mock.patch.object(module, function, replaced))
        yield clocks


def decoding(path: Path, colour: bool) -> tuple[float, int]:
    """Processor seconds to decode a clip, and its frames."""
    with timed() as spent, av.open(str(path)) as container:
        stream = container.streams.video[0]
        use_threads(stream)
        if not colour:
            leave_out_colour(stream)
        count = sum(1 for _ in container.decode(stream))
    return spent.processor, count


def stages(path: Path) -> dict[str, float]:
    """Milliseconds a frame of each stage in one run."""
    with_colour, count = decoding(path, True)
    without, _ = decoding(path, False)
    with all_timed() as clocks, timed() as whole:
        analyse.analyse_clip(path, analyse.AnalysisSettings())
    seconds = {"decoding alone": with_colour, "without colour": without, "scan": whole.processor}
    seconds |= clocks.seconds
    seconds["elsewhere"] = whole.processor - sum(clocks.seconds.values())
    return {name: 1000 * spent / count for name, spent in seconds.items()}


def main() -> None:
    """Time clips and print a table."""
    options = asked(__doc__, "clips+", runs=5)
    limit_threads(1)
    for path in options.clips:
        runs = [stages(path) for _ in range(options.runs)]
        print(path.name)
        for name in runs[0]:
            print(f"  {name:16} {min(run[name] for run in runs):6.2f}", flush=True)


if __name__ == "__main__":
    main()
