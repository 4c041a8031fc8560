"""Runs of frames: half-open ranges of integers, in whichever clock the caller names."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import accumulate

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

    def shared(self, other: FrameRange) -> FrameRange:
        """The frames that both have; where there are none, an empty range at the later start."""
        start = max(self.start, other.start)
        return FrameRange(start, max(start, min(self.stop, other.stop)))

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


@dataclass(frozen=True)
class Gaps:
    """Frames that are taken out, and where those that are left come to lie.

    Parameters
    ----------
    ranges : tuple of FrameRange
        In order; none meet.
    """

    ranges: tuple[FrameRange, ...]

    @cached_property
    def _starts(self) -> list[int]:
        return [gap.start for gap in self.ranges]

    @cached_property
    def _before(self) -> list[int]:
        """Frames of the gaps before each, and of all."""
        return [0, *accumulate(map(len, self.ranges))]

    def before(self, frame: int) -> int:
        """How many of the frames before ``frame`` are taken out."""
        at = bisect_left(self._starts, frame)
        if not at:
            return 0
        last = self.ranges[at - 1]
        return self._before[at - 1] + min(last.stop, frame) - last.start

    def moved(self, frame: int) -> int:
        """New place of a frame; one that goes, that of the first frame kept after it."""
        return frame - self.before(frame)

    def moved_range(self, frames: FrameRange) -> FrameRange:
        """New place of a range."""
        return FrameRange(self.moved(frames.start), self.moved(frames.stop))

    def inside(self, frames: FrameRange) -> tuple[FrameRange, ...]:
        """The gaps that meet a range."""
        first = bisect_right(self._starts, frames.start)
        if first and self.ranges[first - 1].stop > frames.start:
            first -= 1
        return self.ranges[first : bisect_left(self._starts, frames.stop)] if frames else ()


def frames_in_words(count: int) -> str:
    """``"1 frame"`` or so many frames."""
    return counted(count, "frame")


def milliseconds(frames: int, rate: Fraction) -> int:
    """How long so many frames last, to the nearest millisecond."""
    return round(float(1000 * frames / rate))
