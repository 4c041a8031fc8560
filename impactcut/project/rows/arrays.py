"""Measured arrays as compressed bytes, and back."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from dataclasses import fields
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impactcut.core.detect.trace import Trace
from impactcut.core.motion.measured import Channel, HitMotion, Skips

Arrays = dict[str, NDArray[Any]]
_TRACE = struct.Struct("<III")
_HEADER_START = 10
"""NumPy format 1.0: six bytes of magic, two of version, two that give the header's length."""


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
    """The motion around a hit as the bytes of a compressed NumPy archive."""
    arrays = _values(motion, "")
    arrays["first"] = np.array(motion.first)
    arrays["channels"] = np.array([channel.name for channel in motion.channels], dtype=np.str_)
    for number, channel in enumerate(motion.channels):
        arrays |= _values(channel, f"{number}.")
    if motion.skips is not None:
        arrays |= _values(motion.skips, "skips.")
    return _pack(arrays)


def unpack_motion(data: bytes) -> HitMotion:
    """The motion around a hit in ``data``; called inside `impactcut.project.rows.damage.intact`."""
    arrays = _unpack(data)
    channels = tuple(
        Channel(name=str(name), **_taken(arrays, f"{number}."))
        for number, name in enumerate(arrays.pop("channels"))
    )
    first, rate = int(arrays.pop("first")), _rate(arrays.pop("rate"))
    skips = _taken(arrays, "skips.")
    seen = Skips(**skips) if skips else None
    return HitMotion(first=first, rate=rate, channels=channels, skips=seen, **arrays)


def _values(value: HitMotion | Channel | Skips, prefix: str) -> Arrays:
    arrays: Arrays = {}
    for field in fields(value):
        content = getattr(value, field.name)
        if isinstance(content, Fraction):
            content = np.array([content.numerator, content.denominator], dtype=np.int64)
        if isinstance(content, np.ndarray):
            arrays[prefix + field.name] = content
    return arrays


def _taken(arrays: Arrays, prefix: str) -> Arrays:
    names = [name for name in arrays if name.startswith(prefix)]
    return {name.removeprefix(prefix): arrays.pop(name) for name in names}


def _pack(arrays: dict[str, Any]) -> bytes:
    buffer = io.BytesIO()
    np.savez_compressed(buffer, **arrays)
    return buffer.getvalue()


def _unpack(data: bytes) -> Arrays:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {
            name.removesuffix(".npy"): _array(archive.read(name)) for name in archive.namelist()
        }


def _array(data: bytes) -> NDArray[Any]:
    """An array as NumPy's format 1.0 stores it.

    Thousands of hits have arrays of the same few shapes, and reading a header takes many times as
    long as reading the numbers behind it, so headers are remembered.
    """
    start = _HEADER_START + int.from_bytes(data[_HEADER_START - 2 : _HEADER_START], "little")
    shape, by_columns, kind = _header(data[:start])
    array = np.frombuffer(data, kind, offset=start).copy()
    return array.reshape(shape, order="F" if by_columns else "C")


@lru_cache(maxsize=256)
def _header(data: bytes) -> tuple[tuple[int, ...], bool, np.dtype[Any]]:
    file = io.BytesIO(data)
    if np.lib.format.read_magic(file) != (1, 0):
        raise ValueError("the array is in another version of NumPy's format")
    shape, by_columns, kind = np.lib.format.read_array_header_1_0(file)
    if kind.hasobject:
        raise ValueError("the array holds objects")
    return shape, by_columns, kind


def _rate(pair: NDArray[Any]) -> Fraction:
    return Fraction(int(pair[0]), int(pair[1]))
