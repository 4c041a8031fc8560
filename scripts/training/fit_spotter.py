"""Fit the spotter on the bench's clips and the project's own films, and write its weights.

    python scripts/training/fit_spotter.py BENCH OUT [--seed N] [--without SOURCE]
        [--longer X] [--seconds S]

BENCH is the folder of labelled footage; OUT gets ``trunk.onnx``, ``head.onnx``, ``second.onnx``,
``third.onnx``, ``things.onnx`` and ``manifest.json``, which go into ``impactcut/weights``,
``out_of_fold.json`` and ``odds_out_of_fold.json``, which go into ``scripts/bench/finding``, and
``table.txt``. Needs PyTorch, onnx and pymunk. With GPUs, fits go side by side on all of them (most
of an hour of two); without, one after the other on the processor's cores (days: use a machine that
has one).

Planes of clips and films are made first and kept in the folder SCRATCH of the environment. Then
eight networks are fitted, each three times with a third of all groups left out and once on
everything: a base and a rich one; a scout, which goes on from the base and is taught by both; an
other of another seed, and a second, which goes on from that and stays untaught; on films with
feints and with people who act on things, a third; and one for things, which goes on from a base of
its own and is taught by that and by the third. What is said of the groups left out decides what
confidence is worth, and is all that is reported.
"""

# ruff: noqa: E402 - the project and its renderers are found first

from __future__ import annotations

import argparse
import hashlib
import json
import os
import pickle
import platform
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "scripts/training"), str(ROOT / "samples")]

import cv2
import numpy as np
import torch
from filming.films import WITH_FEINTS
from spotter.export import export
from spotter.fit import Recipe
from spotter.judge import Bench as Scorer
from spotter.judge import calibrated, finds, reactions, reliability, table, together
from spotter.labelled import Labelled, bench_clips
from spotter.shown import Order, make_planes
from spotter.workers import Bench, fit_file, load, read_answers, run

from impactcut.core.detect.confidence import SURE, Calibration
from impactcut.core.detect.contact import peaks
from impactcut.core.detect.spotter import NOT_ASKED, SCOUT
from impactcut.weights import OTHERS

FILMS: Final = {"strike": (430, 0), "fight": (220, 320), "thing": (300, 440), "calm": (160, 240)}
"""How many films of each kind there are: without feints, and from `WITH_FEINTS` on with them."""
SHARES: Final = {
    "people": {"scout": 0.35, "second": 0.35, "third": 0.3},
    "things": {"scout": 0.125, "second": 0.125, "things": 0.75},
}
"""Who is asked about people and about things, and what each counts (`README.md`)."""
WARY: Final = ("fight", "thing", "calm")
"""Kinds of films of which those with feints are taken, too."""
RECIPES: Final = (
    Recipe("base", None, seed=1, steps=3900, films=0.33, hardens=(0.45,)),
    Recipe("rich", None, seed=2, steps=3900, films=0.42, double=0.3, hardens=(0.45,)),
    Recipe("other", None, seed=0, steps=3100),
    Recipe(
        "scout", None, seed=4, start="base", teachers=("base", "rich"), steps=5500, rate=8e-4,
        films=0.36, double=0.1, dropout=0.2, calm=1.2, hardens=(0.05, 0.5),
    ),
    Recipe(
        "second", None, seed=5, start="other", steps=3200, rate=8e-4, calm=1.3, hardens=(0.02, 0.5)
    ),
    Recipe(
        "base of things", None, seed=1, steps=3200, films=0.34, hardens=(0.45,), feints=("thing",)
    ),
    Recipe(
        "third", None, seed=2, steps=3200, films=0.42, double=0.2, hardens=(0.45,),
        plain=("strike",), feints=WARY,
    ),
    Recipe(
        "things", None, seed=4, start="base of things", teachers=("base of things", "third"),
        steps=3600, rate=8e-4, films=0.38, double=0.1, dropout=0.2, calm=1.2, hardens=(0.05, 0.5),
        feints=WARY,
    ),
)  # fmt: skip
A_GPU: Final = 2
"""Fits at once on a GPU: more only wait for one another."""


def main() -> None:
    """Make planes, fit, judge, write."""
    began = time.time()
    options = _options()
    scratch = Path(os.environ.get("SCRATCH", tempfile.gettempdir()))
    planes, results = scratch / "planes", scratch / "results"
    for folder in (planes, results, options.out):
        folder.mkdir(parents=True, exist_ok=True)
    clips = _made(options.bench, planes)
    print(f"{len(clips)} clips and films, {time.time() - began:.0f} s", flush=True)
    recipes = [
        replace(
            recipe,
            fold=fold,
            seed=recipe.seed + 10 * options.seed,
            steps=round(recipe.steps * options.longer),
            seconds=options.seconds,
            without=tuple(options.without),
        )
        for recipe in RECIPES
        for fold in (0, 1, 2, None)
    ]
    bench = Bench(tuple(clips), planes, results, began + options.seconds)
    lines = run(recipes, bench, A_GPU)
    print(*lines, sep="\n", flush=True)
    _write(options, clips, results, lines)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("bench", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--without", action="append", default=[], help="a source to leave out")
    parser.add_argument("--longer", type=float, default=1.0, help="so many times the steps")
    parser.add_argument("--seconds", type=float, default=10 * 86400.0, help="for everything")
    return parser.parse_args()


def _made(bench: Path, planes: Path) -> list[Labelled]:
    """Clips and films whose planes are made; those of an earlier call are taken as they are."""
    known = planes / "clips.pickle"
    if known.exists():
        return list(pickle.loads(known.read_bytes()))
    orders = [Order(clip, bench, planes) for clip in bench_clips(bench)]
    for kind, (without, with_feints) in FILMS.items():
        numbers = [*range(without), *range(WITH_FEINTS, WITH_FEINTS + with_feints)]
        orders += [Order((kind, number), bench, planes) for number in numbers]
    clips, wrong = make_planes(orders, os.cpu_count() or 1)
    print(*wrong, sep="\n", flush=True)
    known.write_bytes(pickle.dumps(clips))
    return clips


def _write(
    options: argparse.Namespace, clips: Sequence[Labelled], results: Path, lines: Sequence[str]
) -> None:
    """The weights with their manifest, and the table of what was not seen by a fit."""
    scorer = Scorer.of(options.bench)
    networks = (SCOUT, *OTHERS)
    fits = [(name, fold) for name in networks for fold in (0, 1, 2, None)]
    lacking = [
        f"{name} {fold}" for name, fold in fits if not fit_file(results, name, fold).exists()
    ]
    if lacking:
        sys.exit(
            f"no weights are written: not fitted in time: {', '.join(lacking)}; give more --seconds"
        )
    rates = {clip.name: float(clip.rate) for clip in clips}
    said = together({name: read_answers(results, name) for name in networks}, SHARES, rates)
    judged = [clip for clip in clips if clip.name in said]
    every = finds(scorer, judged, said)
    slope, lift = calibrated(every)
    least = float((np.log(SURE / (1 - SURE)) - lift) / slope)
    told = table(scorer, judged, every, least)
    sure = reliability(every, (slope, lift))
    times = {f"{label} told {as_}": n for (label, as_), n in reactions(judged, said).items()}
    (options.out / "table.txt").write_text("\n".join([*told, str(sure), str(times), *lines]) + "\n")
    print(*told, sure, times, sep="\n", flush=True)
    unseen = {
        clip: [
            [peak.contact, round(Calibration(slope, lift).confidence(peak.odds), 3)]
            for peak in peaks(
                answer["odds"], np.arange(len(answer["odds"])), rates[clip], NOT_ASKED
            )
        ]
        for clip, answer in said.items()
    }
    (options.out / "out_of_fold.json").write_text(json.dumps(unseen))
    acted = [clip for clip in judged if clip.source == "acted" and clip.marks]
    odds = {
        clip.name: [round(float(each), 2) for each in said[clip.name]["odds"]] for clip in acted
    }
    (options.out / "odds_out_of_fold.json").write_text(json.dumps(odds))
    scout, *rest = (load(fit_file(results, name, None), "cpu") for name in networks)
    export(scout, dict(zip(OTHERS, rest, strict=True)), options.out)
    manifest = {
        "calibration": {"slope": round(slope, 4), "lift": round(lift, 4)},
        "shares": SHARES,
        "out of fold": told[:7],
        "confidence, finds, share right": sure,
        "reactions": times,
        **_made_of(options, clips),
    }
    (options.out / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n")


def _made_of(options: argparse.Namespace, clips: Sequence[Labelled]) -> dict[str, Any]:
    """What a fit was made of and by: for its manifest."""
    inputs = hashlib.sha256()
    for clip in sorted(clips, key=lambda clip: clip.name):
        inputs.update(clip.name.encode())
        if clip.path is not None:
            inputs.update(clip.path.read_bytes())
    sources = sorted({clip.source for clip in clips if clip.source not in options.without})
    return {
        "command": " ".join(["scripts/training/fit_spotter.py", *sys.argv[1:]]),
        "date": time.strftime("%Y-%m-%d"),
        "seed": options.seed,
        "sources": sources,
        "inputs sha256": inputs.hexdigest(),
        "clips": sum(clip.film is None for clip in clips),
        "films": sum(clip.film is not None for clip in clips),
        "versions": {
            "python": platform.python_version(), "torch": torch.__version__,
            "opencv": cv2.__version__, "numpy": np.__version__,
        },
    }  # fmt: skip


if __name__ == "__main__":
    main()
