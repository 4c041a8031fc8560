"""Going to a frame of a clip without decoding all that lies before it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain

import numpy as np
from av.container import InputContainer
from av.error import FFmpegError
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from impactcut.media.decode.packets import Undecoded
from impactcut.media.decode.spacing import Spacing, Stamps

_MOST_DOUBLINGS = 6


@dataclass(frozen=True, eq=False)
class Places:
    """Which frame is shown when: from the number of a frame to its time stamp and back.

    Parameters
    ----------
    first : int or None
        Stamp of the first decoded frame, in ticks; None if the clip has no time stamps.
    frames : int
        Frames from the first on.
    ticks : Fraction
        Ticks from one frame to the next, used where there are no ``stamps``.
    stamps : int64, shape (frames,), or None
        Stamps of all frames, in display order.
    """

    first: int | None
    frames: int
    ticks: Fraction
    stamps: Stamps | None

    def stamp(self, index: int) -> int | None:
        """Stamp of frame ``index``, if it has one."""
        if self.first is None or index >= self.frames:
            return None
        if self.stamps is None:
            return self.first + round(index * self.ticks)
        return int(self.stamps[index])

    def index(self, stamp: int) -> int:
        """Frame shown at ``stamp``, in a clip that has stamps."""
        if self.stamps is not None:
            return int(np.searchsorted(self.stamps, stamp))
        return round((stamp - (self.first or 0)) / self.ticks)


def places(spacing: Spacing, first: VideoFrame) -> Places:
    """Places of the frames of a clip, given the first that decodes."""
    if spacing.stamps is None or first.pts is None:
        return Places(first.pts, spacing.frames, spacing.ticks, None)
    stamps = spacing.stamps[spacing.stamps >= first.pts]
    return Places(first.pts, len(stamps), spacing.ticks, stamps)


def packets_before(
    container: InputContainer, stream: VideoStream, place: Places, index: int
) -> Iterator[Packet[VideoStream]]:
    """Packets from a keyframe shown no later than frame ``index`` on; none if none is found.

    Containers index keyframes by decoding time, so the nearest may be shown later than the frame
    wanted, and frames between need the keyframe before: then the search steps back.
    """
    stamp = place.stamp(index)
    if stamp is None:
        return iter(())
    for back in (0, *(2**k for k in range(_MOST_DOUBLINGS))):
        packets = container.demux(stream)
        try:
            container.seek(stamp - round(back / (stream.time_base or 1)), stream=stream)
            head = _first_keyframe(packets, stamp)
        except FFmpegError:
            return iter(())
        if head is not None:
            return chain((head,), packets)
    return iter(())


def _first_keyframe(
    packets: Iterator[Packet[VideoStream]], stamp: int
) -> Packet[VideoStream] | None:
    """The first keyframe, if it is shown by ``stamp``; streams may be entered between keyframes."""
    for packet in packets:
        if packet.pts is None or (packet.dts is not None and packet.dts > stamp):
            return None
        if packet.is_keyframe:
            return packet if packet.pts <= stamp else None
    return None


def landing(
    items: Iterator[VideoFrame | Undecoded], place: Places, index: int
) -> VideoFrame | None:
    """Frame ``index`` out of decoded frames that begin at or before it; None if it is not there."""
    for item in items:
        if isinstance(item, Undecoded):
            continue
        found = -1 if item.pts is None else place.index(item.pts)
        if found >= index:
            return item if found == index else None
    return None
