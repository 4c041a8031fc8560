"""What was measured of the window around one hit.

Lengths are in picture widths (1.0 = the width of the picture as shown), so that a number means
the same at every picture size. Interval ``k`` lies between frame ``k`` and frame ``k + 1``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray, IntArray


@dataclass(frozen=True, eq=False)
class Channel:
    """One thing that moves, through the window around a hit.

    Parameters
    ----------
    name : str
        ``"strike"`` (the limb), ``"striker"`` (the body behind it), ``"receiver"``,
        ``"background"`` or ``"mover N"``.
    displacement : float32, shape (n, 2)
        Movement on the screen (camera included) per interval: right, down, widths.
    centre : float32, shape (n, 2)
        Where it is at the start of each interval, widths from the picture's top left.
    area : float32, shape (n,)
        How much picture it covers, square widths.
    """

    name: str
    displacement: FloatArray
    centre: FloatArray
    area: FloatArray


@dataclass(frozen=True, eq=False)
class Skips:
    """What was seen directly across each of ``c`` splices of a window.

    Parameters
    ----------
    first, count : int64, shape (c,)
        First removed frame, counted from the window's first, and how many go.
    difference : float32, shape (c,)
        Mean absolute luma difference of the two pictures that meet, 0..1.
    disagreement : float32, shape (c,)
        Median length, over the two bodies, by which the movement measured directly from one
        picture to the other differs from that added up over the intervals between, widths.
    """

    first: IntArray
    count: IntArray
    difference: FloatArray
    disagreement: FloatArray

    def __post_init__(self) -> None:
        if not self.first.shape == self.count.shape == self.difference.shape:
            raise ValueError("every splice has a first frame, a count and a difference")
        if self.disagreement.shape != self.first.shape:
            raise ValueError("every splice has a disagreement")


@dataclass(frozen=True, eq=False)
class HitMotion:
    """What moves in the ``n`` intervals around one hit; enough to judge every trim of it.

    Parameters
    ----------
    first : int
        Clip frame at which interval 0 of the window starts.
    rate : Fraction
        Frames per second.
    channels : tuple of Channel
        The striker's limb first, then the receiver and the striker's body as far as they were
        seen to move, the background, other movers.
    repeated, boundary : bool, shape (n,)
    difference : float32, shape (n,)
        As in `impactcut.core.motion.pictures.Pictures`.
    luma : float32, shape (n + 1,)
        Mean of the natural logarithm of (luma + 1/255), luma 0..1, for each frame.
    skips : Skips or None
        None for a hit whose splices were not looked at (`impactcut.workflow.scan.finding`).
    speech : bool, shape (n + 1,), or None
        Frames that are shown while somebody speaks (`impactcut.core.sound.speech`); None where the
        clip has no sound that could be listened to.
    """

    first: int
    rate: Fraction
    channels: tuple[Channel, ...]
    repeated: BoolArray
    boundary: BoolArray
    difference: FloatArray
    luma: FloatArray
    skips: Skips | None = None
    speech: BoolArray | None = None

    @property
    def intervals(self) -> int:
        """Number of frame intervals in the window."""
        return len(self.difference)

    def channel(self, name: str) -> Channel | None:
        """The channel of that name, if it was seen."""
        return next((c for c in self.channels if c.name == name), None)

    def without_camera(self, channel: Channel) -> Float64Array:
        """Movement of a channel less the camera's, float64 (n, 2), widths per interval.

        An interval that repeats a frame moves nothing.
        """
        background = self.channel("background")
        camera = 0.0 if background is None else background.displacement.astype(np.float64)
        moved = channel.displacement.astype(np.float64) - camera
        return np.where(self.repeated[:, None], 0.0, moved)
