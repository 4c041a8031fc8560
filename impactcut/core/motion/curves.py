"""How fast each channel of a hit moves, interval by interval, for drawing."""

from __future__ import annotations

import numpy as np

from impactcut.core.arrays import Float64Array
from impactcut.core.motion.measured import HitMotion


def channel_speed(motion: HitMotion, name: str) -> Float64Array | None:
    """Speed of a channel, without the camera's movement unless it is the background itself.

    Parameters
    ----------
    name : str
        As in `Channel`.

    Returns
    -------
    float64, shape (n,), or None
        Picture widths per second in each interval of the window; None if the channel was not seen.
    """
    channel, background = motion.channel(name), motion.channel("background")
    if channel is None:
        return None
    moved = channel.displacement.astype(float)
    if background is not None and channel is not background:
        moved = moved - background.displacement
    speed: Float64Array = np.hypot(moved[:, 0], moved[:, 1]) * float(motion.rate)
    return speed
