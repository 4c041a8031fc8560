"""Peaks of a row of levels, as `scipy.signal.find_peaks` has them.

A test compares the two; loading that package costs every process that measures a second and 50 MiB.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import BoolArray, Float64Array

Places = NDArray[np.intp]


def peaks(values: Float64Array, least: float, apart: int) -> Places:
    """Where values are higher than on either side, and no higher peak is near.

    Parameters
    ----------
    values : float64, shape (n,)
    least : float
        Height of the lowest peak that counts.
    apart : int
        Of peaks less than so many places from one another the highest stays.

    Returns
    -------
    int, shape (m,)
        Rising; of a plateau, its middle.
    """
    starts = np.flatnonzero(np.diff(values, prepend=np.nan))
    ends = np.append(starts[1:], len(values)) - 1
    levels = values[starts]
    highest = np.flatnonzero((levels[1:-1] > levels[:-2]) & (levels[1:-1] > levels[2:])) + 1
    found: Places = (starts[highest] + ends[highest]) // 2
    found = found[values[found] >= least]
    return found[_far_apart(found, values[found], apart)]


def _far_apart(places: Places, heights: Float64Array, apart: int) -> BoolArray:
    stays = np.ones(len(places), bool)
    first = np.searchsorted(places, places - apart, "right")
    last = np.searchsorted(places, places + apart, "left")
    for each in np.argsort(heights)[::-1]:
        if stays[each]:
            stays[first[each] : each] = False
            stays[each + 1 : last[each]] = False
    return stays


def dips_beside(values: Float64Array, places: Places, depth: float) -> BoolArray:
    """Which peaks stand out: on either side values fall by ``depth`` before they are higher."""
    return np.array(
        [
            _dips(values[place:], depth) and _dips(values[place::-1], depth)
            for place in places.tolist()
        ],
        bool,
    )


def _dips(values: Float64Array, depth: float) -> bool:
    """Whether values fall by ``depth`` from the first before they are higher than it."""
    seen, ahead = 0, 32
    while seen < len(values):
        fallen = values[0] - values[seen : seen + ahead]
        ends = np.flatnonzero((fallen < 0) | (fallen >= depth))
        if len(ends):
            return bool(fallen[ends[0]] >= depth)
        seen, ahead = seen + ahead, 2 * ahead
    return False


def smoothed(values: NDArray[np.floating], size: int, ahead: int) -> Float64Array:
    """The mean of ``size`` values around each, ``ahead`` of them behind it; the ends go on."""
    longer = np.pad(values.astype(np.float64), (size - 1 - ahead, ahead), "edge")
    return np.convolve(longer, np.full(size, 1 / size), "valid")
