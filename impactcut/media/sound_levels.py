"""How loud the sound of a clip is, many times a second, read in one pass."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from scipy.signal import butter, sosfilt

from impactcut.core.arrays import Float64Array
from impactcut.core.thumps import SAMPLE_RATE
from impactcut.core.transients import LEVELS_PER_SECOND, SoundLevels
from impactcut.media.production_sound import read_sound

HIGH_PASS_HERTZ: Final = 300
"""Below lie rumble, wind and handling noise; a blow reaches well above (common practice, no
source)."""
_SAMPLES: Final = SAMPLE_RATE // LEVELS_PER_SECOND


def sound_levels(path: Path) -> SoundLevels:
    """Levels of a clip's first sound track; where the file has no sound they are 0.

    Raises
    ------
    MediaError
        If the file cannot be read, has no sound, or no decoder for it.
    """
    sections = butter(2, HIGH_PASS_HERTZ, "highpass", fs=SAMPLE_RATE, output="sos")
    state = np.zeros((len(sections), 2))
    parts: list[tuple[int, Float64Array]] = []
    for position, sound in read_sound(path):
        filtered, state = sosfilt(sections, sound.mean(axis=1), zi=state)
        at = (position + np.arange(len(filtered))) // _SAMPLES
        parts.append((int(at[0]), np.bincount(at - at[0], weights=filtered**2) / _SAMPLES))
    level = np.zeros(max((first + len(sums) for first, sums in parts), default=0))
    for first, sums in parts:
        level[first : first + len(sums)] += sums
    return SoundLevels(level.astype(np.float32))
