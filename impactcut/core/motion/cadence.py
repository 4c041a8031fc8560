"""Repeated frames, and the rate at which hits are looked for.

Pulldown, 12-in-24 and frame-rate conversion repeat frames. A repeated frame shows nothing new, so
the movement of the next change belongs to the whole time since the last one.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray

SAME: Final = 0.0015
"""Mean absolute luma difference (0..1) below which two frames may be the same, engineering choice:
under half a step of 8-bit luma, above what lossy coding does to a repeated frame."""
SAME_SHARE: Final = 0.12
"""A repeat differs by less than this share of the changes around it, engineering choice."""
REACH: Final = 4
"""Intervals before and after within which the picture must change for a repeat to count: a still
picture is not a repeat."""
FINDING_RATE: Final = 32
"""Frames a second above which hits are looked for in every second frame or fewer: the spotter was
fitted on 12 to 30 frames a second."""


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
    return (difference < SAME) & (difference < SAME_SHARE * around)


def finding_stride(rate: Fraction) -> int:
    """Of how many frames one is looked at, in a clip of ``rate`` frames a second."""
    return math.ceil(rate / FINDING_RATE)
