"""The shape of a picture as shown: turned upright, with square pixels."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import atan2, degrees
from typing import cast

import numpy as np
from av.sidedata.sidedata import SideData
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

_WIDEST_PIXEL = 4


@dataclass(frozen=True)
class PictureShape:
    """How a stored picture is shown.

    Parameters
    ----------
    width, height : int
        As shown.
    rotation : int
        Degrees clockwise that the stored picture is turned for showing: 0, 90, 180 or 270.
    pixel_aspect : Fraction
        Width of a stored pixel over its height.
    """

    width: int
    height: int
    rotation: int
    pixel_aspect: Fraction

    def small(self, width: int) -> tuple[int, int]:
        """Size as stored of the picture shrunk to ``width`` as shown, never enlarged."""
        wide = max(1, min(width, self.width))
        high = max(1, round(wide * self.height / self.width))
        return (high, wide) if self.rotation in (90, 270) else (wide, high)

    def upright(self, stored: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """A picture as shown, contiguous; uint8, shape (height, width) or (height, width, 3)."""
        return np.ascontiguousarray(np.rot90(stored, -self.rotation // 90))


def picture_shape(stream: VideoStream, frame: VideoFrame) -> PictureShape:
    """Shape of a clip, from its stream and its first decoded frame."""
    aspect = stream.sample_aspect_ratio or Fraction(1)
    if not Fraction(1, _WIDEST_PIXEL) <= aspect <= _WIDEST_PIXEL:
        aspect = Fraction(1)
    rotation = _rotation(frame)
    width, height = max(1, round(frame.width * aspect)), frame.height
    if rotation in (90, 270):
        width, height = height, width
    return PictureShape(width, height, rotation, aspect)


def _rotation(frame: VideoFrame) -> int:
    """Where the display matrix turns "down", so that a mirrored picture is upright too.

    The matrix takes (x, y) to (x * m[0] + y * m[3], x * m[1] + y * m[4]), y downwards (ISO/IEC
    14496-12, track header box).
    """
    data = cast(SideData | None, frame.side_data.get("DISPLAYMATRIX"))
    if data is None:
        return 0
    matrix = np.frombuffer(bytes(data), np.int32)
    clockwise = degrees(atan2(-float(matrix[3]), float(matrix[4])))
    return round(clockwise / 90) % 4 * 90
