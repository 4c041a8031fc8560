"""Filters and peaks of our own against SciPy's, which takes too long to load for what measures."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from scipy.ndimage import uniform_filter1d
from scipy.signal import butter, find_peaks, sosfilt

from impactcut.core.sound.filters import PIECE, Butterworth
from impactcut.core.sound.peaks import dips_beside, peaks, smoothed

RATE = 48000
BANDS = [
    (2, 300.0, None),
    (4, 300.0, 3400.0),
    (2, 220.0, 1000.0),
    (2, 220.0, 5000.0),
    (3, 200.0, 12000.0),
]


@pytest.mark.parametrize(("order", "low", "high"), BANDS)
@pytest.mark.parametrize("samples", [1, 700, PIECE, 2 * PIECE + 5])
def test_a_filter_lets_through_what_scipys_does(
    order: int, low: float, high: float | None, samples: int
) -> None:
    sound = np.random.default_rng(samples).normal(0, 0.3, samples)
    kind = "highpass" if high is None else "bandpass"
    sections = butter(order, low if high is None else (low, high), kind, fs=RATE, output="sos")
    through = Butterworth(order, low / RATE, None if high is None else high / RATE)
    cuts = sorted(np.random.default_rng(1).integers(0, samples + 1, 3))
    passed = np.concatenate([through(part) for part in np.split(sound, cuts)])
    np.testing.assert_allclose(passed, sosfilt(sections, sound), rtol=0, atol=1e-13)


def test_a_filter_at_rest_has_heard_nothing() -> None:
    sound = np.random.default_rng(2).normal(0, 0.3, 5000)
    through = Butterworth(2, 300 / RATE)
    first = through(sound)
    assert not np.allclose(through(sound), first)
    through.rest()
    np.testing.assert_array_equal(through(sound), first)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("apart", [1, 2, 8, 12])
def test_peaks_are_scipys(seed: int, apart: int) -> None:
    values = np.cumsum(np.random.default_rng(seed).normal(0, 1, 3000))
    if seed % 2:
        values = np.round(values / 2) * 2  # plateaus
    for least in (-np.inf, float(np.median(values))):
        expected, _ = find_peaks(values, height=least, distance=apart)
        np.testing.assert_array_equal(peaks(values, least, apart), expected)
    every, _ = find_peaks(values, distance=apart)
    deep, _ = find_peaks(values, distance=apart, prominence=2.0)
    np.testing.assert_array_equal(every[dips_beside(values, every, 2.0)], deep)


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 2.0], [3.0, 3.0, 3.0], [1.0, 2.0, 2.0, 1.0]])
def test_few_values_have_the_peaks_that_scipy_finds(values: list[float]) -> None:
    found = peaks(np.array(values), -np.inf, 3)
    np.testing.assert_array_equal(found, find_peaks(np.array(values), distance=3)[0])
    assert len(dips_beside(np.array(values), found, 1.0)) == len(found)


@pytest.mark.parametrize(("size", "ahead", "origin"), [(5, 2, 0), (24, 0, 11)])
def test_levels_are_smoothed_as_scipy_does(size: int, ahead: int, origin: int) -> None:
    values = np.random.default_rng(3).uniform(0, 1, 200)
    expected = uniform_filter1d(values, size, origin=origin, mode="nearest")
    np.testing.assert_allclose(smoothed(values, size, ahead), expected, rtol=1e-12)


def test_listening_loads_nothing_slow() -> None:
    code = (
        "import sys, numpy as np\n"
        "import impactcut.media.sound.listen\n"
        "from impactcut.core.sound.speech import VoiceLevels, syllables\n"
        "from impactcut.core.sound.transients import transients\n"
        "from impactcut.core.sound.thumps import thump\n"
        "sharp = transients(np.ones(100, np.float32))\n"
        "syllables(VoiceLevels(np.ones(100, np.float32), np.ones(100, bool)), sharp)\n"
        "thump(1.0)\n"
        "print(*(name for name in sys.modules if name.startswith('scipy')))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
