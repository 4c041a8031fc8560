"""Cut the glimpses out of films that the network looks at, for `fit_contact.py` and `fit_hit.py`.

    python scripts/training/glimpse_views.py OUT.npz FOLDER...

Of every film those impulses are kept that the finder looks at, and around labelled hits all that it
may choose for them, since their chances say that they are likely.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from calibrate import contacts_of
from fit import labels_in

from impactcut.core.find import Candidate, pick, weigh
from impactcut.media.frames import read_frames
from impactcut.media.measure import Stretch, measure
from impactcut.media.probe import probe
from impactcut.workflow.finding import glimpses_of, impulses_in, pictures_of
from impactcut.workflow.hit_weights import hit_weights

LIKELY = 0.3
"""Least chance of an impulse that the finder may choose for a hit."""
NEAR = 5.5
"""Frames from the contact within which it may do so."""


def stretches_of(video: Path) -> Iterator[Stretch]:
    """The film, measured."""
    return measure(read_frames(video), probe(video).rate)


def views_of(video: Path, labels: dict[str, Any]) -> list[dict[str, Any]]:
    """Glimpses of every impulse of a film that is looked at, with what is known of it."""
    views: list[dict[str, Any]] = []
    for stretch in stretches_of(video):
        cells, velocity, impulses = impulses_in(stretch, pictures_of(stretch))
        step = float(np.median(np.diff(cells.frames)))
        candidates = weigh(impulses, cells, velocity, hit_weights())
        picked = set(pick(candidates, float(cells.rate)))
        first, last = stretch.cells.frames[[stretch.own.start, stretch.own.stop]]
        for candidate in candidates:
            instant = _instant(candidate, labels)
            looked_at = candidate in picked
            if first <= candidate.frame < last and (looked_at or instant is not None):
                views.append(
                    {
                        "glimpses": glimpses_of(candidate.impulse, cells, stretch),
                        "steps": ((instant or np.nan) - candidate.frame) / step,
                        "first_steps": (candidate.contact - candidate.frame) / step,
                        "chance": candidate.chance,
                        "frame": candidate.frame,
                        "step": step,
                        "start": candidate.impulse.kind == "start",
                        "picked": looked_at,
                    }
                )
    return views


def _instant(candidate: Candidate, labels: dict[str, Any]) -> float | None:
    """The contact that a candidate belongs to, if one does."""
    instants = contacts_of(labels)
    if candidate.chance < LIKELY or not instants:
        return None
    nearest: float = min(instants, key=lambda instant: abs(instant - candidate.frame))
    return nearest if abs(nearest - candidate.frame) <= NEAR else None


def main(arguments: list[str]) -> int:
    """Write the views of all films, with the films' labels."""
    if len(arguments) < 2:
        print(__doc__)
        return 2
    cv2.setNumThreads(1)
    views: list[dict[str, Any]] = []
    films: list[str] = []
    for folder in map(Path, arguments[1:]):
        for labels in labels_in(folder):
            found = views_of(folder / labels["clip"], labels)
            views += [{**view, "film": len(films)} for view in found]
            films.append(json.dumps(labels))
            print(labels["clip"], len(views), file=sys.stderr)
    columns = {name: np.array([view[name] for view in views]) for name in views[0]}
    np.savez_compressed(arguments[0], films=np.array(films), **columns)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
