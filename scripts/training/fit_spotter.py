"""Fit the spotter on the bench's clips and the project's own films.

    python scripts/training/fit_spotter.py BENCH OUT [--plan PLAN.py] [--films N] [--seconds S]

On a machine with GPUs fits go side by side on all of them; without one they go one after the other
on the processor. Planes of clips and films are made by all cores first.
"""

from __future__ import annotations

import argparse
import os
import pickle
import runpy
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]
sys.path.insert(2, str(Path(__file__).resolve().parents[2] / "samples"))

from spotter.judge import Bench as Scorer
from spotter.judge import report
from spotter.labelled import Labelled, bench_clips
from spotter.shown import Order, make_planes
from spotter.workers import Bench, read_answers, run


def _made(options: argparse.Namespace, plan: dict[str, Any], planes: Path) -> list[Labelled]:
    """Clips and films whose planes are made; those of an earlier call are taken as they are."""
    known = planes / "clips.pickle"
    if known.exists():
        return list(pickle.loads(known.read_bytes()))
    orders = [Order(clip, options.bench, planes) for clip in bench_clips(options.bench)]
    orders = orders[:: plan.get("ONE_IN", 1)]
    for kind, (first, stop) in plan["FILMS"].items():
        orders += [Order((kind, number), options.bench, planes) for number in range(first, stop)]
    clips, wrong = make_planes(orders, os.cpu_count() or 1, options.filming)
    print(*wrong[:6], sep="\n", flush=True)
    known.write_bytes(pickle.dumps(clips))
    return clips


def main() -> None:
    """Make planes, fit, judge."""
    began = time.time()
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("bench", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--plan", type=Path)
    parser.add_argument("--seconds", type=float, default=40_000)
    parser.add_argument("--filming", type=float, default=20_000)
    options = parser.parse_args()
    plan = runpy.run_path(str(options.plan))
    scratch = Path(os.environ.get("SCRATCH", tempfile.gettempdir()))
    planes, results = scratch / "planes", scratch / "results"
    for folder in (planes, results, options.out):
        folder.mkdir(parents=True, exist_ok=True)
    clips = _made(options, plan, planes)
    print(f"{len(clips)} clips and films, {time.time() - began:.0f} s", flush=True)
    bench = Bench(tuple(clips), planes, results, began + options.seconds)
    for line in run(plan["RECIPES"], bench, plan.get("A_GPU", 1)):
        print(line, flush=True)
    scorer = Scorer.of(options.bench)
    for name in dict.fromkeys(recipe.name for recipe in plan["RECIPES"]):
        said = read_answers(results, name)
        if said:
            print(f"== {name}\n{report(scorer, clips, said)}", flush=True)


if __name__ == "__main__":
    main()
