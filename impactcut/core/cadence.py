"""Repeated frames, and the rate at which hits are looked for.

Pulldown, 12-in-24 and frame-rate conversion repeat frames. A repeated frame shows nothing new, so
the movement of the next change belongs to the whole time since the last one.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.cells import MotionCells, join_intervals

SAME: Final = 0.0015
"""Mean absolute luma difference (0..1) below which two frames may be the same, engineering choice:
under half a step of 8-bit luma, above what lossy coding does to a repeated frame."""
SAME_SHARE: Final = 0.12
"""A repeat differs by less than this share of the changes around it, engineering choice."""
REACH: Final = 4
"""Intervals before and after within which the picture must change for a repeat to count: a still
picture is not a repeat."""
FINDING_RATE: Final = 32
"""Frames a second above which intervals are joined before hits are looked for: the finder was
fitted on 12.5 to 30 frames a second."""


def repeated_intervals(difference: FloatArray) -> BoolArray:
    """Intervals whose later frame repeats the earlier one.

    Parameters
    ----------
    difference : float32, shape (n,)
        Mean absolute luma difference of the frames of each interval, 0..1.

    Returns
    -------
    bool, shape (n,)
    """
    n = len(difference)
    before = np.zeros(n, np.float32)
    after = np.zeros(n, np.float32)
    for step in range(1, REACH + 1):
        before[step:] = np.maximum(before[step:], difference[:-step])
        after[:-step] = np.maximum(after[:-step], difference[step:])
    around = np.minimum(before, after)
    repeated: BoolArray = (difference < SAME) & (difference < SAME_SHARE * around)
    return repeated


def at_finding_rate(cells: MotionCells, repeated: BoolArray) -> MotionCells:
    """The stretch as the finder wants it: no repeats, and at most `FINDING_RATE` nodes a second.

    Parameters
    ----------
    cells : MotionCells
    repeated : bool, shape (n,)
        As from `repeated_intervals`, for the same intervals.
    """
    if cells.intervals == 0:
        return cells
    changes = np.flatnonzero(~repeated)
    if len(changes) == 0:
        return cells
    starts = np.concatenate([[0], changes[:-1] + 1])
    stride = math.ceil(cells.rate / FINDING_RATE)
    joined = join_intervals(cells, starts.tolist()) if repeated.any() else cells
    if stride > 1 and joined.intervals > stride:
        joined = join_intervals(joined, range(0, joined.intervals, stride))
    return joined
