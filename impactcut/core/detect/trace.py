"""Traces: what the spotter made of every frame of a clip that it was shown.

Kept with what else is measured, so that the spotter's last layer can be taught by people's answers
without decoding anything again: some 1,300 bytes a second of film.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import FloatArray, IntArray

if TYPE_CHECKING:
    from impactcut.core.detect.spotter import Described, Said

STEPS: Final = 31
"""Steps to either side of 0 in which numbers are kept, engineering choice: the log odds that the
scout's last layer makes of them are within 0.15 of those of the numbers themselves (0.02 in the
mean of labelled clips), and 6 bits a number stay under 2 kB a second whatever is filmed."""


@dataclass(frozen=True, eq=False)
class Trace:
    """What the spotter said of ``n`` frames, the clip's first and every ``stride``-th after it.

    Parameters
    ----------
    weights : str
        Digest of the weights that said it.
    odds : float32, shape (n,)
        Log odds of a contact, of all networks and as fitted.
    pooled : float16, shape (n,)
        The part of the scout's that its places give.
    steps : int8, shape (n, numbers)
        What the scout's last layer was given, in steps of ``size``.
    size : float32, shape (numbers,)
    """

    weights: str
    stride: int
    odds: FloatArray
    pooled: NDArray[np.float16]
    steps: NDArray[np.int8]
    size: FloatArray

    def __post_init__(self) -> None:
        n, numbers = self.steps.shape
        wanted: dict[str, tuple[Any, tuple[int, ...]]] = {
            "odds": (np.float32, (n,)),
            "pooled": (np.float16, (n,)),
            "steps": (np.int8, (n, numbers)),
            "size": (np.float32, (numbers,)),
        }
        for name, (kind, shape) in wanted.items():
            array = getattr(self, name)
            if array.dtype != kind or array.shape != shape:
                raise ValueError(f"{name} of a trace is {array.dtype} of shape {array.shape}")
            if not np.isfinite(array).all():
                raise ValueError(f"{name} of a trace is not finite")
        if self.stride < 1:
            raise ValueError(f"a trace has every frame or fewer, not every {self.stride}th")

    def __len__(self) -> int:
        return len(self.odds)

    @property
    def frames(self) -> IntArray:
        """Their numbers in the clip, int64, shape (n,)."""
        return np.arange(len(self), dtype=np.int64) * self.stride

    @property
    def rows(self) -> FloatArray:
        """What the scout's last layer was given, float32, shape (n, numbers)."""
        return self.steps * self.size


@dataclass(frozen=True, eq=False)
class Piece:
    """What was said of frames of one stretch, ``n`` of them, rising by the stride."""

    frames: IntArray
    odds: FloatArray
    pooled: FloatArray
    rows: FloatArray


def piece_of(said: Said, described: Described, frames: IntArray, own: tuple[int, int]) -> Piece:
    """The part of what was said that lies from the first to the last of a stretch's own frames."""
    inside = (frames >= own[0]) & (frames <= own[1])
    odds, pooled, rows = (part[inside] for part in (said.odds, described.pooled, said.hidden))
    return Piece(frames[inside], odds, pooled, rows)


def trace_of(pieces: Sequence[Piece], stride: int, weights: str) -> Trace | None:
    """The trace of a whole clip; None where nothing was said.

    A frame that the end of one piece and the start of the next share is the next one's.
    """
    kept = [piece for piece in pieces if len(piece.frames)]
    if not kept:
        return None
    ends = [int(after.frames[0]) for after in kept[1:]] + [int(kept[-1].frames[-1]) + 1]
    inside = [piece.frames < end for piece, end in zip(kept, ends, strict=True)]
    odds, pooled, rows = (
        np.concatenate([getattr(piece, name)[own] for piece, own in zip(kept, inside, strict=True)])
        for name in ("odds", "pooled", "rows")
    )
    most = np.abs(rows).max(axis=0)
    size = np.where(most > 0, most / STEPS, 1).astype(np.float32)
    return Trace(
        weights=weights,
        stride=stride,
        odds=odds.astype(np.float32),
        pooled=_half(pooled),
        steps=np.rint(rows / size).clip(-STEPS, STEPS).astype(np.int8),
        size=size,
    )


def _half(values: FloatArray) -> NDArray[np.float16]:
    most = float(np.finfo(np.float16).max)
    return values.clip(-most, most).astype(np.float16)
