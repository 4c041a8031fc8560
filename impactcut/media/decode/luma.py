"""The brightness of a decoded frame, shrunk, as 8-bit full-range grey.

FFmpeg's scaler takes the decoder's luma plane, whatever its depth and layout, and averages areas
of it in one pass and one thread, since waiting for others costs more than they save; only pictures
stored as RGB are converted. Limited-range luma (16..235 in 8 bits, ITU-R BT.709-6 section 4.6) is
stretched to 0..255, so that a number means the same in every clip; grey, RGB and ``yuvj`` formats,
and pictures marked so, are full range already.

Of an interlaced frame only the top field is used: both fields together would show a moving edge
in two places.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Interpolation, VideoReformatter
from numpy.typing import NDArray

GreyArray = NDArray[np.uint8]
_FULL_RANGE_FORMATS = ("yuvj", "gray", "ya")

_NO_MATRIX = 2
"""Matrix coefficients "unspecified" (ITU-T H.273, table 4): with any others the scaler goes through
RGB, which mixes colour into the brightness of saturated things."""


def small_luma(frame: VideoFrame, size: tuple[int, int], scaler: VideoReformatter) -> GreyArray:
    """Luma of ``frame`` at ``size``.

    Parameters
    ----------
    frame : VideoFrame
        As decoded. Forgets its matrix coefficients.
    size : tuple of int
        Width and height of the result, no larger than the frame.
    scaler : VideoReformatter
        Kept by the caller from frame to frame, because setting one up takes long.

    Returns
    -------
    uint8, shape (height, width)
        0 black, 255 white.
    """
    return top_field(_grey, frame, size, scaler)


def top_field(
    convert: Callable[[VideoFrame, tuple[int, int], VideoReformatter], GreyArray],
    frame: VideoFrame,
    size: tuple[int, int],
    scaler: VideoReformatter,
) -> GreyArray:
    """What ``convert`` makes of a frame at ``size``; of an interlaced one, of its top field."""
    if not frame.interlaced_frame:
        return convert(frame, size, scaler)
    field = convert(frame, (frame.width, frame.height), scaler)[::2]
    return cv2.resize(field, size, interpolation=cv2.INTER_AREA).astype(np.uint8, copy=False)


def _grey(frame: VideoFrame, size: tuple[int, int], scaler: VideoReformatter) -> GreyArray:
    if not frame.format.is_rgb:
        frame.colorspace = _NO_MATRIX
    grey = scaler.reformat(
        frame,
        *size,
        format="gray",
        interpolation=Interpolation.AREA,
        src_color_range=ColorRange.JPEG if is_full_range(frame) else ColorRange.MPEG,
        dst_color_range=ColorRange.JPEG,
        threads=1,
    )
    return grey.to_ndarray().astype(np.uint8, copy=False)


def is_full_range(frame: VideoFrame) -> bool:
    """Whether black is stored as 0 and white as the highest number."""
    layout = frame.format
    named = layout.is_rgb or layout.name.startswith(_FULL_RANGE_FORMATS)
    return named or frame.color_range == ColorRange.JPEG
