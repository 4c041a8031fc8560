"""How loud the sound of a clip is, many times a second."""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.sound.filters import Butterworth
from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.core.sound.transients import LEVELS_PER_SECOND

HIGH_PASS_HERTZ: Final = 300
"""Below lie rumble, wind and handling noise; a blow reaches well above (common practice, no
source)."""
_SAMPLES: Final = SAMPLE_RATE // LEVELS_PER_SECOND


class LevelMeter:
    """Measures sound block by block."""

    def __init__(self) -> None:
        self._filter = Butterworth(2, HIGH_PASS_HERTZ / SAMPLE_RATE)
        self._end = 0
        self._parts: list[tuple[int, Float64Array]] = []

    def add(self, position: int, sound: Float64Array) -> None:
        """Measure the samples (mono, 48 kHz) that begin at sample ``position``, in order.

        Between two that do not follow on from one another lies silence.
        """
        if position != self._end:
            self._filter.rest()
        self._end = position + len(sound)
        filtered = self._filter(sound)
        at = (position + np.arange(len(filtered))) // _SAMPLES
        sums = np.bincount(at - at[0], weights=filtered**2) / _SAMPLES
        self._parts.append((int(at[0]), sums))

    def levels(self) -> FloatArray:
        """What was measured, as `transients` takes it; where there was no sound levels are 0."""
        level = np.zeros(max((first + len(sums) for first, sums in self._parts), default=0))
        for first, sums in self._parts:
            level[first : first + len(sums)] += sums
        return level.astype(np.float32)
