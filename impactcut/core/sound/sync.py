"""What a trim does to sound that is not trimmed with the picture.

Limits of ITU-R BT.1359-1, of sound against picture, positive for early sound: detectable beyond
+45 and -125 ms, not acceptable beyond +90 and -185 ms.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

SyncVerdict = Literal["in sync", "detectable", "unacceptable"]

DETECTABLE_EARLY, DETECTABLE_LATE = Fraction(45), Fraction(-125)
UNACCEPTABLE_EARLY, UNACCEPTABLE_LATE = Fraction(90), Fraction(-185)


@dataclass(frozen=True)
class SyncShift:
    """How far picture and untrimmed sound part.

    Parameters
    ----------
    milliseconds : Fraction
        Length of the removed frames.
    early, late : {"in sync", "detectable", "unacceptable"}
        Verdict if the sound comes out early, or late. Sound that runs on from before the trim
        is late after it; sound laid to the picture after the trim is early before it.
    """

    milliseconds: Fraction
    early: SyncVerdict
    late: SyncVerdict

    @property
    def words(self) -> str:
        """Both verdicts, as every page, list and reason gives them; once if they are the same."""
        if self.early == self.late:
            return self.early
        return f"{self.early} if early, {self.late} if late"


def sync_verdict(offset: Fraction) -> SyncVerdict:
    """Verdict on sound that is ``offset`` milliseconds early (late where negative)."""
    if offset > UNACCEPTABLE_EARLY or offset < UNACCEPTABLE_LATE:
        return "unacceptable"
    return "detectable" if offset > DETECTABLE_EARLY or offset < DETECTABLE_LATE else "in sync"


def sync_shift(frames: int, rate: Fraction) -> SyncShift:
    """What taking out ``frames`` frames at ``rate`` frames per second does to the sound.

    Raises
    ------
    ValueError
        If ``frames`` is below 0 or ``rate`` not above 0.
    """
    if frames < 0 or rate <= 0:
        raise ValueError(f"{frames} frames at {rate} frames a second have no length")
    offset = 1000 * frames / Fraction(rate)
    return SyncShift(offset, sync_verdict(offset), sync_verdict(-offset))
