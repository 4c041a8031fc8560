"""Measured arrays as compressed bytes, and back; compression adds a checksum (RFC 1950)."""

from __future__ import annotations

import io
import struct
import zlib
from fractions import Fraction
from typing import Any, Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from impactcut.core.detect.trace import Trace
from impactcut.core.motion.measured import HitMotion

_TRACE = struct.Struct("<III")
_ARCHIVE: Final = b"PK"
"""How the motion begins that a program before November 2026's end kept: a NumPy archive."""


def pack_trace(trace: Trace) -> bytes:
    """A trace, but for its weights, in a third less room than a NumPy archive takes.

    It is compressed whole: stride, frames and numbers, then odds, pooled, size, and each number's
    steps from frame to frame, which change little.
    """
    head = _TRACE.pack(trace.stride, *trace.steps.shape)
    steps = np.diff(trace.steps, axis=0, prepend=np.int8(0)).T
    arrays = (trace.odds.astype("<f4"), trace.pooled.astype("<f2"), trace.size.astype("<f4"), steps)
    return zlib.compress(head + b"".join(each.tobytes() for each in arrays), 9)


def unpack_trace(data: bytes, weights: str) -> Trace:
    """The trace in ``data``; called inside `impactcut.project.rows.damage.intact`."""
    whole = zlib.decompress(data)
    stride, frames, numbers = _TRACE.unpack_from(whole)
    at = _TRACE.size
    parts: list[NDArray[Any]] = []
    for kind, count in (
        ("<f4", frames),
        ("<f2", frames),
        ("<f4", numbers),
        ("i1", frames * numbers),
    ):
        parts.append(np.frombuffer(whole, kind, count, at))
        at += parts[-1].nbytes
    odds, pooled, size, changes = parts
    steps = np.cumsum(changes.reshape(numbers, frames).T, axis=0, dtype=np.int8)
    kept = odds.astype(np.float32), pooled.astype(np.float16), steps, size.astype(np.float32)
    return Trace(weights, stride, *kept)


def pack_motion(motion: HitMotion) -> bytes:
    """The motion around a hit: its fields by name in MessagePack, compressed.

    An array is its type, its shape and its bytes, a rate a text.
    """
    return zlib.compress(msgspec.msgpack.encode(motion, enc_hook=_plain), 1)


def unpack_motion(data: bytes) -> HitMotion:
    """The motion around a hit in ``data``; called inside `impactcut.project.rows.damage.intact`."""
    if data[:2] == _ARCHIVE:
        return msgspec.convert(_of_archive(data), HitMotion, dec_hook=_made)
    return msgspec.msgpack.decode(zlib.decompress(data), type=HitMotion, dec_hook=_made)


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, value.tobytes()
    return str(value)


def _made(kind: Any, plain: Any) -> Any:
    if kind is Fraction:
        return Fraction(plain)
    if isinstance(plain, np.ndarray):
        return plain
    name, shape, data = plain
    return np.frombuffer(data, name).reshape(shape)


def _of_archive(data: bytes) -> dict[str, Any]:
    """The fields of a motion in a NumPy archive: those of channel 2 are ``2.centre`` and such."""
    try:
        with np.load(io.BytesIO(data)) as archive:
            arrays: dict[str, Any] = dict(archive)
    except Exception as error:  # a damaged archive raises whatever zip, pickle and NumPy raise
        raise ValueError("a NumPy archive that cannot be read") from error
    inner: dict[str, dict[str, Any]] = {}
    for name in [name for name in arrays if "." in name]:
        owner, _, field = name.partition(".")
        inner.setdefault(owner, {})[field] = arrays.pop(name)
    return {
        **arrays,
        "first": int(arrays["first"]),
        "rate": "/".join(map(str, arrays["rate"])),
        "channels": [
            {"name": str(name), **inner[str(number)]}
            for number, name in enumerate(arrays["channels"])
        ],
        "skips": inner.get("skips"),
    }
