"""Frame rates and timecode: integer frames inside, labels only at the edge.

Drop frame leaves out the labels ``00`` and ``01`` (at 59.94 ``00`` to ``03``) at the start of
every minute whose number is not divisible by ten, at 29.97 and 59.94 only (SMPTE ST 12-1).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from impactcut.errors import RateError, TimecodeError

STANDARD_RATES = tuple(
    Fraction(text)
    for text in ("24000/1001", "24", "25", "30000/1001", "30", "48000/1001", "48", "50",
                 "60000/1001", "60")
)  # fmt: skip
HIGH_SPEED_RATES = tuple(
    Fraction(text)
    for text in ("96000/1001", "96", "100", "120000/1001", "120", "240000/1001", "240")
)
"""Of takes that are shot to be slowed down; common practice, no source."""
USUAL_RATES = STANDARD_RATES + HIGH_SPEED_RATES
SLOWEST, FASTEST = Fraction(1), Fraction(1000)
"""Frames a second of cameras that shoot fights, slowed and quickened takes included; common
practice, no source."""
DROP_RATES = (Fraction(30000, 1001), Fraction(60000, 1001))
_LABEL = re.compile(r"(\d{2}):(\d{2}):(\d{2})[:;.,](\d{2})", re.ASCII)
_RATE = re.compile(r"(\d+(?:\.\d+)?|\d+/\d+)\s*(df|ndf)?", re.ASCII)

Count = TypeVar("Count", int, NDArray[np.int64])


@dataclass(frozen=True)
class Timebase:
    """A frame rate and the way its frames are counted.

    Parameters
    ----------
    rate : Fraction
        Frames per second, exact, above 0.
    drop_frame : bool
        Count drop-frame.

    Raises
    ------
    RateError
        If the rate is not positive, or drop frame does not exist at it.
    """

    rate: Fraction
    drop_frame: bool = False

    def __post_init__(self) -> None:
        if self.rate <= 0:
            raise RateError(f"a frame rate is above 0, not {self.rate}")
        if self.drop_frame and self.rate not in DROP_RATES:
            raise RateError(
                f"drop-frame timecode exists at 29.97 and 59.94 frames a second only, "
                f"not at {float(self.rate):.5g}; state the rate without 'df'"
            )

    @cached_property
    def counted(self) -> int:
        """Labels in a second: the rate rounded up (23.976 counts like 24)."""
        return -(-self.rate.numerator // self.rate.denominator)

    @cached_property
    def day(self) -> int:
        """Frames in the 24 hours after which labels start again."""
        return self.counted * 86400 - self._dropped_each_minute * (1440 - 144)

    @cached_property
    def _dropped_each_minute(self) -> int:
        return self.counted // 15 if self.drop_frame else 0

    def fields(self, frame: Count) -> tuple[Count, Count, Count, Count]:
        """Hours, minutes, seconds and frames that a count of frames is shown as.

        Parameters
        ----------
        frame : int or ndarray of int64
            Count of frames, or many counts at once; it wraps at midnight.

        Returns
        -------
        hours, minutes, seconds, frames : like ``frame``
        """
        count = frame % self.day
        seconds, frames = divmod(count + self._labels_left_out(count), self.counted)
        minutes, seconds = divmod(seconds, 60)
        hours, minutes = divmod(minutes, 60)
        return hours, minutes, seconds, frames

    def label(self, frame: int) -> str:
        """Timecode of a count of frames, which wraps at midnight.

        Raises
        ------
        RateError
            If two digits are too few for the frames of a second.
        """
        self._fits_two_digits()
        hours, minutes, seconds, frames = self.fields(frame)
        mark = ";" if self.drop_frame else ":"
        return f"{hours:02d}:{minutes:02d}:{seconds:02d}{mark}{frames:02d}"

    @property
    def has_timecode(self) -> bool:
        """Whether two digits are enough for the frames of a second."""
        return self.counted <= 100

    def timecode(self, frame: int) -> str | None:
        """As `label`; None at a rate for which there is no timecode."""
        try:
            return self.label(frame)
        except RateError:
            return None

    def frame(self, label: str) -> int:
        """Count of frames that a timecode stands for.

        The mark before the frames is not judged: a list may carry either.

        Raises
        ------
        TimecodeError
            If the text is no timecode, or names a label that does not exist at this rate.
        RateError
            If two digits are too few for the frames of a second.
        """
        self._fits_two_digits()
        match = _LABEL.fullmatch(label.strip())
        if match is None:
            raise TimecodeError(f"{label!r} is not a timecode; write it as HH:MM:SS:FF")
        hours, minutes, seconds, frames = (int(text) for text in match.groups())
        if hours > 23 or minutes > 59 or seconds > 59 or frames >= self.counted:
            raise TimecodeError(f"{label} does not exist at {self}")
        dropped = self._dropped_each_minute
        if minutes % 10 and seconds == 0 and frames < dropped:
            raise TimecodeError(f"{label} does not exist at {self}: drop frame leaves it out")
        whole_minutes = hours * 60 + minutes
        count = (whole_minutes * 60 + seconds) * self.counted + frames
        return count - dropped * (whole_minutes - whole_minutes // 10)

    def __str__(self) -> str:
        exact = str(self.rate)
        name = f"{float(self.rate):.3f}".rstrip("0") if exact.endswith("/1001") else exact
        return f"{name} drop-frame" if self.drop_frame else name

    def _fits_two_digits(self) -> None:
        if not self.has_timecode:
            raise RateError(
                f"timecode has two digits for frames, too few for {float(self.rate):.5g} "
                "frames a second; state a lower --rate"
            )

    def _labels_left_out(self, count: Count) -> Count:
        dropped = self._dropped_each_minute
        minute = self.counted * 60 - dropped
        tens, rest = divmod(count, minute * 10 + dropped)
        minutes = (rest >= dropped) * ((rest - dropped) // minute)
        return dropped * (tens * 9 + minutes)


def parse_timebase(text: str) -> Timebase:
    """A timebase from what a person writes: ``24``, ``23.976``, ``24000/1001``, ``29.97df``.

    Raises
    ------
    RateError
        If the text is no rate, or one at which no camera runs.
    """
    match = _RATE.fullmatch(text.strip().lower())
    if match is None or (value := _fraction(match[1])) is None:
        raise RateError(
            f"{text!r} is not a frame rate; write it as 24, 23.976, 24000/1001 or 29.97df"
        )
    rate = value if "/" in match[1] else nearest_rate(value)
    if not _is_a_cameras(rate):
        near = min(USUAL_RATES, key=lambda usual: abs(usual - rate))
        raise RateError(
            f"no camera runs at {text.strip()} frames a second; the nearest that one does is "
            f"{Timebase(near)}: write the rate as 24, 23.976, 24000/1001 or 29.97df"
        )
    return Timebase(rate, match[2] == "df")


def _is_a_cameras(rate: Fraction) -> bool:
    """Whether a rate is whole, or half so, or such a one slowed by 1000 to 1001."""
    halves = (2 * rate, 2 * rate * Fraction(1001, 1000))
    return SLOWEST <= rate <= FASTEST and any(each.denominator == 1 for each in halves)


def nearest_rate(rate: Fraction) -> Fraction:
    """The standard rate within a part in two thousand of ``rate``, or ``rate`` itself."""
    near = min(USUAL_RATES, key=lambda standard: abs(standard - rate))
    return near if abs(near - rate) <= near / 2000 else rate


def _fraction(text: str) -> Fraction | None:
    try:
        value = Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None
    return value if value > 0 else None
