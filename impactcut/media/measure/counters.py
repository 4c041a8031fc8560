"""Burnt-in timecode and other running counters in the picture.

The last digit of a counter is another in every frame, and is the same again ten frames later, or a
second later in timecode. Nothing that people do is. Told are counters that count every frame and
stand still in the picture, on frames that repeat nothing, on a ground of their own or in white; not
told are clocks that show seconds, stop watches, counters that count every other frame, and small
digits over a bright picture that moves. People mark those clips themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

import cv2
import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.media.decode.luma import GreyArray

BLOCKS: Final = 60
"""Blocks to the width of the picture: about as wide as a digit of burnt-in timecode."""
CHANGE: Final = 0.02
ALWAYS: Final = 0.9
"""Least mean change of a block from frame to frame (0..1), in so many of the frames: above grain
and coding, below a digit that covers a tenth of the block. Engineering choices, as are all here."""
SAME: Final = 0.25
ALIKE: Final = (0.5, 2.5)
"""Median change after a whole period, and least and most after any of `BETWEEN`, in the median
change from frame to frame. A lamp that flickers is the same again sooner, or drifts."""
TENS: Final = 10
BETWEEN: Final = (2, 3, 4, 5, 6, 8)
WHITE: Final = 170
"""Luma (0..255) above which the picture is looked at once more on its own: white digits stand still
there over whatever moves behind them."""
_WHITES: Final = np.clip((np.arange(256) - WHITE) * 255 / (255 - WHITE), 0, 255).astype(np.uint8)
LEAST_PAIRS: Final = 12
"""Fewer pairs of frames a period apart say nothing."""
LOOKED_AT_SECONDS: Final = Fraction(5, 2)
LARGEST: Final = 0.02
"""Most of the picture that a counter's last digit covers; more is a film that goes round."""


def shows_counter(pictures: Sequence[GreyArray], rate: Fraction) -> bool:
    """Whether a counter runs in the pictures.

    Parameters
    ----------
    pictures : sequence of uint8 arrays, shape (height, width)
        Consecutive frames of one clip; the first two and a half seconds are looked at.
    rate : Fraction
        Frames per second.
    """
    some = pictures[: round(LOOKED_AT_SECONDS * rate)]
    white = [np.asarray(cv2.LUT(each, _WHITES), np.uint8) for each in some]
    return _counts(some, rate) or _counts(white, rate)


def _counts(some: Sequence[GreyArray], rate: Fraction) -> bool:
    """Whether a counter runs in all of these pictures."""
    periods = [period for period in (TENS, round(rate)) if len(some) >= period + LEAST_PAIRS]
    if not periods:
        return False
    step = _changes(some, 1)
    usual = np.median(step, axis=0)
    counter = (step > CHANGE).mean(axis=0) >= ALWAYS
    if not counter.any():
        return False
    counter &= _back_after_a_period(some, periods, usual)
    for lag in BETWEEN if counter.any() else ():
        other = np.median(_changes(some, lag), axis=0)
        counter &= (other > ALIKE[0] * usual) & (other < ALIKE[1] * usual)
    return bool(0 < counter.mean() <= LARGEST)


def _back_after_a_period(
    pictures: Sequence[GreyArray], periods: Sequence[int], usual: FloatArray
) -> BoolArray:
    """Blocks that look the same again after one of the periods."""
    again = [np.median(_changes(pictures, period), axis=0) for period in periods]
    back: BoolArray = np.min(again, axis=0) < SAME * usual
    return back


def _changes(pictures: Sequence[GreyArray], lag: int) -> FloatArray:
    """Mean absolute difference (0..1) in each block of frames ``lag`` apart, (n, rows, columns).

    Blocks are whole pixels, whose means are quick; what is over at the edges is left out.
    """
    height, width = pictures[0].shape
    side = max(1, min(round(width / BLOCKS), height))
    rows, columns = height // side, width // side
    top, left = height % side // 2, width % side // 2
    inside = np.s_[top : top + rows * side, left : left + columns * side]
    found: list[FloatArray] = []
    for earlier, later in zip(pictures, pictures[lag:], strict=False):
        apart = cv2.absdiff(later[inside], earlier[inside])
        blocks = cv2.resize(apart, (columns, rows), interpolation=cv2.INTER_AREA)
        found.append(np.asarray(blocks, np.float32) / np.float32(255))
    return np.stack(found)
