"""The splice strip: where a hit's frames lie in its picture when some of them are lifted out.

Frames stand in a row, one slot each. Those that go out are lifted above the slots they had; what is
left on either side closes up by half the hole each, so that the two frames that will meet stand
right below, together. Lengths are in slots. The page draws by the same rule (``strip.js``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.splice_indices import FIRST_AFTER, FIRST_BEFORE

BEFORE: Final = FIRST_BEFORE + 2
AFTER: Final = FIRST_AFTER + 4
"""Frames before and after the contact: two kept ones at least on either side of every trim."""
SMALL: Final = 7
"""Frames of a small strip."""
SIDE: Final = 0.94
"""Of a frame in the row."""
LIFTED: Final = 0.58
"""Of a frame that is lifted."""
ROW: Final = 0.74
"""Top of the row."""
HEIGHT: Final = 1.86
"""Of the whole, with the mark of the contact below."""

Kind = Literal["kept", "meets", "out"]
Box = tuple[int, int, int]


@dataclass(frozen=True)
class Placed:
    """One frame in a strip: a square, and whether it is kept, meets another, or goes out."""

    frame: int
    left: float
    top: float
    side: float
    kind: Kind


@dataclass(frozen=True)
class Strip:
    """Frames from left to right, and where the two that meet do; None where none goes out."""

    cells: tuple[Placed, ...]
    seam: float | None


def strip_frames(contact: int, clip_frames: int) -> FrameRange:
    """The frames of a clip that a whole strip shows."""
    return FrameRange(max(0, contact - BEFORE), min(clip_frames, contact + AFTER + 1))


def small_frames(whole: FrameRange, contact: int, trim: FrameRange | None) -> FrameRange:
    """The part of a whole strip's frames that a small one shows: contact and trim are in it."""
    from_trim = contact - SMALL // 2 if trim is None else min(trim.start - 2, contact)
    start = max(whole.start, min(from_trim, whole.stop - SMALL))
    return FrameRange(start, min(whole.stop, start + SMALL))


def lay_strip(shown: FrameRange, trim: FrameRange | None) -> Strip:
    """Lay frames out.

    Parameters
    ----------
    shown : FrameRange
        Frames of the clip.
    trim : FrameRange or None
        The ones of them that go out.
    """
    gap = (1 - SIDE) / 2
    if trim is None:
        row = range(shown.start, shown.stop)
        return Strip(
            tuple(Placed(at, at - shown.start + gap, ROW, SIDE, "kept") for at in row), None
        )
    half = len(trim) / 2
    cells = []
    for frame in range(shown.start, shown.stop):
        slot = frame - shown.start
        if frame in trim:
            cells.append(Placed(frame, slot + (1 - LIFTED) / 2, 0.0, LIFTED, "out"))
            continue
        before = frame < trim.start
        left = slot + gap + (half + gap if before else -half - gap)
        meets = frame in (trim.start - 1, trim.stop)
        cells.append(Placed(frame, left, ROW, SIDE, "meets" if meets else "kept"))
    return Strip(tuple(cells), trim.start - shown.start + half)


def framing(region: tuple[float, float, float, float], width: int, height: int) -> Box:
    """The square of a picture that shows both fighters: left, top and side, in its pixels.

    As high as the picture, or as wide where that is less, so that nobody is cut at head or feet;
    as near to the middle of what was spotted as the edges allow.

    Parameters
    ----------
    region : tuple of float
        Left, top, width and height of what was spotted, picture widths.
    """
    left, top, wide, high = (length * width for length in region)
    side = min(width, height)

    def start(middle: float, length: int) -> int:
        return round(min(max(middle - side / 2, 0), length - side))

    return start(left + wide / 2, width), start(top + high / 2, height), side
