"""Why a trim must not be made, however little it shows.

A contact that is left out is filled in by the mind only if its consequence follows (Brockhoff et
al. 2016), so a frame after contact stays. A clock that jumps is read, not seen, and no movement
hides it (a rule; no source). That a trim never makes a reaction come before the contact needs no
veto: taking frames out can bring the two together, never past each other
(`impactcut.core.trims.trim.lag_after`).
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange, frames_in_words


def vetoes(
    hit: Hit,
    motion: HitMotion,
    trims: Iterable[FrameRange],
    clip_frames: int,
    keep_clear: tuple[FrameRange, ...],
    clock: bool = False,
) -> list[tuple[str, ...]]:
    """Why each trim must not be made, in plain words; empty for one that may.

    Parameters
    ----------
    trims : iterable of FrameRange
        Removed frames of the clip, with at least one frame of the clip on either side.
    keep_clear : tuple of FrameRange
        Trims of other hits; at least one frame stays between two trims.
    clock : bool
        Whether a clock or a counter is in the picture.
    """
    changes = (motion.first + np.flatnonzero(motion.boundary)).tolist()
    end = next((at + 1 for at in changes if at >= hit.contact), clip_frames)
    found = (
        (
            _across_boundary(changes, trim),
            _no_consequence(hit, end, trim),
            _other_trim(trim, keep_clear),
            _clock(trim) if clock else "",
        )
        for trim in trims
    )
    return [tuple(reason for reason in each if reason) for each in found]


def _across_boundary(changes: Iterable[int], trim: FrameRange) -> str:
    across = any(trim.start - 1 <= at < trim.stop for at in changes)
    return "the trim lies across a change of shot" if across else ""


def _no_consequence(hit: Hit, end: int, trim: FrameRange) -> str:
    removed = min(end, trim.stop) - max(hit.contact + 1, trim.start)
    left = end - hit.contact - 1 - max(removed, 0)
    return "" if left > 0 else "no frame after the contact would be left to show what it did"


def _other_trim(trim: FrameRange, keep_clear: tuple[FrameRange, ...]) -> str:
    grown = FrameRange(trim.start - 1, trim.stop + 1)
    near = next((other for other in keep_clear if other.meets(grown)), None)
    if near is None:
        return ""
    return (
        f"the trim of another hit, frames {near.start} to {near.stop - 1}, "
        "would leave no frame between"
    )


def _clock(trim: FrameRange) -> str:
    return (
        "the clock or burnt-in timecode in the picture would jump by "
        f"{frames_in_words(len(trim))}; if the finished picture will be without it, "
        "'impactcut mark --no-clock' says so"
    )
