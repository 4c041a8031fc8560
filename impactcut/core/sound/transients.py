"""Transients of a sound: sharp rises that die away, as blows make them.

A blow rises from what was heard before it within a few milliseconds and decays at once; a voice
rises as sharply at times, but goes on (common practice, no source).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.sound.peaks import peaks, smoothed

LEVELS_PER_SECOND: Final = 200
RISE_DB: Final = 15.0
DECAY_DB: Final = 3.0
"""Least rise over the `BEFORE` before it, and least fall within `AFTER`, of a transient;
engineering choices: above the swell of voices and rooms."""
BEFORE: Final = 24
AFTER: Final = slice(12, 20)
"""Levels that a rise is compared with, and levels after it in which it must have died away:
120 ms before, 60 to 100 ms after."""
APART: Final = 12
"""Levels within which only the strongest rise counts: 60 ms, engineering choice."""
FLOOR: Final = 1e-9
"""Mean square of what counts as silence, full scale 1: -90 dB."""


def transients(levels: FloatArray) -> Float64Array:
    """Instants of the transients, seconds from the first frame, rising, float64 (m,).

    Parameters
    ----------
    levels : float32, shape (n,)
        Mean square of the sound above the lowest voices, full scale 1, `LEVELS_PER_SECOND` times a
        second; level 0 begins when frame 0 is shown.
    """
    level = levels.astype(float) + FLOOR
    if len(level) <= BEFORE + AFTER.stop:
        return np.zeros(0)
    decibels = 10 * np.log10(level)
    before = 10 * np.log10(smoothed(level, BEFORE, 0))
    rise = decibels - np.roll(before, 1)
    rise[:BEFORE] = 0
    sharp = peaks(rise, RISE_DB, APART)
    sharp = sharp[sharp + AFTER.stop <= len(level)]
    later = np.array([level[AFTER.start + peak : AFTER.stop + peak].mean() for peak in sharp])
    loudest = np.maximum(decibels[sharp], decibels[sharp + 1])
    fallen = loudest - 10 * np.log10(later) >= DECAY_DB if len(sharp) else np.zeros(0, bool)
    instants: Float64Array = sharp[fallen] / LEVELS_PER_SECOND
    return instants
