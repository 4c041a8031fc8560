"""The truth of a clip: where and when things meet, as its frames show it."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from .film import Format, Shot
from .motion import Floats
from .paint import Picture, Pixels
from .splices import Shows, Source, Weights, sources
from .stage import Touch

LEAST = 0.2
"""Jump in speed, picture widths a second, from which a hit is scored."""
EARLY = 0.25
"""Frames by which a frame may come before the contact and still show it."""
THUMB, AROUND, FAINT = 80, 0.1, 5.0
"""Width of a thumbnail, pixels; reach about a hit, picture widths; levels that can be seen."""
APART = 2.0
"""Frames within which only the hardest of several hits is scored."""


def hits_of(
    shot: Shot, form: Format, source: Source, weights: Weights, shows: Shows
) -> list[dict[str, Any]]:
    """Hits of the first shot as they are in the file, in order."""
    seen = np.array([sum(n * share for n, share in wanted) for wanted in shows])
    first = np.flatnonzero(np.diff(seen, prepend=-1.0) > 1e-9)
    hits = []
    for touch in sorted(shot.stage.touches, key=lambda k: k.time):
        taken = sources(source, touch.time)
        frame = int(np.searchsorted(seen, taken - EARLY - 1e-9))
        if not 0 <= frame < form.frames or taken < -EARLY:
            continue
        if not _on_screen(weights, shows, frame):
            continue
        x, y, zoom = _place(shot, touch)
        if not (-0.2 <= x <= 1.2 and -0.2 <= y <= shot.stage.aspect + 0.2):
            continue
        contact = float(np.interp(taken, seen[first], first))
        inside = 0 <= x <= 1 and 0 <= y <= shot.stage.aspect
        fast = touch.speed * zoom >= LEAST and 2 <= frame < form.frames - 2
        hits.append(
            {
                "frame": frame,
                "contact": round(contact, 3),
                "x": round(x, 4),
                "y": round(y, 4),
                "scored": bool(inside and fast),
                "what": touch.what,
                "jump": round(touch.speed * zoom, 3),
            }
        )
    return hits


def _on_screen(weights: Weights, shows: Shows, frame: int) -> bool:
    """Whether the first shot is up, from just before the contact until just after."""
    around = [shows[k][0][0] for k in range(max(frame - 2, 0), min(frame + 2, len(shows)))]
    return bool(weights[0, around].min() > 0.5)


def _place(shot: Shot, touch: Touch) -> tuple[float, float, float]:
    instant = np.array([touch.time])
    lens: Floats = shot.camera.matrices(shot.stage.t, instant, shot.stage.aspect, 1.0)[0]
    x, y = lens[:, :2] @ np.array([touch.x, touch.y]) + lens[:, 2]
    return float(x), float(y), float(np.hypot(lens[0, 0], lens[1, 0]))


def thumbnail(picture: Pixels) -> Picture:
    """A picture so small that its grain is averaged away, grey, float32."""
    height, width = picture.shape[:2]
    size = (THUMB, max(round(THUMB * height / width), 2))
    grey = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.float32)


def leave_unseen(
    hits: list[dict[str, Any]], thumbs: list[Picture], grain: float
) -> list[dict[str, Any]]:
    """Score no hit about which nothing changes: too dark, too faint, behind something."""
    for hit in hits:
        x, y, reach = (round(v * THUMB) for v in (hit["x"], hit["y"], AROUND))
        rows, columns = (
            slice(max(y - reach, 0), y + reach + 1),
            slice(max(x - reach, 0), x + reach + 1),
        )
        near = thumbs[max(hit["frame"] - 3, 0) : hit["frame"] + 2]
        parts = np.array([thumb[rows, columns] for thumb in near])
        if parts.size == 0 or np.abs(np.diff(parts, axis=0)).max(initial=0) < FAINT + 0.6 * grain:
            hit["scored"] = False
    return hits


def leave_weaker(hits: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Of hits too near one another in time, score the hardest only."""
    kept: list[float] = []
    for hit in sorted(hits, key=lambda k: -k["jump"]):
        if any(abs(other - hit["contact"]) < APART for other in kept):
            hit["scored"] = False
        if hit["scored"]:
            kept.append(hit["contact"])
    return hits
