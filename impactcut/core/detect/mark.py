"""A contact that a person marks: the frame that is meant, and where in the picture it lies."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from impactcut.core.arrays import FloatArray, IntArray
from impactcut.core.detect.spot import Spot
from impactcut.core.motion.cells import MotionCells, cell_centres

SNAP: Final = 4
"""Frames to either side of a mark among which the contact is looked for: as far as a finger that
taps along is off, engineering choice."""
NEAR: Final = 0.08
"""How far from the place a limb's movement counts for the frame in which it stops, widths,
engineering choice: a forearm in a medium shot."""
LEAST: Final = 0.01
"""Chance from which what the spotter sees near a mark counts: on the labelled acted blows there is
always that much (`scripts/bench/README.md`)."""
STOP: Final = 0.3
"""Slowing from one frame to the next, widths/s, from which something is said to stop; engineering
choice."""


@dataclass(frozen=True)
class MarkedContact:
    """The contact that a person's mark stands for, and in words why it lies there."""

    spot: Spot
    why: str


def snapped(
    frame: int, seen: Spot | None, place: tuple[float, float] | None, cells: MotionCells
) -> MarkedContact:
    """The best frame within `SNAP` of a mark, for a contact that somebody is sure of.

    It is where the spotter sees a contact, if it sees one at all; or else where the movement at
    the place stops the hardest; or else the frame as marked.

    Parameters
    ----------
    frame : int
        As marked, counted in the clip.
    seen : Spot or None
        The likeliest within `SNAP` frames (`likeliest_near`).
    place : (float, float) or None
        Where the contact would lie, widths; None where nothing tells.
    cells : MotionCells
        Of a stretch around it, one node a frame.
    """
    if seen is not None and seen.chance >= LEAST:
        why = f"a contact is likeliest there ({seen.chance:.2f})"
        return MarkedContact(replace(seen, chance=1.0), why)
    where = busiest(frame, cells) if place is None else place
    stop = _hardest_stop(frame, where, cells)
    if stop is None:
        return MarkedContact(
            as_marked(frame, where), "nothing near stops, so it stays on the frame given"
        )
    return MarkedContact(as_marked(stop, where), "what moves there stops the hardest")


def likeliest_near(frame: int, odds: FloatArray, frames: IntArray) -> int | None:
    """The node with the greatest log odds of a contact within `SNAP` frames, of equal ones the
    nearest; peak or not, for somebody has said that a contact is there.

    Parameters
    ----------
    frame : int
        As marked.
    odds : float32, shape (n,)
    frames : int64, shape (n,)
        Their frames, counted as ``frame``.
    """
    near = np.flatnonzero(np.abs(frames - frame) <= SNAP)
    if not len(near):
        return None
    return int(max(near, key=lambda node: (odds[node], -abs(int(frames[node]) - frame))))


def as_marked(frame: int, place: tuple[float, float]) -> Spot:
    """A contact on just that frame."""
    return Spot(float(frame), frame, 1.0, place)


def busiest(frame: int, cells: MotionCells) -> tuple[float, float]:
    """The place around which most moves within `SNAP` frames, right and down, widths."""
    speed = np.linalg.norm(cells.residual[_around(frame, cells)], axis=-1).max(axis=0)
    row, column = np.unravel_index(int(np.argmax(speed)), speed.shape)
    right, down = cell_centres(speed.shape)[row, column]
    return float(right), float(down)


def _hardest_stop(frame: int, place: tuple[float, float], cells: MotionCells) -> int | None:
    """The frame before which what moves at the place slows down most; None where nothing does."""
    away = cell_centres(cells.grid) - np.array(place, np.float32)
    inside = np.linalg.norm(away, axis=-1) <= NEAR
    speed = np.linalg.norm(cells.residual[:, inside], axis=-1).max(axis=-1, initial=0)
    slowing = (speed[:-1] - speed[1:]) * float(cells.rate)
    start = int(cells.frames[0])
    frames = [
        each for each in range(frame - SNAP, frame + SNAP + 1) if 1 <= each - start <= len(slowing)
    ]
    if not frames:
        return None
    best = max(frames, key=lambda each: (slowing[each - start - 1], -abs(each - frame)))
    return best if slowing[best - start - 1] >= STOP else None


def _around(frame: int, cells: MotionCells) -> slice:
    at = frame - int(cells.frames[0])
    return slice(max(0, at - SNAP), at + SNAP + 1)
