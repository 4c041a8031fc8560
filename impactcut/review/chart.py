"""The motion around a hit, as a few numbers for each interval that is drawn."""

from __future__ import annotations

from typing import Any

from impactcut.core.frames import FrameRange
from impactcut.core.motion import Channel, HitMotion

Speeds = list[float | None]


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
    background = motion.channel("background")
    receiver = motion.channel("receiver")
    return {
        "strike": _speeds(motion, shown, motion.channels[0], background),
        "receiver": None if receiver is None else _speeds(motion, shown, receiver, background),
        "background": None if background is None else _speeds(motion, shown, background, None),
    }


def _speeds(
    motion: HitMotion, shown: FrameRange, channel: Channel, camera: Channel | None
) -> Speeds:
    rate = float(motion.rate)
    result: Speeds = []
    for frame in range(shown.start, shown.stop - 1):
        interval = frame - motion.first
        if not 0 <= interval < motion.intervals:
            result.append(None)
            continue
        right, down = channel.displacement[interval].tolist()
        if camera is not None:
            camera_right, camera_down = camera.displacement[interval].tolist()
            right, down = right - camera_right, down - camera_down
        result.append(round((right**2 + down**2) ** 0.5 * rate, 4))
    return result
