"""Runs of frames: half-open ranges of integers, in whichever clock the caller names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from impactcut.core.words import counted


@dataclass(frozen=True, order=True)
class FrameRange:
    """Frames ``start`` up to, not including, ``stop``.

    Parameters
    ----------
    start, stop : int
        Frames, ``start <= stop``.

    Raises
    ------
    ValueError
        If ``stop`` lies before ``start``.
    """

    start: int
    stop: int

    def __post_init__(self) -> None:
        if self.stop < self.start:
            raise ValueError(f"a range cannot end ({self.stop}) before it starts ({self.start})")

    def __len__(self) -> int:
        return self.stop - self.start

    def __contains__(self, frame: int) -> bool:
        return self.start <= frame < self.stop

    def meets(self, other: FrameRange) -> bool:
        """Whether the two share a frame."""
        return max(self.start, other.start) < min(self.stop, other.stop)

    def shifted(self, frames: int) -> FrameRange:
        """The range, later by ``frames``."""
        return FrameRange(self.start + frames, self.stop + frames)


def without(whole: FrameRange, gaps: Iterable[FrameRange]) -> tuple[FrameRange, ...]:
    """What is left of a range once ``gaps``, none of which meet, are taken out of it, in order."""
    inside = sorted(gap for gap in gaps if gap.meets(whole))
    starts = [whole.start, *(gap.stop for gap in inside)]
    stops = [*(gap.start for gap in inside), whole.stop]
    kept = ((a, b) for a, b in zip(starts, stops, strict=True) if a < b)
    return tuple(FrameRange(start, stop) for start, stop in kept)


def count_before(frame: int, ranges: Iterable[FrameRange]) -> int:
    """How many frames of ``ranges``, none of which meet, lie before ``frame``."""
    return sum(min(each.stop, frame) - each.start for each in ranges if each.start < frame)


def frames_in_words(count: int) -> str:
    """``"1 frame"`` or so many frames."""
    return counted(count, "frame")
