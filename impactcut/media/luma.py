"""The brightness of a decoded frame, shrunk, as 8-bit full-range grey.

Where the decoder keeps luma in a plane of its own, that plane is read where it lies and shrunk by
area averages; nothing passes through RGB. Other layouts (packed, RGB, palette) are turned to grey
by FFmpeg first. Limited-range luma (16..235 in 8 bits, ITU-R BT.709-6 section 4.6) is
stretched to 0..255, so that all clips mean the same by a number; grey formats and ``yuvj`` are
full range. Of an interlaced frame only the top field is used: both fields together would show a
moving edge in two places.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import cv2
import numpy as np
from av.video.format import VideoFormat
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter
from numpy.typing import NDArray

GreyArray = NDArray[np.uint8]
_FULL_RANGE = 2
_HIGH_BITS = ("p010", "p012", "p210", "p212", "p410", "p412")


def small_luma(frame: VideoFrame, size: tuple[int, int], grey: VideoReformatter) -> GreyArray:
    """Luma of ``frame`` at ``size``.

    Parameters
    ----------
    frame : VideoFrame
        As decoded.
    size : tuple of int
        Width and height of the result.
    grey : VideoReformatter
        Turns layouts without a luma plane to grey; kept by the caller because it is slow to make.

    Returns
    -------
    uint8, shape (height, width)
        0 black, 255 white.
    """
    depth = luma_depth(frame.format.name)
    if depth is None or frame.planes[0].line_size < 0:
        frame = grey.reformat(frame, format="gray")
        depth = 8
    rows = _rows(frame, depth)
    if frame.interlaced_frame:
        rows = rows[::2]
    shrunk = cv2.resize(rows, size, interpolation=cv2.INTER_AREA)
    return _full_range(shrunk, depth, _is_limited(frame))


@lru_cache(maxsize=64)
def luma_depth(name: str) -> int | None:
    """Bits of luma in pixel format ``name``, or None if it has no plane of luma alone."""
    layout = VideoFormat(name)
    first = [part for part in layout.components if part.plane == 0]
    packed = len(first) != 1 or layout.has_palette or layout.is_rgb or layout.is_bayer
    if packed or layout.is_big_endian or not first[0].is_luma:
        return None
    depth = 16 if name.startswith(_HIGH_BITS) else first[0].bits
    return depth if 8 <= depth <= 16 else None


def _rows(frame: VideoFrame, depth: int) -> NDArray[Any]:
    plane = frame.planes[0]
    values: NDArray[Any] = np.frombuffer(memoryview(plane), np.uint8 if depth == 8 else np.uint16)
    stride = plane.line_size // values.itemsize
    rows: NDArray[Any] = values[: stride * frame.height].reshape(frame.height, stride)
    return rows[:, : frame.width]


def _is_limited(frame: VideoFrame) -> bool:
    name = frame.format.name
    return frame.color_range != _FULL_RANGE and not name.startswith(("yuvj", "gray", "ya"))


def _full_range(luma: NDArray[Any], depth: int, limited: bool) -> GreyArray:
    unit = 1 << (depth - 8)
    black, span = (16 * unit, 219 * unit) if limited else (0, (1 << depth) - 1)
    stretched: NDArray[np.float32] = (luma.astype(np.float32) - black) * (255 / span)
    return np.rint(np.clip(stretched, 0, 255)).astype(np.uint8)
