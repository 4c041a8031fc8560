"""Record times of a programme that may run across midnight, put on one line."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from impactcut.core.time.frames import FrameRange


def unwrapped(records: Sequence[FrameRange], day: int) -> tuple[FrameRange, ...]:
    """Ranges of record frames, those after midnight moved behind those before it.

    Timecode does not say on which day it counts. A programme is taken to run across midnight if an
    event does, if one ends at midnight and another begins there, or if the list is out of order
    and would otherwise last more than half a day; it then begins after its longest break.

    Parameters
    ----------
    records : sequence of FrameRange
        In the order of the list, each beginning within the ``day``.
    day : int
        Frames in 24 hours.
    """
    if not records or not (_meets_midnight(records, day) or _is_torn_apart(records, day)):
        return tuple(records)
    start = _after_longest_break(records, day)
    return tuple(each.shifted(day) if each.start < start else each for each in records)


def _meets_midnight(records: Sequence[FrameRange], day: int) -> bool:
    if any(each.stop > day for each in records):
        return True
    begins = any(each.start == 0 and each for each in records)
    return begins and any(each.stop == day for each in records)


def _is_torn_apart(records: Sequence[FrameRange], day: int) -> bool:
    in_order = all(first.start <= second.start for first, second in pairwise(records))
    first, last = min(each.start for each in records), max(each.stop for each in records)
    return not in_order and last - first > day // 2


def _after_longest_break(records: Sequence[FrameRange], day: int) -> int:
    ordered = sorted(records)
    longest, start, covered = -1, ordered[0].start, ordered[0].start
    for each in (*ordered, ordered[0].shifted(day)):
        if each.start - covered > longest:
            longest, start = each.start - covered, each.start % day
        covered = max(covered, each.stop)
    return start
