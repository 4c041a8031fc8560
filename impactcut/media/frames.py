"""Small grey frames of a clip, one after another, without keeping more than a few."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter

from impactcut.media.decode import Undecoded, decoded, first_frame, use_threads
from impactcut.media.jump import landing, packets_before, places
from impactcut.media.luma import GreyArray, small_luma
from impactcut.media.open import open_video
from impactcut.media.picture import PictureShape, picture_shape
from impactcut.media.spacing import survey

NO_STAMP = -1


@dataclass(frozen=True, eq=False)
class LumaFrame:
    """One decoded frame, shrunk.

    Parameters
    ----------
    index : int
        Counted from 0 at the clip's first decoded frame, in display order.
    stamp : int
        Presentation time in ticks of the stream, or ``NO_STAMP``.
    luma : uint8, shape (height, width)
        Full-range grey, upright, square pixels.
    damaged : bool
        The decoder had to invent part of the picture.
    """

    index: int
    stamp: int
    luma: GreyArray
    damaged: bool = False


@dataclass(frozen=True)
class Loss:
    """A stretch of a clip that could not be decoded.

    Parameters
    ----------
    before : int
        Index of the next frame to come out when it was met. Decoder threads hand frames on late,
        so the place itself may lie a few frames further on.
    reason : str
        What the decoder said.
    """

    before: int
    reason: str


OnLoss = Callable[[Loss], None]


def read_frames(
    path: Path,
    *,
    width: int = 480,
    start: int = 0,
    frames: int | None = None,
    on_loss: OnLoss | None = None,
) -> Generator[LumaFrame, None, None]:
    """Decode ``path`` from frame ``start`` on.

    Parameters
    ----------
    path : Path
        A clip.
    width : int
        Width of the frames that come out, in pixels of the picture as shown; a smaller picture
        keeps its own. All frames get the size of the first.
    start : int
        First frame wanted. The decoder jumps to the keyframe before it where the file allows.
    frames : int, optional
        How many frames of the clip decode, once that is known. If the file holds another number
        there is no jump: behind what does not decode, only counting gives a frame its number.
    on_loss : callable, optional
        Called with each `Loss`; reading then goes on behind it.

    Yields
    ------
    LumaFrame
        In display order. The file is closed at the end, or when the generator is closed.

    Raises
    ------
    MediaError
        If the file cannot be opened, or reading it fails part of the way.
    ValueError
        If ``width`` or ``start`` is too small.
    """
    if width < 1 or start < 0:
        raise ValueError(f"width ({width}) must be at least 1 and start ({start}) at least 0")
    return _frames(path, _Wanted(width, start, frames, on_loss or _unheard))


@dataclass(frozen=True)
class _Wanted:
    width: int
    start: int
    frames: int | None
    on_loss: OnLoss


_Shrink = Callable[[int, VideoFrame], LumaFrame]


def _frames(path: Path, wanted: _Wanted) -> Generator[LumaFrame, None, None]:
    with open_video(path) as (container, stream):
        first = first_frame(path, container, stream)
        small = partial(_shrunk, picture_shape(stream, first), wanted.width, VideoReformatter())
    if wanted.start and (yield from _after_jump(path, first, small, wanted)):
        return
    with open_video(path) as (container, stream):
        use_threads(stream)
        items = decoded(path, stream, container.demux(stream))
        yield from _numbered(items, 0, small, wanted)


def _after_jump(
    path: Path, first: VideoFrame, small: _Shrink, wanted: _Wanted
) -> Generator[LumaFrame, None, bool]:
    """Frames reached by a jump; False, and none, if all before them must be decoded."""
    place = places(survey(path), first)
    if wanted.frames not in (None, place.frames):
        return False
    with open_video(path) as (container, stream):
        use_threads(stream)
        items = decoded(path, stream, packets_before(container, stream, place, wanted.start))
        landed = landing(items, place, wanted.start)
        if landed is None:
            return False
        yield small(wanted.start, landed)
        yield from _numbered(items, wanted.start + 1, small, wanted)
    return True


def _numbered(
    items: Iterator[VideoFrame | Undecoded], index: int, small: _Shrink, wanted: _Wanted
) -> Generator[LumaFrame, None, None]:
    for item in items:
        if isinstance(item, Undecoded):
            wanted.on_loss(Loss(index, item.reason))
            continue
        if index >= wanted.start:
            yield small(index, item)
        index += 1


def _shrunk(
    shape: PictureShape, width: int, grey: VideoReformatter, index: int, frame: VideoFrame
) -> LumaFrame:
    wide, high = shape.small(width)
    stored = (high, wide) if shape.on_its_side else (wide, high)
    luma = small_luma(frame, stored, grey)
    upright = np.ascontiguousarray(np.rot90(luma, -shape.rotation // 90))
    stamp = NO_STAMP if frame.pts is None else frame.pts
    return LumaFrame(index, stamp, upright, frame.is_corrupt)


def _unheard(loss: Loss) -> None:
    """Stand in for a caller who does not ask."""
