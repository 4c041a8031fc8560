"""The motion around a hit, as a few numbers for each interval that is drawn."""

from __future__ import annotations

from typing import Any

from impactcut.core.motion.curves import channel_speed
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange

Speeds = list[float | None]
DRAWN = ("strike", "receiver", "background")


def motion_chart(motion: HitMotion, shown: FrameRange) -> dict[str, Any]:
    """How fast strike, receiver and background move between the frames shown.

    Parameters
    ----------
    motion : HitMotion
    shown : FrameRange
        Frames of the clip.

    Returns
    -------
    dict
        ``strike``, ``receiver`` (None where nobody was seen to receive) and ``background``: picture
        widths a second for each of the ``len(shown) - 1`` intervals, None where nothing was
        measured. Strike and receiver without the camera's movement.
    """
    return {name: _speeds(motion, name, shown) for name in DRAWN}


def _speeds(motion: HitMotion, name: str, shown: FrameRange) -> Speeds | None:
    speed = channel_speed(motion, name)
    if speed is None:
        return None
    measured = dict(enumerate(speed.round(4).tolist(), start=motion.first))
    return [measured.get(frame) for frame in range(shown.start, shown.stop - 1)]
