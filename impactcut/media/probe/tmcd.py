"""The counting rate of a MOV or MP4 file's timecode track, which PyAV does not show.

The track's sample description holds a time scale and the duration of one timecode frame in it
(QuickTime File Format, "Timecode sample description"; box structure as in ISO/IEC 14496-12).
Cameras at 50 and more frames a second may let one timecode frame stand for two pictures.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

from impactcut.media.decode.open import open_bytes

_TO_DESCRIPTIONS = (b"moov", b"trak", b"mdia", b"minf", b"stbl", b"stsd")
_LIST_HEADER = 8
_SCALE_AT = 16


def timecode_track_rate(path: Path) -> Fraction | None:
    """Timecode frames per second of the first timecode track in ``path``, or None without one.

    Only box headers on the way are read, never the picture.

    Raises
    ------
    UnreadableMediaError
        If the file is missing, or may not be read.
    """
    with open_bytes(path) as file:
        end = path.stat().st_size
        for start, stop in _inside(file, 0, end, _TO_DESCRIPTIONS):
            for kind, body, _ in _boxes(file, start + _LIST_HEADER, stop):
                if kind == b"tmcd":
                    return _rate(file, body)
    return None


def _rate(file: BinaryIO, body: int) -> Fraction | None:
    file.seek(body + _SCALE_AT)
    field = file.read(8)
    scale, duration = struct.unpack(">II", field) if len(field) == 8 else (0, 0)
    return Fraction(scale, duration) if scale and duration else None


def _inside(
    file: BinaryIO, start: int, stop: int, kinds: tuple[bytes, ...]
) -> Iterator[tuple[int, int]]:
    if not kinds:
        yield start, stop
        return
    for kind, body, end in _boxes(file, start, stop):
        if kind == kinds[0]:
            yield from _inside(file, body, end, kinds[1:])


def _boxes(file: BinaryIO, start: int, stop: int) -> Iterator[tuple[bytes, int, int]]:
    while start + 8 <= stop:
        file.seek(start)
        size, kind = struct.unpack(">I4s", file.read(8))
        body = start + 8
        if size == 1:
            size, body = int.from_bytes(file.read(8)), body + 8
        elif size == 0:
            size = stop - start
        if size < body - start:
            return
        yield kind, body, min(start + size, stop)
        start += size
