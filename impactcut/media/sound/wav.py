"""Sound files that know their place in the day: 24-bit WAV with a broadcast extension chunk.

The ``bext`` chunk follows EBU Tech 3285 version 1: fixed-length text in ASCII, filled up with
zeros, then the time reference in samples since midnight, and a coding history as in EBU R 98. Its
date and time of origin are left empty: they would make every copy of the same project different.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.errors import ListFormatError

_BITS, _SAMPLE_BYTES = 24, 3
_FULL_SCALE = 2 ** (_BITS - 1)
_BEXT = struct.Struct("<256s32s32s10s8sIIH64s190x")
_BEXT_VERSION = 1
_PCM = 1
_MOST_DATA = 2**32 - 2**16


@dataclass(frozen=True)
class Origin:
    """What the file says of itself.

    Parameters
    ----------
    description : str
        At most 256 characters of ASCII.
    originator : str
        At most 32 characters of ASCII.
    time_reference : int
        Samples from midnight to the first sample.
    """

    description: str
    originator: str
    time_reference: int


def write_wav(
    file: BinaryIO, blocks: Iterable[NDArray[np.float32]], shape: tuple[int, int], origin: Origin
) -> None:
    """Write sound as 48 kHz 24-bit WAV.

    Parameters
    ----------
    file : binary file
        Written from where it stands.
    blocks : iterable of float32, shape (n, channels)
        The sound in order, full scale 1; what lies beyond is held at full scale.
    shape : tuple of int
        Samples and channels (1 or 2) of it all.
    origin : Origin

    Raises
    ------
    ListFormatError
        If the sound is too long for the four gigabytes that the format can count.
    ValueError
        If the blocks do not add up to ``shape``.
    """
    samples, channels = shape
    data_bytes = samples * channels * _SAMPLE_BYTES
    check_length(samples, channels)
    file.write(_head(channels, data_bytes, origin))
    written = 0
    for block in blocks:
        written += file.write(_words(block))
    if written != data_bytes:
        raise ValueError(f"{written} bytes of sound were made, not {data_bytes}")
    file.write(bytes(data_bytes % 2))


def check_length(samples: int, channels: int) -> None:
    """Refuse sound too long for the four gigabytes that the format can count.

    Raises
    ------
    ListFormatError
    """
    if samples * channels * _SAMPLE_BYTES > _MOST_DATA:
        raise ListFormatError(
            f"{samples / SAMPLE_RATE / 3600:.1f} hours of sound do not fit a WAV file; "
            "make one for each clip"
        )


def _head(channels: int, data_bytes: int, origin: Origin) -> bytes:
    chunks = _chunk(b"bext", _bext(channels, origin)) + _chunk(b"fmt ", _format(channels))
    riff_bytes = 4 + len(chunks) + 8 + data_bytes + data_bytes % 2
    return (
        b"RIFF" + struct.pack("<I", riff_bytes) + b"WAVE" + chunks
        + b"data" + struct.pack("<I", data_bytes)
    )  # fmt: skip


def _chunk(name: bytes, content: bytes) -> bytes:
    return name + struct.pack("<I", len(content)) + content + bytes(len(content) % 2)


def _bext(channels: int, origin: Origin) -> bytes:
    mode = {1: "mono", 2: "stereo"}[channels]
    history = f"A=PCM,F={SAMPLE_RATE},W={_BITS},M={mode},T={origin.originator}\r\n"
    high, low = divmod(origin.time_reference, 2**32)
    fixed = _BEXT.pack(
        origin.description.encode("ascii"), origin.originator.encode("ascii"),
        b"", b"", b"", low, high, _BEXT_VERSION, b"",
    )  # fmt: skip
    return fixed + history.encode("ascii")


def _format(channels: int) -> bytes:
    frame_bytes = channels * _SAMPLE_BYTES
    return struct.pack(
        "<HHIIHH", _PCM, channels, SAMPLE_RATE, SAMPLE_RATE * frame_bytes, frame_bytes, _BITS
    )


def _words(block: NDArray[np.float32]) -> bytes:
    levels = np.rint(block.astype(np.float64) * _FULL_SCALE)
    words = np.clip(levels, -_FULL_SCALE, _FULL_SCALE - 1).astype("<i4")
    return bytes(words.reshape(-1, 1).view(np.uint8)[:, :_SAMPLE_BYTES].tobytes())
