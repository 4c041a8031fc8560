"""Which of many ranges of frames meet a given one, without trying them all."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Iterable
from typing import Generic, TypeVar

from impactcut.core.grouping import grouped
from impactcut.core.time.frames import FrameRange

Value = TypeVar("Value")
Key = TypeVar("Key", bound=Hashable)


class Meeting(Generic[Value]):
    """Ranges with a value each, in a tree of their latest stops over their starts.

    A question takes as many steps as there are answers, times the logarithm of the ranges.

    Parameters
    ----------
    pairs : iterable of (FrameRange, value)
        Empty ranges meet nothing and are left out.
    """

    def __init__(self, pairs: Iterable[tuple[FrameRange, Value]]) -> None:
        ordered = sorted((pair for pair in pairs if pair[0]), key=lambda pair: pair[0].start)
        self._starts = [frames.start for frames, _ in ordered]
        self._values = [value for _, value in ordered]
        self._leaves = 1 << max(0, len(ordered) - 1).bit_length()
        lowest = min(self._starts, default=0)
        latest = [lowest] * (2 * self._leaves)
        latest[self._leaves : self._leaves + len(ordered)] = [f.stop for f, _ in ordered]
        for node in range(self._leaves - 1, 0, -1):
            latest[node] = max(latest[2 * node], latest[2 * node + 1])
        self._latest = latest

    def of(self, frames: FrameRange) -> list[Value]:
        """The values of the ranges that share a frame with ``frames``, by their starts."""
        if not frames:
            return []
        last = bisect_left(self._starts, frames.stop)
        found: list[Value] = []
        waiting = [(1, 0, self._leaves)]
        while waiting:
            node, first, width = waiting.pop()
            if first >= last or self._latest[node] <= frames.start:
                continue
            if width == 1:
                found.append(self._values[first])
                continue
            half = width // 2
            waiting += ((2 * node + 1, first + half, half), (2 * node, first, half))
        return found


class Meetings(Generic[Key, Value]):
    """Ranges of several things, as of clips, with a value each; one `Meeting` for each thing."""

    def __init__(self, ranges: Iterable[tuple[Key, FrameRange, Value]]) -> None:
        pairs = grouped((key, (frames, value)) for key, frames, value in ranges)
        self._meetings = {key: Meeting(found) for key, found in pairs.items()}

    def of(self, key: Key, frames: FrameRange) -> list[Value]:
        """The values of a thing's ranges that share a frame with ``frames``, by their starts."""
        meeting = self._meetings.get(key)
        return [] if meeting is None else meeting.of(frames)
