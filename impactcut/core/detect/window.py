"""The part of a stretch around a contact, made even so that speeds in it can be compared."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, IntArray
from impactcut.core.motion.cadence import finding_stride
from impactcut.core.motion.cells import MotionCells, join_intervals

WINDOW_SECONDS: Final = 0.6
"""Seconds before and after the contact that a hit's window covers: the half second over which
shake is judged, and the trims themselves."""


def window_of(cells: MotionCells, contact: int) -> MotionCells:
    """The part of a stretch (one node a frame) within `WINDOW_SECONDS` of frame ``contact``."""
    reach = round(WINDOW_SECONDS * float(cells.rate))
    at = contact - int(cells.frames[0])
    return cells.between(at - reach, min(cells.intervals, at + reach))


def even(window: MotionCells, repeated: BoolArray, boundary: BoolArray, at: int) -> MotionCells:
    """The window as if nothing in it were shown twice and nothing lay beyond its shot.

    What moves over repeated frames moves evenly from frame to frame; on the far side of a shot
    boundary everything stands still.

    Parameters
    ----------
    window : MotionCells
        Of ``n`` intervals, one node a frame.
    repeated, boundary : bool, shape (n,)
        Of the window, as in `impactcut.core.motion.pictures.Pictures`.
    at : int
        Interval of the window at whose start the contact lies.
    """
    residual = window.residual
    if repeated.any():
        run: IntArray = np.cumsum(~repeated) - ~repeated
        share = (1 / np.bincount(run))[run].astype(np.float32)
        last = np.append(np.flatnonzero(np.diff(run)), len(run) - 1)
        residual = residual[last[run]] * share[:, None, None, None]
    cuts = np.flatnonzero(boundary)
    before, after = cuts[cuts < at], cuts[cuts >= at]
    outside = np.zeros(len(residual), bool)
    outside[: before[-1] + 1 if len(before) else 0] = True
    outside[after[0] if len(after) else len(residual) :] = True
    if outside.any():
        residual = np.where(outside[:, None, None, None], np.float32(0), residual)
    return replace(window, residual=residual)


def paced(window: MotionCells, at: int) -> tuple[MotionCells, IntArray]:
    """The window at the finding rate, and the interval at which each of its intervals starts.

    High-speed footage moves too little from frame to frame for its flow to tell a limb from noise.

    Parameters
    ----------
    window : MotionCells
        Of ``n`` intervals, one node a frame.
    at : int
        Interval at whose start the contact lies; one of the new ones starts there too.

    Returns
    -------
    MotionCells
        Of ``m`` intervals; its frames count from 0 at its own rate.
    int64, shape (m,)
    """
    stride = finding_stride(window.rate)
    starts = np.arange(at % stride, max(window.intervals, 1), stride, dtype=np.int64)
    if at % stride:
        starts = np.append(0, starts)
    joined = window if stride == 1 else join_intervals(window, starts.tolist())
    return replace(joined, rate=window.rate / stride, frames=np.arange(len(starts) + 1)), starts
