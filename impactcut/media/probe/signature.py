"""Telling from a file's first bytes whether it may hold moving pictures, whatever its name.

The marks are those of ISO/IEC 14496-12 (MP4, MOV: a box type at byte 4), RFC 8794 (Matroska,
WebM), RIFF (AVI), SMPTE ST 377-1 (MXF: the key of a partition pack), ISO/IEC 13818-1 (transport and
program streams), RFC 3533 (Ogg), the ASF header object and the FLV header. Brands of still pictures
and of sound alone are those of ISO/IEC 23008-12 and of the MP4 registration authority.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

_HEAD: Final = 1024
_BOXES: Final = (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip")
_STILL_OR_SOUND: Final = (b"heic", b"heix", b"mif1", b"avif", b"crx ", b"M4A ", b"M4B ")
_MARKS: Final = (
    b"\x1a\x45\xdf\xa3",
    bytes.fromhex("060e2b34020501010d0102"),
    bytes.fromhex("3026b2758e66cf11"),
    bytes.fromhex("000001ba"),
    b"FLV\x01",
    b"OggS",
)
_PACKETS: Final = (188, 192)
"""Bytes of a transport packet: 192 with a clock of 4 bytes before; a recording may begin in one."""
_IN_A_ROW: Final = 5
_SYNC: Final = 0x47


def may_hold_pictures(path: Path) -> bool:
    """Whether the file begins as one with moving pictures does; False if it cannot be read."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError:
        return False
    return _is_box(head) or _is_avi(head) or head.startswith(_MARKS) or _is_transport(head)


def _is_box(head: bytes) -> bool:
    still = head[4:8] == b"ftyp" and head[8:12] in _STILL_OR_SOUND
    return head[4:8] in _BOXES and not still


def _is_avi(head: bytes) -> bool:
    return head[:4] == b"RIFF" and head[8:12] == b"AVI "


def _is_transport(head: bytes) -> bool:
    return any(
        head[first : first + _IN_A_ROW * length : length].count(_SYNC) == _IN_A_ROW
        for length in _PACKETS
        for first in range(length)
    )
