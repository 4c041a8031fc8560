"""The sound of a scratch hit, measured with SciPy's spectra.

That a dull blow lies low, and that small loudspeakers carry little below 150 Hz, is common practice
without a source; the limits say no more than that.
"""

import numpy as np
import pytest
from scipy.signal import periodogram

from impactcut.core.sound.thumps import (
    FASTEST,
    LOUDEST_DB,
    QUIETEST_DB,
    SAMPLE_RATE,
    SLOWEST,
    THUMP_SAMPLES,
    peak_level,
    thump,
)

SPEEDS = (0.05, 0.25, 0.5, 1.0, 1.8, 2.5, 9.0)


@pytest.mark.parametrize("speed", SPEEDS)
def test_it_starts_at_once_and_ends_in_silence(speed: float) -> None:
    sound = thump(speed, seed=4)
    assert sound.shape == (THUMP_SAMPLES,) and sound.dtype == np.float32
    assert abs(sound[0]) > 2**-23
    assert abs(sound[-1]) < 2**-23
    assert np.abs(sound[: SAMPLE_RATE // 100]).max() == np.abs(sound).max()
    assert np.abs(sound[SAMPLE_RATE // 10 :]).max() < np.abs(sound).max() / 4
    assert abs(sound.mean()) < 0.01 * np.abs(sound).max()


@pytest.mark.parametrize("speed", SPEEDS)
def test_it_peaks_where_it_says_and_never_clips(speed: float) -> None:
    peak = float(np.abs(thump(speed, seed=1)).max())
    assert peak == pytest.approx(peak_level(speed), rel=1e-6)
    assert QUIETEST_DB - 1e-3 <= 20 * np.log10(peak) <= LOUDEST_DB + 1e-3


def test_faster_is_louder_and_brighter() -> None:
    sounds = [thump(speed, seed=2).astype(float) for speed in (SLOWEST, 0.8, FASTEST)]
    loudness = [float(np.sqrt(np.mean(sound**2))) for sound in sounds]
    assert loudness == sorted(loudness) and loudness[-1] > 2 * loudness[0]
    shares = [share_above(sound, 1000) for sound in sounds]
    assert shares == sorted(shares) and shares[-1] > 4 * shares[0]


@pytest.mark.parametrize("speed", SPEEDS)
def test_it_is_low_but_can_be_heard_from_small_loudspeakers(speed: float) -> None:
    sound = thump(speed, seed=3).astype(float)
    assert share_above(sound, 1000) < 0.15
    assert share_above(sound, 150) > 0.3
    assert share_above(sound, 40) > 0.98


def test_the_same_hit_always_sounds_the_same_and_others_differ() -> None:
    assert thump(1.0, 7).tobytes() == thump(1.0, 7).tobytes()
    assert np.abs(thump(1.0, 7) - thump(1.0, 8)).max() > 0.01


def share_above(sound: np.ndarray, hertz: float) -> float:
    """Part of the power that lies above a frequency."""
    frequencies, power = periodogram(sound, SAMPLE_RATE)
    return float(power[frequencies > hertz].sum() / power.sum())
