"""Which hits read weak on camera."""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median
from typing import Final

from impactcut.workflow.listing import HitEntry

WEAK_PART: Final = 0.6
"""A strike this part as fast on screen as the median of the fight reads weak.

Engineering choice without a source. Speed on the screen counts, not in the room: a wide lens, a
bad angle and a slow performance all make a hit read small.
"""


def weak_hits(entries: Iterable[HitEntry]) -> frozenset[int]:
    """Numbers of the hits that are much slower on screen than the usual hit among ``entries``."""
    speeds = {entry.id: entry.hit.peak_speed for entry in entries}
    if not speeds:
        return frozenset()
    line = WEAK_PART * median(speeds.values())
    return frozenset(hit for hit, speed in speeds.items() if speed < line)
