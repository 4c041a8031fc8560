"""The motion track of a clip, made stretch by stretch from its motion cells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.motion.cells import MotionCells
from impactcut.core.motion.measured import MotionTrack

FAST: Final = 99.0
"""Percentile of the cells' speeds that stands for the strike, engineering choice: a fist in a
medium shot covers about a hundredth of the picture."""


@dataclass(frozen=True, eq=False)
class Pictures:
    """What is known of a stretch's pictures beside their motion, for ``n`` intervals.

    Parameters
    ----------
    difference : float32, shape (n,)
        Mean absolute luma difference, 0..1.
    luma : float32, shape (n + 1,)
        Mean luma of each frame, 0..1.
    log_luma : float32, shape (n + 1,)
        Mean natural logarithm of (luma + 1/255) of each frame, luma 0..1.
    repeated, boundary : bool, shape (n,)
        As in `MotionTrack`.
    """

    difference: FloatArray
    luma: FloatArray
    log_luma: FloatArray
    repeated: BoolArray
    boundary: BoolArray


def track_of(cells: MotionCells, pictures: Pictures, own: slice) -> MotionTrack:
    """The motion track of some intervals of a stretch.

    Parameters
    ----------
    cells : MotionCells
        One node a frame.
    pictures : Pictures
        Of the same stretch.
    own : slice
        The intervals that are wanted.
    """
    velocity = cells.velocity()[own]
    speed = np.linalg.norm(velocity, axis=-1)
    fast = np.percentile(speed, FAST, axis=(1, 2)).astype(np.float32)
    return MotionTrack(
        rate=cells.rate,
        speed=fast,
        energy=(speed**2).mean(axis=(1, 2)),
        camera=cells.camera[own],
        difference=pictures.difference[own],
        luma=pictures.luma[own.start : own.stop + 1],
        repeated=pictures.repeated[own],
        boundary=pictures.boundary[own],
        region=_fast_regions(speed, fast),
    )


def join_tracks(tracks: Sequence[MotionTrack]) -> MotionTrack:
    """One track from those of stretches that follow on from one another.

    Raises
    ------
    ValueError
        If there is none.
    """
    if not tracks:
        raise ValueError("a track is joined from at least one")

    def end_to_end(name: str) -> np.ndarray:
        return np.concatenate([getattr(track, name) for track in tracks])

    luma = np.concatenate([*(track.luma[:-1] for track in tracks), tracks[-1].luma[-1:]])
    return MotionTrack(
        rate=tracks[0].rate,
        luma=luma,
        speed=end_to_end("speed"),
        energy=end_to_end("energy"),
        camera=end_to_end("camera"),
        difference=end_to_end("difference"),
        repeated=end_to_end("repeated"),
        boundary=end_to_end("boundary"),
        region=end_to_end("region"),
    )


def _fast_regions(speed: FloatArray, fast: FloatArray) -> FloatArray:
    """Left, top, width, height (widths) of the cells at least as fast as ``fast``."""
    columns = speed.shape[2]
    inside: BoolArray = speed >= np.maximum(fast, 1e-6)[:, None, None]
    by_column = np.logical_or.reduce(inside, axis=1)
    by_row = np.logical_or.reduce(inside, axis=2)
    left, right = by_column.argmax(axis=1), columns - by_column[:, ::-1].argmax(axis=1)
    top, bottom = by_row.argmax(axis=1), speed.shape[1] - by_row[:, ::-1].argmax(axis=1)
    box = np.stack([left, top, right - left, bottom - top], axis=1) / np.float32(columns)
    box[~np.logical_or.reduce(by_row, axis=1)] = 0
    return np.asarray(box, np.float32)
