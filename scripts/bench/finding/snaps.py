"""Marks near labelled contacts: where `impactcut add` puts them, and where plain rules would.

    python -m scripts.bench.finding.snaps BENCH [--kind acted]

BENCH holds ``people/`` with ``labels.json``. Every labelled, scored contact of the clips whose name
begins with the kind is marked up to `SNAP` frames early and late. impactcut's log odds are what
fits said that had not seen the clip (``odds_out_of_fold.json``, for acted clips with contacts). A
mark is right within a frame of the label; in brackets, within the label's own doubt beside that.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from scipy.signal import find_peaks

from impactcut.core.detect.mark import SNAP, likeliest_near, snapped
from impactcut.core.detect.spot import Spot
from impactcut.media.decode.frames import read_frames
from impactcut.media.measure.stretches import Stretch, measure_around
from impactcut.media.probe.container import probe
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.spotting import fitted_calibration
from scripts.bench.measuring import asked

Snap = Callable[[int], int]


def ways(stretch: Stretch, odds: list[float]) -> dict[str, Snap]:
    """Where a mark goes, by each rule."""
    said, frames = np.array(odds, np.float32), np.arange(len(odds))
    calibration = fitted_calibration()
    peaks = find_peaks(stretch.difference)[0] + 1

    def nearest(mark: int) -> int:
        near = peaks[np.abs(peaks - mark) <= SNAP]
        return mark if not len(near) else int(near[np.argmin(np.abs(near - mark))])

    def ours(mark: int) -> int:
        node = likeliest_near(mark, said, frames)
        seen = None
        if node is not None:
            seen = Spot(node, node, calibration.confidence(float(said[node])), (0.5, 0.3))
        return snapped(mark, seen, None, stretch.cells).spot.contact

    return {
        "impactcut, out of fold": ours,
        "nearest peak of frame difference": nearest,
        "the mark as it is": lambda mark: mark,
    }


def main() -> None:
    """Say what share of the marks is right, by each rule and by how far the mark was off."""
    options = asked(__doc__, "bench", kind="acted")
    odds = json.loads(Path(__file__).with_name("odds_out_of_fold.json").read_text())
    right: dict[tuple[str, int], list[tuple[bool, bool]]] = defaultdict(list)
    folder = options.bench / "people"
    contacts = 0
    for labels in json.loads((folder / "labels.json").read_text()):
        hits = [hit for hit in labels["hits"] if hit.get("scored", True)]
        if labels["clip"].startswith(options.kind) and hits:
            rules = ways(measured(folder / labels["clip"]), odds[f"people/{labels['clip']}"])
            contacts += len(hits)
            for name, rule in rules.items():
                for hit in hits:
                    for off in range(-SNAP, SNAP + 1):
                        right[name, off].append(judged(rule(hit["frame"] + off), hit))
    print(f"{contacts} contacts, {sum(map(len, right.values())) // len(rules)} marks")
    for name in rules:
        every = [each for off in range(-SNAP, SNAP + 1) for each in right[name, off]]
        by_off = " ".join(f"{share(right[name, off])[0]:.2f}" for off in range(-SNAP, SNAP + 1))
        strict, lenient = share(every)
        print(f"{name:34} {strict:.2f} ({lenient:.2f})   by {-SNAP} to {SNAP}: {by_off}")


def measured(path: Path) -> Stretch:
    """A whole clip as one stretch."""
    frames = read_frames(path, width=AnalysisSettings().width)
    stretch = measure_around(frames, probe(path).rate)
    if stretch is None:
        raise SystemExit(f"{path}: it has fewer than two frames")
    return stretch


def judged(frame: int, hit: dict[str, Any]) -> tuple[bool, bool]:
    """Whether a frame is right, strictly and within the label's doubt."""
    away = abs(frame - hit["frame"])
    return away <= 1, away <= 1 + hit.get("pm", 0)


def share(marks: list[tuple[bool, bool]]) -> tuple[float, float]:
    """Shares of the marks that are right."""
    strict, lenient = np.mean(np.array(marks, float), axis=0)
    return float(strict), float(lenient)


if __name__ == "__main__":
    main()
