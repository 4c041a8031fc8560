"""Speech in a clip's sound: syllables that follow one another, as blows and noises do not.

Syllables are counted as de Jong & Wempe 2009 (Behav Res Methods 41:385, from memory) count them:
peaks of loudness with a dip of 2 dB on either side, in which a voice is heard. Speech has about
four of them a second, the rate at which its loudness varies most (Houtgast & Steeneken 1985, from
memory). Limits: whose voice it is, and whether the mouth is seen, is not known; a bleating animal
or a tune may pass for speech; a single shout, a whisper, and a voice under louder noise do not.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray
from impactcut.core.sound.peaks import dips_beside, peaks, smoothed

Sounds = Float64Array | None
"""Instants of syllables in a clip, seconds; None where nothing could be heard."""
VOICES_PER_SECOND: Final = 100
DIP_DB: Final = 2.0
"""Least dip on either side of a syllable: de Jong & Wempe 2009, from memory."""
SMOOTHED: Final = 5
"""Levels over which loudness is smoothed, 50 ms; engineering choice: less than a short syllable,
more than the period of a deep voice."""
APART: Final = 8
"""Levels between two syllables at least, 80 ms; engineering choice: twelve a second are more than
anybody speaks."""
AUDIBLE: Final = 1e-6
"""Least mean square of a syllable, full scale 1: -60 dB, engineering choice."""
AFTER_BLOW: Final = 0.08
"""Seconds after a sharp sound in which what rings is its own and no syllable; engineering choice:
by then a blow has died away, as `impactcut.core.sound.transients` asks."""
REACH_SECONDS: Final = 0.75
SYLLABLES: Final = 3
"""So many syllables within that time on either side are speech: two a second, half the usual rate,
as some are missed. Engineering choice: one shout, or a shout and its answer, is none."""
_FLOOR: Final = 1e-9


@dataclass(frozen=True, eq=False)
class VoiceLevels:
    """How loud a clip's sound is where voices are, `VOICES_PER_SECOND` times a second.

    Parameters
    ----------
    level : float32, shape (n,)
        Mean square in the band of voices, full scale 1. Level 0 begins when frame 0 is shown.
    voiced : bool, shape (n,)
        Whether it repeats itself at the pitch of a voice.
    """

    level: FloatArray
    voiced: BoolArray


def syllables(voices: VoiceLevels, sharp: Float64Array) -> Float64Array:
    """Instants of the syllables, seconds from the first frame, rising, float64 (m,).

    Parameters
    ----------
    sharp : float64, shape (k,)
        Instants of sharp sounds that die away, as blows on metal ring, seconds and rising.
    """
    if len(voices.level) <= SMOOTHED:
        return np.zeros(0)
    level = smoothed(voices.level, SMOOTHED, SMOOTHED // 2)
    decibels = 10 * np.log10(level + _FLOOR)
    loud = peaks(decibels, -np.inf, APART)
    loud = loud[dips_beside(decibels, loud, DIP_DB)]
    voiced = loud[voices.voiced[loud] & (level[loud] > AUDIBLE)]
    instants: Float64Array = (voiced + 0.5) / VOICES_PER_SECOND
    rings = np.diff(np.searchsorted(sharp, [instants - AFTER_BLOW, instants], "right"), axis=0)[0]
    clear: Float64Array = instants[rings == 0]
    return clear


def spoken_frames(instants: Float64Array, first: int, frames: int, rate: Fraction) -> BoolArray:
    """Which frames are shown while somebody speaks.

    Parameters
    ----------
    instants : float64, shape (m,)
        From `syllables`.
    first, frames : int
        First frame of the clip asked about, and how many.
    rate : Fraction
        Frames per second.

    Returns
    -------
    bool, shape (frames,)
    """
    shown = (first + np.arange(frames)) / float(rate)
    since, until = (
        np.searchsorted(instants, shown + reach) for reach in (-REACH_SECONDS, REACH_SECONDS)
    )
    return until - since >= SYLLABLES
