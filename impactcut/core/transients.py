"""Transients of a sound: sharp rises that die away, as blows make them.

A blow rises from what was heard before it within a few milliseconds and decays at once; a voice
rises as sharply at times, but goes on. Sound is a second opinion on hits, no more: staged blows
are silent, and files differ by up to two frames in sync (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d
from scipy.signal import find_peaks
from scipy.special import expit, logit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from impactcut.core.find import Candidate

Float64Array = NDArray[np.float64]
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
FLOOR: Final = 1e-9
"""Mean square of what counts as silence, full scale 1: -90 dB."""
WITHIN_FRAMES: Final = 2.0
RAISED_ODDS: Final = 2.0
"""Frames from a contact within which a transient speaks for it, and by how much, log odds;
engineering choice: some seven to one, about what it is worth where a room is quiet, since one in
ten frames or so has a transient near it by chance."""


@dataclass(frozen=True, eq=False)
class SoundLevels:
    """How loud a clip's sound is, `LEVELS_PER_SECOND` times a second.

    Parameters
    ----------
    level : float32, shape (n,)
        Mean square above the lowest voices, full scale 1. Level 0 begins when frame 0 is shown.
    """

    level: NDArray[np.float32]


def transients(levels: SoundLevels) -> Float64Array:
    """Instants of the transients, seconds from the first frame, rising, float64 (m,)."""
    level = levels.level.astype(float) + FLOOR
    if len(level) <= BEFORE + AFTER.stop:
        return np.zeros(0)
    decibels = 10 * np.log10(level)
    before = 10 * np.log10(uniform_filter1d(level, BEFORE, origin=BEFORE // 2 - 1, mode="nearest"))
    rise = decibels - np.roll(before, 1)
    rise[:BEFORE] = 0
    peaks, _ = find_peaks(rise, height=RISE_DB, distance=APART)
    peaks = peaks[peaks + AFTER.stop <= len(level)]
    later = np.array([level[AFTER.start + peak : AFTER.stop + peak].mean() for peak in peaks])
    loudest = np.maximum(decibels[peaks], decibels[peaks + 1])
    fallen = loudest - 10 * np.log10(later) >= DECAY_DB if len(peaks) else np.zeros(0, bool)
    instants: Float64Array = peaks[fallen] / LEVELS_PER_SECOND
    return instants


def heard(
    candidates: Sequence[Candidate], instants: Float64Array, rate: float
) -> tuple[Candidate, ...]:
    """The candidates, those with a transient near their contact made likelier; none is moved.

    Parameters
    ----------
    candidates : sequence of Candidate
    instants : float64, shape (m,)
        From `transients`.
    rate : float
        Frames per second.
    """
    if len(instants) == 0:
        return tuple(candidates)
    frames = instants * rate

    def raised(candidate: Candidate) -> Candidate:
        if np.abs(frames - candidate.contact).min() > WITHIN_FRAMES:
            return candidate
        return replace(candidate, chance=float(expit(logit(candidate.chance) + RAISED_ODDS)))

    return tuple(raised(candidate) for candidate in candidates)
