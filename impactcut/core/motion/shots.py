"""Shot boundaries inside a clip, so that nothing is measured across one.

A cut changes the whole layout of the picture at once and for good: the tiles of the frames before
and after differ much more than neighbouring frames do, and still differ two frames apart. A flash
comes back; a whip pan differs in every interval; both are left alone.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray

TILES: Final = (9, 16)
"""Rows and columns of mean luma that stand for a frame."""
STEP: Final = 0.055
"""Least mean change of the tiles at a cut, luma 0..1, engineering choice."""
OVER_NEIGHBOURS: Final = 3.5
"""Times the median change nearby that a cut must reach, engineering choice."""
LASTING: Final = 0.6
"""Share of the change that must remain between the frames one further out, engineering choice."""
REACH: Final = 6
"""Intervals before and after that count as nearby, engineering choice."""


def shot_boundaries(tiles: FloatArray) -> BoolArray:
    """Intervals in which the shot changes.

    Parameters
    ----------
    tiles : float32, shape (n + 1, rows, columns)
        Mean luma of `TILES` for each frame, 0..1.

    Returns
    -------
    bool, shape (n,)
    """
    layout = tiles - tiles.mean(axis=(1, 2), keepdims=True)
    step = _distance(layout[:-1], layout[1:])
    n = len(step)
    boundary = np.zeros(n, bool)
    for k in np.flatnonzero(step > STEP):
        around = np.concatenate([step[max(0, k - REACH) : k], step[k + 1 : k + REACH + 1]])
        usual = float(np.median(around)) if len(around) else 0.0
        lasting = _distance(layout[max(0, k - 1)], layout[min(n, k + 2)])
        boundary[k] = step[k] > OVER_NEIGHBOURS * usual and lasting > LASTING * step[k]
    return boundary


def _distance(one: FloatArray, other: FloatArray) -> FloatArray:
    distance: FloatArray = np.abs(one - other).mean(axis=(-2, -1))
    return distance
