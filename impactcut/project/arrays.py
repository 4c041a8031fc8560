"""Measured arrays as compressed bytes, and back."""

from __future__ import annotations

import io
from dataclasses import fields
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impactcut.core.motion import Channel, HitMotion, MotionTrack, Skips

Arrays = dict[str, NDArray[Any]]


def pack_track(track: MotionTrack) -> bytes:
    """A motion track as the bytes of a compressed NumPy archive."""
    return _pack(_values(track, ""))


def unpack_track(data: bytes) -> MotionTrack:
    """The motion track in ``data``; called inside `impactcut.project.damage.intact`."""
    arrays = _unpack(data)
    rate = _rate(arrays.pop("rate"))
    return MotionTrack(rate=rate, **arrays)


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
    """The motion around a hit in ``data``; called inside `impactcut.project.damage.intact`."""
    arrays = _unpack(data)
    channels = tuple(
        Channel(name=str(name), **_taken(arrays, f"{number}."))
        for number, name in enumerate(arrays.pop("channels"))
    )
    first, rate = int(arrays.pop("first")), _rate(arrays.pop("rate"))
    skips = _taken(arrays, "skips.")
    seen = Skips(**skips) if skips else None
    return HitMotion(first=first, rate=rate, channels=channels, skips=seen, **arrays)


def _values(value: MotionTrack | HitMotion | Channel | Skips, prefix: str) -> Arrays:
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
    with np.load(io.BytesIO(data), allow_pickle=False) as archive:
        return {name: archive[name] for name in archive.files}


def _rate(pair: NDArray[Any]) -> Fraction:
    return Fraction(int(pair[0]), int(pair[1]))
