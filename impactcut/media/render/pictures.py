"""Frames of a clip as pictures to look at: in colour, upright, shrunk, and compressed one by one.

Pictures marked with no colour matrix are taken for ITU-R BT.709 from 720 lines up and for BT.601
below, as players do (common practice, no source). What a log or wide-gamut recording holds is shown
as it is.
"""

from __future__ import annotations

from collections.abc import Generator, Mapping
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Final, Literal

import cv2
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from numpy.typing import NDArray

from impactcut.core.time.frames import FrameRange
from impactcut.errors import NotMediaError
from impactcut.media.decode.frames import Make, decode_frames
from impactcut.media.decode.luma import is_full_range, top_field
from impactcut.media.decode.picture import PictureShape

Colour = tuple[int, int, int]
"""Blue, green, red."""
PictureFormat = Literal["jpeg", "webp"]
Pixels = NDArray[np.uint8]

_FONT: Final = cv2.FONT_HERSHEY_SIMPLEX
_UNMARKED: Final = 2
_LINES_OF_HD: Final = 720
_SUFFIXES: Mapping[PictureFormat, str] = {"jpeg": ".jpg", "webp": ".webp"}
_QUALITIES: Mapping[PictureFormat, int] = {
    "jpeg": cv2.IMWRITE_JPEG_QUALITY,
    "webp": cv2.IMWRITE_WEBP_QUALITY,
}


@dataclass(frozen=True, eq=False)
class Picture:
    """One frame to look at.

    Parameters
    ----------
    index : int
        Counted from 0 at the clip's first decoded frame, in display order.
    pixels : uint8, shape (height, width, 3)
        Blue, green, red; upright, square pixels.
    """

    index: int
    pixels: Pixels


def read_pictures(
    path: Path, wanted: FrameRange, *, width: int, frames: int | None = None
) -> tuple[Picture, ...]:
    """The frames ``wanted`` of a clip, all at once; else as `stream_pictures`."""
    return tuple(stream_pictures(path, wanted, width=width, frames=frames))


def stream_pictures(
    path: Path, wanted: FrameRange, *, width: int, frames: int | None = None
) -> Generator[Picture, None, None]:
    """The frames ``wanted`` of a clip, one by one.

    Parameters
    ----------
    path : Path
        A clip.
    wanted : FrameRange
        In the clip's frames.
    width : int
        Width of the pictures, in pixels as shown; a smaller picture keeps its own.
    frames : int, optional
        How many frames of the clip decode, once that is known; see `read_frames`.

    Yields
    ------
    Picture
        In order; the file is closed at the end, or when the generator is closed.

    Raises
    ------
    MediaError
        If the file cannot be read, or does not hold all of the frames.
    """
    if width < 1 or not len(wanted):
        raise ValueError(f"no picture is {width} pixels wide, or no frame is wanted")

    def shrinker(shape: PictureShape) -> Make[Picture]:
        return partial(_picture, shape, width, VideoReformatter())

    with closing(decode_frames(path, shrinker, start=wanted.start, frames=frames)) as decoding:
        found = 0
        for picture in islice(decoding, len(wanted)):
            yield picture
            found += 1
    if found < len(wanted):
        raise NotMediaError(
            f"{path}: frames {wanted.start} to {wanted.stop - 1} cannot be decoded; "
            "check the file, and scan it again with 'impactcut scan --again'"
        )


def shrink(picture: Picture, width: int) -> Picture:
    """The picture at ``width``, never enlarged."""
    height, wide = picture.pixels.shape[:2]
    if width >= wide:
        return picture
    size = (width, max(1, round(width * height / wide)))
    pixels = cv2.resize(picture.pixels, size, interpolation=cv2.INTER_AREA)
    return Picture(picture.index, np.asarray(pixels, np.uint8))


def compress(picture: Picture, form: PictureFormat, quality: int) -> bytes:
    """The picture as a JPEG or WebP file.

    Parameters
    ----------
    quality : int
        1 (smallest) to 100.
    """
    done, data = cv2.imencode(_SUFFIXES[form], picture.pixels, [_QUALITIES[form], quality])
    if not done:
        raise ValueError(f"frame {picture.index} cannot be written as {form}")
    return data.tobytes()


def text_size(text: str, scale: float) -> tuple[int, int]:
    """Width and height of plain ASCII in pixels; ``scale`` is in units of the font."""
    wide, high = cv2.getTextSize(text, _FONT, scale, 1)[0]
    return wide, high


def fitting_scale(text: str, scale: float, room: int) -> float:
    """The scale, or less where the text would be wider than ``room`` pixels."""
    return scale * min(1.0, room / max(1, text_size(text, scale)[0]))


def write_text(area: Pixels, text: str, at: tuple[int, int], scale: float, colour: Colour) -> None:
    """Write plain ASCII into a picture, its baseline beginning at x, y."""
    cv2.putText(area, text, at, _FONT, scale, colour, 1, cv2.LINE_AA)


def _picture(
    shape: PictureShape, width: int, scaler: VideoReformatter, index: int, frame: VideoFrame
) -> Picture:
    pixels = top_field(_colours, frame, shape.small(width), scaler)
    return Picture(index, shape.upright(pixels))


def _colours(frame: VideoFrame, size: tuple[int, int], scaler: VideoReformatter) -> Pixels:
    unmarked_hd = frame.colorspace == _UNMARKED and frame.height >= _LINES_OF_HD
    converted = scaler.reformat(
        frame,
        *size,
        format="bgr24",
        interpolation=Interpolation.AREA,
        src_colorspace=Colorspace.ITU709 if unmarked_hd else None,
        src_color_range=ColorRange.JPEG if is_full_range(frame) else ColorRange.MPEG,
    )
    return np.asarray(converted.to_ndarray(), np.uint8)
