"""How loud sound is: against SciPy's filter on the whole of it, with and without gaps."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.core.sound.transients import LEVELS_PER_SECOND
from impactcut.media.sound.levels import HIGH_PASS_HERTZ, LevelMeter

EACH = SAMPLE_RATE // LEVELS_PER_SECOND


def levels(*blocks: tuple[int, np.ndarray]) -> np.ndarray:
    meter = LevelMeter()
    for position, sound in blocks:
        meter.add(position, sound)
    return meter.levels()


def noise(samples: int, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, 0.1, samples)


def test_levels_are_the_mean_square_of_scipys_filtered_sound() -> None:
    sound = noise(40 * EACH, 1)
    sections = butter(2, HIGH_PASS_HERTZ, "highpass", fs=SAMPLE_RATE, output="sos")
    expected = (sosfilt(sections, sound) ** 2).reshape(-1, EACH).mean(axis=1)
    np.testing.assert_allclose(levels((0, sound)), expected, rtol=1e-5)


@pytest.mark.parametrize("cut", [1, 777, 20 * EACH])
def test_sound_that_goes_on_is_measured_as_if_in_one_block(cut: int) -> None:
    sound = noise(40 * EACH, 2)
    np.testing.assert_allclose(
        levels((0, sound[:cut]), (cut, sound[cut:])), levels((0, sound)), rtol=1e-5
    )


def test_what_sounds_before_a_gap_does_not_ring_on_behind_it() -> None:
    later = 30 * EACH
    loud, silence = np.ones(10 * EACH), np.zeros(10 * EACH)
    assert levels((0, loud), (10 * EACH, silence))[10:].max() > 0
    assert levels((0, loud), (later, silence))[10:].max() == 0


def test_a_gap_is_silence_of_its_own_length() -> None:
    sound, later = noise(10 * EACH, 3), 25 * EACH
    found = levels((0, sound), (later, sound))
    assert found[10:25].max() == 0
    np.testing.assert_array_equal(found[25:], found[:10])
