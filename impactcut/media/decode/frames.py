"""Small grey frames of a clip, one after another, without keeping more than a few."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Generic, TypeVar

import cv2
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter
from av.video.stream import VideoStream

from impactcut.media.decode.ahead import read_ahead
from impactcut.media.decode.jump import landing, packets_before, places
from impactcut.media.decode.luma import GreyArray, small_luma
from impactcut.media.decode.open import open_video
from impactcut.media.decode.packets import (
    Undecoded,
    decoded,
    first_frame,
    leave_out_colour,
    until_first,
    use_threads,
)
from impactcut.media.decode.picture import PictureShape, picture_shape
from impactcut.media.decode.spacing import survey

NO_STAMP = -1
_AHEAD = 96
"""Small frames that wait while earlier ones are measured: about as many as decode while hits are
looked for in a stretch, so that decoding goes on meanwhile."""


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
    """

    index: int
    stamp: int
    luma: GreyArray

    @property
    def brightness(self) -> float:
        """Mean luma, 0..1."""
        return float(cv2.sumElems(self.luma)[0]) / self.luma.size / 255


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
Made = TypeVar("Made")
Make = Callable[[int, VideoFrame], Made]
"""Makes a value of a frame's index and the frame as decoded."""


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
        Called with each `Loss`, from another thread; reading then goes on behind it.

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
    if width < 1:
        raise ValueError(f"width ({width}) must be at least 1")

    def shrinker(shape: PictureShape) -> Make[LumaFrame]:
        return partial(_shrunk, shape, width, VideoReformatter())

    if start < 0:
        raise ValueError(f"start ({start}) must be at least 0")
    heard = on_loss or _unheard
    wanted = _Wanted(shrinker, start, frames, heard, colour=False)
    return read_ahead(_frames(path, wanted), _AHEAD)


def decode_frames(
    path: Path,
    maker: Callable[[PictureShape], Make[Made]],
    *,
    start: int = 0,
    frames: int | None = None,
) -> Generator[Made, None, None]:
    """Decode ``path`` from frame ``start`` on, and make something of every frame.

    Parameters
    ----------
    path : Path
        A clip.
    maker : callable
        Called once with the clip's shape; gives what is then called with each frame.
    start, frames
        As for `read_frames`.

    Yields
    ------
    object
        What was made, in display order.

    Raises
    ------
    MediaError
        If the file cannot be opened, or reading it fails part of the way.
    ValueError
        If ``start`` is too small.
    """
    if start < 0:
        raise ValueError(f"start ({start}) must be at least 0")
    return _frames(path, _Wanted(maker, start, frames, _unheard))


@dataclass(frozen=True)
class _Wanted(Generic[Made]):
    maker: Callable[[PictureShape], Make[Made]]
    start: int
    frames: int | None
    on_loss: OnLoss
    colour: bool = True


def _frames(path: Path, wanted: _Wanted[Made]) -> Generator[Made, None, None]:
    if wanted.start:
        with open_video(path) as (container, stream):
            first = first_frame(path, container, stream)
            make = wanted.maker(picture_shape(stream, first))
        if (yield from _after_jump(path, first, make, wanted)):
            return
    with open_video(path) as (container, stream):
        _prepare(stream, wanted)
        items = decoded(path, stream, container.demux(stream))
        begun = until_first(path, items)
        make = wanted.maker(picture_shape(stream, begun[-1]))
        yield from _numbered(chain(begun, items), 0, make, wanted)


def _prepare(stream: VideoStream, wanted: _Wanted[Made]) -> None:
    use_threads(stream)
    if not wanted.colour:
        leave_out_colour(stream)


def _after_jump(
    path: Path, first: VideoFrame, make: Make[Made], wanted: _Wanted[Made]
) -> Generator[Made, None, bool]:
    """Frames reached by a jump; False, and none, if all before them must be decoded."""
    place = places(survey(path), first)
    if wanted.frames not in (None, place.frames):
        return False
    with open_video(path) as (container, stream):
        _prepare(stream, wanted)
        items = decoded(path, stream, packets_before(container, stream, place, wanted.start))
        landed = landing(items, place, wanted.start)
        if landed is None:
            return False
        yield make(wanted.start, landed)
        yield from _numbered(items, wanted.start + 1, make, wanted)
    return True


def _numbered(
    items: Iterator[VideoFrame | Undecoded], index: int, make: Make[Made], wanted: _Wanted[Made]
) -> Generator[Made, None, None]:
    for item in items:
        if isinstance(item, Undecoded):
            wanted.on_loss(Loss(index, item.reason))
            continue
        if index >= wanted.start:
            yield make(index, item)
        index += 1


def _shrunk(
    shape: PictureShape, width: int, grey: VideoReformatter, index: int, frame: VideoFrame
) -> LumaFrame:
    stamp = NO_STAMP if frame.pts is None else frame.pts
    return LumaFrame(index, stamp, shape.upright(small_luma(frame, shape.small(width), grey)))


def _unheard(loss: Loss) -> None:
    """Stand in for a caller who does not ask."""
