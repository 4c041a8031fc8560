"""Where candidate trims join the frames of a window, as arrays with one row for each candidate."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, IntArray
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange

COUNTS = (1, 2, 3)
FIRST_BEFORE, FIRST_AFTER = 4, 3
"""Trims are judged that start so many frames before and after the contact."""
NEIGHBOURS = np.array([-6, -5, -4, -3, -2, -1, 1, 2, 3, 4, 5, 6])


def candidates_around(contact: int, frames: int) -> list[tuple[int, int]]:
    """First frame and count of every trim to judge, in order of first frames by count.

    Parameters
    ----------
    contact : int
        Frame of the window.
    frames : int
        Of the window; a frame of it stays on either side.
    """
    firsts = range(contact - FIRST_BEFORE, contact + FIRST_AFTER + 1)
    every = ((first, count) for count in COUNTS for first in firsts)
    return [(first, count) for first, count in every if 1 <= first < frames - count]


@dataclass(frozen=True, eq=False)
class Splices:
    """Candidate trims: frame ``first - 1`` is followed by frame ``first + count``.

    Parameters
    ----------
    first, count : int64, shape (c,)
        First removed frame, counted from the window's first frame, and how many go.
    frames : int
        Frames of the window; both joined frames lie in it.

    Raises
    ------
    ValueError
        If a trim lacks a frame of the window on either side, or takes out less than none.
    """

    first: IntArray
    count: IntArray
    frames: int

    def __post_init__(self) -> None:
        if (self.first < 1).any() or (self.first + self.count >= self.frames).any():
            raise ValueError("a trim leaves a frame of the measured window on either side")
        if (self.count < 0).any():
            raise ValueError("a trim takes out 0 frames or more")

    def removed(self, start: int) -> list[FrameRange]:
        """The frames of the clip that go, where the window's first is ``start`` there."""
        pairs = zip((start + self.first).tolist(), self.count.tolist(), strict=True)
        return [FrameRange(first, first + count) for first, count in pairs]

    def with_untouched(self) -> Splices:
        """These, and last one that takes out no frame."""
        return Splices(np.append(self.first, 1), np.append(self.count, 0), self.frames)

    def trimmed(self, displacement: Float64Array) -> Float64Array:
        """What each trim leaves of ``displacement``, the intervals of the splice added up.

        Parameters
        ----------
        displacement : float64, shape (n, 2)

        Returns
        -------
        float64, shape (c, n, 2)
            Zeros follow at the end, where the trim has made the window shorter.
        """
        start = np.concatenate([np.zeros((1, 2)), np.cumsum(displacement, axis=0)])
        shown = np.arange(self.frames)
        kept = np.where(shown < self.first[:, None], shown, shown + self.count[:, None])
        return np.diff(start[np.minimum(kept, self.frames - 1)], axis=1)

    def interval_after(self, interval: int) -> IntArray:
        """Which interval of each trimmed window shows ``interval``."""
        return np.minimum(interval, np.maximum(self.first - 1, interval - self.count))


@dataclass(frozen=True, eq=False)
class Joins:
    """Splices among intervals: those from ``start`` up to, not including, ``stop`` become one.

    Parameters
    ----------
    start, stop : int64, shape (c,)
    intervals : int
        How many there are.
    """

    start: IntArray
    stop: IntArray
    intervals: int

    @cached_property
    def joined(self) -> tuple[IntArray, BoolArray]:
        """The joined intervals, (c, m), and which of them count."""
        index = self.start[:, None] + np.arange(max(1, (self.stop - self.start).max()))
        return np.minimum(index, self.intervals - 1), index < self.stop[:, None]

    def across(self, displacement: Float64Array) -> Float64Array:
        """Displacement across each splice.

        Parameters
        ----------
        displacement : float64, shape (channels, intervals, 2)

        Returns
        -------
        float64, shape (channels, c, 2)
        """
        index, counts = self.joined
        steps: Float64Array = np.where(counts[..., None], displacement[:, index], 0.0).sum(2)
        return steps

    @cached_property
    def spread(self) -> IntArray:
        """The joined intervals and one on either side, (c, m + 2); repeats fill a row."""
        wide = np.arange(max(1, (self.stop - self.start).max()) + 2)
        index = np.minimum(self.start[:, None] - 1 + wide, self.stop[:, None])
        return np.clip(index, 0, self.intervals - 1)

    @cached_property
    def around(self) -> IntArray:
        """The twelve intervals around each splice, (c, 12), as far as the window goes."""
        sides = np.where(NEIGHBOURS < 0, self.start[:, None], self.stop[:, None] - 1)
        inside: IntArray = np.clip(sides + NEIGHBOURS, 0, self.intervals - 1)
        return inside


@dataclass(frozen=True, eq=False)
class Shown:
    """A window without the frames that repeat the one before: what the eye is given to see.

    Parameters
    ----------
    picture : int64, shape (frames,)
        For each frame of the window, the number of the picture that it shows.
    displacement, centre : float64, shape (channels, n, 2)
        Per interval between two pictures, widths.
    area : float64, shape (channels, n)
        Square widths.
    luma : float64, shape (n + 1,)
        Mean log luma per picture.
    rate : float
        Pictures per second.
    """

    picture: IntArray
    displacement: Float64Array
    centre: Float64Array
    area: Float64Array
    luma: Float64Array
    rate: float

    @property
    def intervals(self) -> int:
        """Intervals between two pictures."""
        return len(self.luma) - 1

    def joins(self, splices: Splices) -> Joins:
        """Which intervals between pictures each splice joins."""
        before = self.picture[splices.first - 1]
        after = self.picture[splices.first + splices.count]
        return Joins(before, after, self.intervals)


def without_repeats(motion: HitMotion) -> Shown:
    """The window's pictures; a frame that repeats the one before is no new picture."""
    kept = ~motion.repeated
    if not kept.any():
        kept = np.ones_like(kept)
    picture = np.concatenate([[0], np.cumsum(kept)])
    first_frames = np.concatenate([[True], kept])
    displacement, centre, area = (
        np.stack([getattr(channel, name)[kept] for channel in motion.channels]).astype(float)
        for name in ("displacement", "centre", "area")
    )
    luma = motion.luma[first_frames].astype(float)
    rate = float(motion.rate) * float(kept.mean())
    return Shown(picture, displacement, centre, area, luma, rate)
