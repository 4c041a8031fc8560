"""Frames out of packets, whatever state the packets are in."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from av.codec.context import Flags
from av.container import InputContainer
from av.error import EOFError as EndOfFile
from av.error import FFmpegError
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from impactcut.errors import NotMediaError
from impactcut.media.decode.open import open_video, raise_media_error
from impactcut.media.decode.threads import decoder_threads

_MOST_FAILURES = 300


@dataclass(frozen=True)
class Undecoded:
    """A packet, or a stretch of the file, of which the decoder made nothing.

    Parameters
    ----------
    reason : str
        What FFmpeg says of it.
    """

    reason: str


def decoded(
    path: Path, stream: VideoStream, packets: Iterator[Packet[VideoStream]]
) -> Generator[VideoFrame | Undecoded, None, None]:
    """Frames of ``packets`` in display order; what cannot be decoded is named and passed over.

    Raises
    ------
    UnreadableMediaError
        If the disk or the network fails.
    """
    while True:
        try:
            packet = next(packets, None)
            if packet is not None and _is_cut_short(packet):
                yield Undecoded("the file ends inside a picture")
                continue
            frames = stream.decode(packet)  # None drains the decoder
        except EndOfFile:
            return
        except FFmpegError as error:
            if isinstance(error, OSError):
                raise_media_error(path, error)
            yield Undecoded(str(error.strerror))
            continue
        yield from frames
        if packet is None:
            return


def _is_cut_short(packet: Packet[VideoStream]) -> bool:
    """Whether the end of the file cuts through a packet.

    Decoding it would lose the good frames that threads hand back along with the error. In
    transport streams the mark means a gap inside, which decoders conceal.
    """
    return packet.is_corrupt and packet.stream.container.format.name != "mpegts"


def first_frame(path: Path, container: InputContainer, stream: VideoStream) -> VideoFrame:
    """The first frame of the clip that decodes.

    Raises
    ------
    NotMediaError
        If none does before hundreds of packets have failed.
    """
    return until_first(path, decoded(path, stream, container.demux(stream)))[-1]


def some_frame(path: Path, container: InputContainer, stream: VideoStream) -> VideoFrame:
    """A frame at the beginning of the clip, for what all its frames share.

    The first packet to be shown mostly gives one by itself; a decoder that may go on holds frames
    back until it has seen several more. Nothing can be read from ``container`` afterwards.

    Raises
    ------
    NotMediaError
        As `first_frame`.
    """
    alone = decoded(path, stream, _up_to_shown(container.demux(stream)))
    for item in islice(alone, _MOST_FAILURES):
        if isinstance(item, VideoFrame):
            return item
    with open_video(path) as (again, same):
        return first_frame(path, again, same)


def _up_to_shown(packets: Iterator[Packet[VideoStream]]) -> Iterator[Packet[VideoStream]]:
    """The first packet whose picture is shown, behind those that only it may need."""
    for packet in packets:
        yield packet
        if not packet.is_discard:
            return


def until_first(
    path: Path, items: Iterator[VideoFrame | Undecoded]
) -> tuple[*tuple[Undecoded, ...], VideoFrame]:
    """What comes out up to the first frame that decodes, which is the last of it.

    Raises
    ------
    NotMediaError
        If none does before hundreds of packets have failed.
    """
    failed: list[Undecoded] = []
    for item in islice(items, _MOST_FAILURES):
        if isinstance(item, VideoFrame):
            return *failed, item
        failed.append(item)
    raise NotMediaError(
        f"{path}: no frame of it decodes; copy it again from the card, or transcode it"
    )


def use_threads(stream: VideoStream) -> None:
    """Let the decoder use as many threads as this process may."""
    stream.thread_type = "AUTO"
    stream.thread_count = decoder_threads()


def leave_out_colour(stream: VideoStream) -> None:
    """Let decoders that can (of ProRes and DNxHR, say) leave the colour planes unfilled.

    The luma plane stays the same to the bit. Pictures stored as RGB have none, and keep all.
    """
    layout = stream.codec_context.format
    if layout is not None and not layout.is_rgb:
        stream.codec_context.flags |= Flags.gray
