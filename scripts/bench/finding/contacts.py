"""Contact frames: impactcut against three scripts a person would write, on the same clips.

    python -m scripts.bench.finding.contacts BENCH [--clips N]
    python -m scripts.bench.finding.contacts FOLDER --shipped

BENCH holds folders of labelled clips that the spotter is fitted on. There impactcut is judged by
what fits said of clips that they had not seen (``out_of_fold.json`` beside this script, written by
``scripts/training/fit_spotter.py``), and beside it stands the finder before the spotter, fitted on
rendered films alone, from what it once found (``last_finder.json``). ``--shipped`` runs the program
as it ships on a folder of other clips: on footage of the fit its score would be worth nothing.

A folder holds clips and ``labels.json``: a list of ``clip``, ``fps``, ``frames``, ``hits`` (each
``frame``, optionally ``scored`` and ``pm``), and optionally ``complete``, ``unsure`` and ``group``.
A find counts when it lies within a frame (and ``pm``) of a labelled hit. The three scripts pick
peaks (`scipy.signal.find_peaks`, a standard deviation above the mean, a quarter second apart) of
the mean frame difference, of the mean of Farneback's flow, and of the 99th percentile of the flow
that the camera does not explain.
"""

from __future__ import annotations

import itertools
import json
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from scipy.signal import find_peaks

from impactcut.core.detect.confidence import SURE
from impactcut.media.decode.frames import read_frames
from impactcut.media.measure.stretches import measure
from impactcut.media.probe.container import probe
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from scripts.bench.measuring import asked

UNSCORED_REACH: Final = 3
UNSURE_REACH: Final = 2
BEFORE: Final = 0.7
"""Confidence from which the finder before listed a hit."""
FOLDERS: Final = ("people", "rendered", "clips")
Found = Mapping[str, list[int]]
"""Contact frames of a clip by each way of finding them."""


@dataclass
class Score:
    """Counts over clips."""

    true: int = 0
    false: int = 0
    missed: int = 0
    exact: int = 0
    offset: int = 0
    minutes: float = 0.0

    def add(self, labels: dict[str, Any], found: list[int]) -> None:
        """Count one clip."""
        asked = [hit for hit in labels["hits"] if hit.get("scored", True)]
        pairs = match(asked, found)
        self.true += len(pairs)
        self.missed += len(asked) - len(pairs)
        for i, j in pairs:
            self.exact += found[j] == asked[i]["frame"]
            self.offset += found[j] - asked[i]["frame"]
        self.minutes += labels["frames"] / float(Fraction(labels["fps"])) / 60
        if labels.get("complete", True):
            rest = [frame for j, frame in enumerate(found) if j not in {j for _, j in pairs}]
            self.false += sum(not _unasked(labels, frame) for frame in rest)

    def line(self) -> str:
        """F1, exact share, mean offset, false finds a minute."""
        asked = 2 * self.true + self.false + self.missed
        f1 = 2 * self.true / asked if asked else 1.0
        exact = self.exact / self.true if self.true else 0.0
        offset = self.offset / self.true if self.true else 0.0
        return (
            f"F1 {f1:.2f}  exact {exact:.2f}  offset {offset:+.2f}  "
            f"false/min {self.false / self.minutes:6.2f}  "
            f"({self.true} found, {self.missed} missed, {self.false} false)"
        )


def _unasked(labels: dict[str, Any], frame: int) -> bool:
    """Whether nobody says if there is a hit at a frame."""
    free = [hit["frame"] for hit in labels["hits"] if not hit.get("scored", True)]
    return any(abs(frame - at) <= UNSCORED_REACH for at in free) or any(
        first - UNSURE_REACH <= frame <= last + UNSURE_REACH
        for first, last in labels.get("unsure", [])
    )


def match(asked: list[dict[str, Any]], found: list[int]) -> list[tuple[int, int]]:
    """The most pairs of labelled and found hits within reach, the nearest among equals."""
    if not asked or not found:
        return []
    away = np.abs(np.array([hit["frame"] for hit in asked])[:, None] - np.array(found)[None, :])
    within = away <= np.array([1 + hit.get("pm", 0) for hit in asked])[:, None]
    rows, columns = linear_sum_assignment(np.where(within, away, 1000))
    return [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if within[i, j]]


def picked(signal: NDArray[np.float64], fps: float) -> list[int]:
    """Frames at which the interval's signal peaks."""
    height = float(signal.mean() + signal.std())
    at, _ = find_peaks(signal, height=height, distance=max(1, round(fps / 4)))
    return [int(k) + 1 for k in at]


def farneback(path: Path) -> NDArray[np.float64]:
    """Mean magnitude of Farneback's flow of each interval, on small frames."""
    frames = [frame.luma for frame in read_frames(path, width=320)]
    flow = (
        cv2.calcOpticalFlowFarneback(a, b, None, 0.5, 3, 15, 3, 5, 1.2, 0)
        for a, b in itertools.pairwise(frames)
    )
    return np.array([np.linalg.norm(field, axis=-1).mean() for field in flow])


def scripts(path: Path, fps: float) -> Found:
    """What the three scripts say of a clip."""
    frames = read_frames(path, width=AnalysisSettings().width)
    stretches = [(each, each.own) for each in measure(frames, probe(path).rate)]
    residual = [np.linalg.norm(each.cells.velocity()[own], axis=-1) for each, own in stretches]
    signals = {
        "frame differences": np.concatenate([each.difference[own] for each, own in stretches]),
        "mean Farneback flow": farneback(path),
        "residual flow, 99th percentile": np.concatenate(
            [np.percentile(speed, 99, axis=(1, 2)) for speed in residual]
        ),
    }
    return {name: picked(signal, fps) for name, signal in signals.items()}


def shipped(path: Path) -> Found:
    """What the program says of a clip as it ships."""
    hits = [found.hit for found in analyse_clip(path, AnalysisSettings()).hits]
    return {"impactcut": sorted(hit.contact for hit in hits if hit.confidence >= SURE)}


def stored(name: str) -> Found:
    """Finds in a clip of the bench by fits that had not seen it, and by the finder before."""
    here = Path(__file__).parent
    ways = {
        "impactcut, out of fold": ("out_of_fold.json", SURE),
        "the finder before": ("last_finder.json", BEFORE),
    }
    found = {}
    for way, (file, least) in ways.items():
        finds = json.loads((here / file).read_text())[name]
        found[way] = sorted(frame for frame, confidence in finds if confidence >= least)
    return found


def score(folder: Path, ours: Callable[[Path], Found], most: int) -> None:
    """Print the scores of a folder, whole and by group."""
    scores: dict[tuple[str, str], Score] = defaultdict(Score)
    for labels in json.loads((folder / "labels.json").read_text())[:most]:
        path = folder / labels["clip"]
        found = {**ours(path), **scripts(path, float(Fraction(labels["fps"])))}
        for way, frames in found.items():
            scores["all", way].add(labels, frames)
            scores[labels.get("group") or labels.get("kind") or "?", way].add(labels, frames)
    for (group, way), counts in sorted(scores.items()):
        print(f"{folder.name:8}  {group:34}  {way:30}  {counts.line()}")


def main() -> None:
    """Score a folder of clips, or the bench."""
    options = asked(__doc__, "folder", shipped=False, clips=10**9)
    if options.shipped:
        score(options.folder, shipped, options.clips)
        return
    for name in FOLDERS:
        score(
            options.folder / name,
            lambda path, name=name: stored(f"{name}/{path.name}"),
            options.clips,
        )


if __name__ == "__main__":
    main()
