"""Small grey frames of a clip, one after another, without keeping more than a few."""

from __future__ import annotations

import os
from collections.abc import Callable, Generator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from av.container import InputContainer
from av.error import EOFError as EndOfFile
from av.error import FFmpegError
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter
from av.video.stream import VideoStream

from impactcut.media.luma import GreyArray, small_luma
from impactcut.media.open import open_video, raise_media_error
from impactcut.media.picture import PictureShape, picture_shape

_MOST_THREADS = 4
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
    """Bytes of a clip that could not be decoded.

    Parameters
    ----------
    before : int
        Index of the next frame that did decode, or would have.
    reason : str
        What the decoder said.
    """

    before: int
    reason: str


OnLoss = Callable[[Loss], None]


def read_frames(
    path: Path, *, width: int = 480, start: int = 0, on_loss: OnLoss | None = None
) -> Generator[LumaFrame, None, None]:
    """Decode ``path`` from frame ``start`` on.

    Parameters
    ----------
    path : Path
        A clip.
    width : int
        Width of the frames that come out, in pixels of the picture as shown; smaller pictures
        keep theirs. All frames have the size that the first one gets.
    start : int
        First frame wanted. In evenly spaced clips the decoder jumps to the keyframe before it.
        Behind damage, a frame's number then follows from its time stamp.
    on_loss : callable, optional
        Called with each `Loss`; damaged stretches are skipped and reading goes on.

    Yields
    ------
    LumaFrame
        In display order. The file is closed at the end, or when the iterator is closed.

    Raises
    ------
    MediaError
        If the file cannot be opened, or reading it fails part of the way.
    """
    if width < 1 or start < 0:
        raise ValueError(f"width ({width}) must be at least 1 and start ({start}) at least 0")
    return _frames(path, width, start, on_loss or _unheard)


def _frames(
    path: Path, width: int, start: int, on_loss: OnLoss
) -> Generator[LumaFrame, None, None]:
    with open_video(path) as (container, stream):
        _use_threads(stream)
        grey = VideoReformatter()
        shape: PictureShape | None = None
        with closing(_decoded(path, container, stream, on_loss)) as frames:
            for index, frame in enumerate(frames):
                shape = shape or picture_shape(stream, frame)
                if index >= start:
                    yield _shrunk(index, frame, shape, width, grey)


def _shrunk(
    index: int, frame: VideoFrame, shape: PictureShape, width: int, grey: VideoReformatter
) -> LumaFrame:
    wide, high = shape.small(width)
    stored = (high, wide) if shape.on_its_side else (wide, high)
    luma = small_luma(frame, stored, grey)
    upright = np.ascontiguousarray(np.rot90(luma, -shape.rotation // 90))
    stamp = NO_STAMP if frame.pts is None else frame.pts
    return LumaFrame(index, stamp, upright, frame.is_corrupt)


def _decoded(
    path: Path, container: InputContainer, stream: VideoStream, on_loss: OnLoss
) -> Generator[VideoFrame, None, None]:
    count = 0
    packets = container.demux(stream)
    packet: Packet[VideoStream] | None
    while True:
        try:
            packet = next(packets, None)
            frames = [] if packet is None else packet.decode()
        except EndOfFile:
            return
        except FFmpegError as error:
            if isinstance(error, OSError):
                raise_media_error(path, error)
            on_loss(Loss(count, str(error.strerror)))
            continue
        if packet is None:
            return
        for frame in frames:
            yield frame
            count += 1


def _use_threads(stream: VideoStream) -> None:
    stream.thread_type = "AUTO"
    stream.thread_count = min(_MOST_THREADS, os.cpu_count() or 1)


def _unheard(loss: Loss) -> None:
    """Stand in for a caller who does not ask."""
