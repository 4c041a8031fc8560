"""Contact frames: impactcut against three scripts a person would write, on the same clips.

    python scripts/bench/contacts.py FOLDER [--confidence 0.5]

FOLDER holds clips and ``labels.json``: a list of ``clip``, ``fps``, ``frames``, ``hits`` (each
``frame``, optionally ``scored`` and ``pm``), and optionally ``complete`` and ``camera``. A find
counts when it lies within a frame (and ``pm``) of a labelled hit. The three scripts pick peaks
(`scipy.signal.find_peaks`, a standard deviation above the mean, a quarter second apart) of the
mean frame difference, of the mean of Farneback's flow, and of the 99th percentile of the flow
that the camera does not explain.
"""

from __future__ import annotations

import argparse
import itertools
import json
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from scipy.signal import find_peaks

from impactcut.media.frames import read_frames
from impactcut.workflow.analyse import AnalysisSettings, ClipAnalysis, analyse_clip

UNSCORED_REACH = 3


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
        free = [hit["frame"] for hit in labels["hits"] if not hit.get("scored", True)]
        pairs = match(asked, found)
        self.true += len(pairs)
        self.missed += len(asked) - len(pairs)
        for i, j in pairs:
            self.exact += found[j] == asked[i]["frame"]
            self.offset += found[j] - asked[i]["frame"]
        self.minutes += labels["frames"] / float(Fraction(labels["fps"])) / 60
        if labels.get("complete", True):
            rest = [frame for j, frame in enumerate(found) if j not in {j for _, j in pairs}]
            near = [any(abs(frame - at) <= UNSCORED_REACH for at in free) for frame in rest]
            self.false += near.count(False)

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


def match(asked: list[dict[str, Any]], found: list[int]) -> list[tuple[int, int]]:
    """The most pairs of labelled and found hits within reach, the nearest among equals."""
    if not asked or not found:
        return []
    away = np.abs(np.array([hit["frame"] for hit in asked])[:, None] - np.array(found)[None, :])
    within = away <= np.array([1 + hit.get("pm", 0) for hit in asked])[:, None]
    rows, columns = linear_sum_assignment(np.where(within, away, 1000))
    return [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if within[i, j]]


def peaks(signal: NDArray[np.float64], fps: float) -> list[int]:
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


def finders(path: Path, fps: float, confidence: float) -> dict[str, list[int]]:
    """What each way of finding hits says of a clip."""
    clip = analyse_clip(path, AnalysisSettings())
    ours = sorted(
        (found.hit for found in clip.hits if found.hit.confidence >= confidence),
        key=lambda hit: hit.contact,
    )
    scripts: dict[str, Callable[[ClipAnalysis], NDArray[np.float64]]] = {
        "frame differences": lambda a: a.track.difference.astype(float),
        "mean Farneback flow": lambda _: farneback(path),
        "residual flow, 99th percentile": lambda a: a.track.speed.astype(float),
    }
    found = {name: peaks(signal(clip), fps) for name, signal in scripts.items()}
    return {"impactcut": [hit.contact for hit in ours], **found}


def main() -> None:
    """Score a folder."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--confidence", type=float, default=0.5)
    options = parser.parse_args()
    scores: dict[tuple[str, str], Score] = defaultdict(Score)
    for labels in json.loads((options.folder / "labels.json").read_text()):
        fps = float(Fraction(labels["fps"]))
        found = finders(options.folder / labels["clip"], fps, options.confidence)
        for name, frames in found.items():
            scores["all", name].add(labels, frames)
            scores[labels.get("camera") or labels.get("kind", "?"), name].add(labels, frames)
    for (group, name), score in sorted(scores.items()):
        print(f"{group:10}  {name:32}  {score.line()}")


if __name__ == "__main__":
    main()
