"""Opening a media file for reading, with every way that can fail said in plain words."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, NoReturn

import av
from av.container import InputContainer
from av.error import FFmpegError
from av.stream import Disposition
from av.video.stream import VideoStream

from impactcut.errors import MediaError, NotMediaError, NoVideoError, UnreadableMediaError

_TEXT_FORMATS = frozenset({"tty"})
_LISTS_OF_FILES = frozenset({"hls", "dash", "concat", "imf", "sdp"})
"""What only points to media elsewhere, as FFmpeg names the formats."""
_LOCAL = {"protocol_whitelist": "file", "enable_drefs": "0"}
"""Nothing that a file says makes FFmpeg open a network address, or a MOV's other files."""
_END = 1 << 16
_STILL_FORMATS = frozenset({"image2"})


@contextmanager
def open_video(path: Path) -> Iterator[tuple[InputContainer, VideoStream]]:
    """Open ``path`` and choose its moving picture; the file is closed on leaving.

    Of several pictures the default one is taken, then the largest; cover pictures are none.

    Raises
    ------
    UnreadableMediaError
        If the file is missing, a folder, or may not be read.
    NotMediaError
        If its bytes are no media file, or no decoder is known for its picture.
    NoVideoError
        If it has sound only, a cover picture only, or is a still picture.
    """
    _check_readable(path)
    try:
        # "file:" keeps a colon in a name from being taken for a network protocol.
        container = av.open(f"file:{path}", metadata_errors="replace", options=_LOCAL)
    except FFmpegError as error:
        if error.errno == errno.EIO and _ends_can_be_read(path):
            raise NotMediaError(
                f"{path}: breaks off before its first picture, or is damaged; copy it again from "
                "the card"
            ) from error
        raise_media_error(path, error)
    with container:
        yield container, _moving_picture(path, container)


@contextmanager
def open_bytes(path: Path) -> Iterator[BinaryIO]:
    """Open ``path`` for reading its bytes; the file is closed on leaving.

    Raises
    ------
    UnreadableMediaError
        If the file is missing, may not be read, or reading it fails inside the block.
    """
    try:
        with path.open("rb") as file:
            yield file
    except FileNotFoundError as error:
        raise UnreadableMediaError(
            f"{path}: no such file; check the name, and that its disk is connected"
        ) from error
    except PermissionError as error:
        raise UnreadableMediaError(
            f"{path}: may not be read; ask for read permission, or copy it to your own disk"
        ) from error
    except OSError as error:
        raise UnreadableMediaError(
            f"{path}: cannot be read ({error.strerror}); check the disk or the network"
        ) from error


def raise_media_error(path: Path, error: FFmpegError) -> NoReturn:
    """Raise what an FFmpeg error means for the person who named ``path``."""
    raise _as_media_error(path, error) from error


def _as_media_error(path: Path, error: FFmpegError) -> MediaError:
    # Demuxers say "not permitted" of content; of a file that was opened the system does not.
    if isinstance(error, OSError) and not isinstance(error, (ValueError, PermissionError)):
        return UnreadableMediaError(
            f"{path}: cannot be read ({error.strerror}); check the disk or the network, and copy "
            "the file again if they are sound"
        )
    return NotMediaError(
        f"{path}: is not a media file that can be decoded ({error.strerror}); "
        "copy it again from the card, or transcode it"
    )


def _ends_can_be_read(path: Path) -> bool:
    """Whether the disk gives the file's first and last bytes.

    Demuxers say "input/output error", too, where a file ends in the middle of its header.
    """
    try:
        with path.open("rb") as file:
            file.read(_END)
            file.seek(-min(_END, file.seek(0, os.SEEK_END)), os.SEEK_END)
            file.read()
    except OSError:
        return False
    return True


def _check_readable(path: Path) -> None:
    if path.is_dir():
        raise UnreadableMediaError(f"{path}: is a folder; name a media file inside it")
    with open_bytes(path) as file:
        first = file.read(1)
    if not first:
        raise NotMediaError(f"{path}: is empty; copy it again from the card")


def _moving_picture(path: Path, container: InputContainer) -> VideoStream:
    form = container.format.name
    if form in _TEXT_FORMATS:
        raise NotMediaError(f"{path}: is a text file; name a media file")
    if form.split(",")[0] in _LISTS_OF_FILES:
        raise NotMediaError(f"{path}: is a list of media files; name the clips themselves")
    if form in _STILL_FORMATS or form.endswith("_pipe"):
        raise NoVideoError(f"{path}: is a still picture; name a clip with moving picture")
    covers = [s for s in container.streams.video if s.disposition & Disposition.attached_pic]
    pictures = [s for s in container.streams.video if s not in covers]
    if not pictures:
        holds = "sound and a cover picture" if covers else "no picture"
        raise NoVideoError(f"{path}: has {holds}; name the clip that goes with it")
    chosen = max(pictures, key=_prominence)
    if chosen.codec_context is None:
        raise NotMediaError(f"{path}: no decoder is known for its picture; transcode it")
    return chosen


def _prominence(stream: VideoStream) -> tuple[bool, int]:
    size = 0 if stream.codec_context is None else stream.width * stream.height
    return bool(stream.disposition & Disposition.default), size
