"""Jumps of light: muzzle flashes, lamps, lightning, the quick end of a fade.

Optical flow takes it that what moves keeps its brightness. Where the light jumps it finds movement
that is none, so what was measured there is not believed: the movement is taken to go on evenly.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.motion.cells import MotionCells

JUMP: Final = 0.15
"""Change of the natural logarithm of a picture's mean luma within an interval that counts as a jump
of light, engineering choice: of the labelled footage's intervals around hits, in which people,
cameras and automatic exposure do what they do, none changes by more than 0.08."""
_FLOOR: Final = 0.02


def light_jumps(luma: FloatArray) -> BoolArray:
    """Intervals in which the light jumps.

    Parameters
    ----------
    luma : float32, shape (n + 1,)
        Mean luma of each frame, 0..1.

    Returns
    -------
    bool, shape (n,)
    """
    jumps: BoolArray = np.abs(np.diff(np.log(luma + _FLOOR))) > JUMP
    return jumps


def bridged(cells: MotionCells, jumps: BoolArray) -> MotionCells:
    """The cells with the intervals of ``jumps`` filled in from those before and behind.

    Parameters
    ----------
    cells : MotionCells
        Of ``n`` intervals.
    jumps : bool, shape (n,)
        Left as they are if there is no other interval.
    """
    sound = np.flatnonzero(~jumps)
    if len(sound) in (0, len(jumps)):
        return cells
    at = np.flatnonzero(jumps)
    behind = np.minimum(np.searchsorted(sound, at), len(sound) - 1)
    before = np.maximum(np.searchsorted(sound, at) - 1, 0)
    first, last = sound[before], sound[behind]
    share = (at - first) / np.maximum(last - first, 1)

    def filled(values: FloatArray) -> FloatArray:
        part = share.reshape(-1, *(1,) * (values.ndim - 1)).astype(np.float32)
        found = values.copy()
        found[at] = (1 - part) * values[first] + part * values[last]
        return found

    return replace(
        cells,
        residual=filled(cells.residual),
        change=filled(cells.change),
        camera=filled(cells.camera),
    )
