"""When the receiver starts to move."""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.detect.receiver import about, others
from impactcut.core.detect.striker import StrikePath
from impactcut.core.motion.cells import MotionCells

STARTED: Final = 0.15
RISE: Final = 0.06
"""Part of the way from how the receiver moves long before the contact to his greatest speed, and
speed above the former (widths/s), from which he has started; engineering choices."""
PART: Final = 75
"""Percentile of the receiver's cells that stands for him: a head that turns is a start."""
AT_ONCE: Final = 1
"""A start so many frames before the contact is one at the contact: neither is known better."""
LASTS_SECONDS: Final = 0.1
WAVERS: Final = 0.6
"""A start goes on for so long with no less than this part of what makes it one; what is over sooner
is the limb, or noise; engineering choices."""


def reaction_of(
    window: MotionCells, path: StrikePath, receiver: BoolArray, at: int, lag: int | None
) -> int | None:
    """Frames from the contact to the receiver's start, below 0 for an early one.

    Parameters
    ----------
    window : MotionCells
        Of ``n`` intervals, as for `impactcut.core.detect.receiver.struck_by`.
    receiver : bool, shape (rows, columns)
    at : int
        Interval of the window at whose start the contact lies.
    lag : int or None
        The lag as the spotter sees it; of several starts the nearest to it is taken.

    Returns
    -------
    int or None
        None where he starts to move neither before the contact nor within half a second of it.
    """
    speed = receiver_speed(window, path, receiver)
    reach = about(at, float(window.rate))
    before = float(np.percentile(speed[: reach.start], PART)) if reach.start else 0.0
    greatest = float(speed[reach].max(initial=0))
    least = before + max(RISE, STARTED * (greatest - before))
    moving = speed >= least
    lasting = max(1, round(LASTS_SECONDS * float(window.rate)))
    starts = [
        interval
        for interval in range(reach.start, min(reach.stop, len(speed)))
        if moving[interval]
        and speed[interval : interval + lasting].min() >= WAVERS * least
        and (interval == reach.start or not moving[interval - 1])
    ]
    if not starts:
        return None
    lags = [start - at for start in starts]
    found = lags[0] if lag is None else min(lags, key=lambda each: abs(each - lag))
    return 0 if -AT_ONCE <= found < 0 else found


def receiver_speed(window: MotionCells, path: StrikePath, receiver: BoolArray) -> FloatArray:
    """Speed of the receiver in each interval, the striking limb left out, widths/s, (n,)."""
    speed = others(window.speed(), path)
    percentile: FloatArray = np.percentile(speed[:, receiver], PART, axis=1).astype(np.float32)
    return percentile
