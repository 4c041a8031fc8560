"""The sound of a scratch hit: a dull body blow, made of nothing but arithmetic.

A sine that falls in pitch and dies away, bent so that small loudspeakers carry its overtones, with
a burst of filtered noise on top. ``s = log(v / SLOWEST) / log(FASTEST / SLOWEST)``, held to 0..1,
of the measured speed ``v`` sets how loud and how bright it is. The speeds that bound the scale are
the spread of peak speeds measured in test footage; the sound itself follows no source but the ear.
"""

from __future__ import annotations

import math

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.sound.filters import Butterworth

SAMPLE_RATE = 48000
"""Samples a second."""
THUMP_SAMPLES = SAMPLE_RATE * 22 // 100

SLOWEST, FASTEST = 0.25, 2.5
QUIETEST_DB, LOUDEST_DB = -18.0, -6.0

_ATTACK, _RELEASE = 24, 960
_LOW_START, _LOW_END, _FALL_SECONDS = 260.0, 68.0, 0.026
_BODY_DECAY, _NOISE_DECAY = 0.042, 0.016
_NOISE_BOTTOM, _NOISE_TOPS = 220.0, (1000.0, 5000.0)
_NOISE_SHARE = (0.35, 0.6)
_BEND = 2.2

MonoSound = FloatArray


def strength(speed: float) -> float:
    """Place of a peak speed, in picture widths a second, on the scale 0..1."""
    if speed <= SLOWEST:
        return 0.0
    return min(1.0, math.log(speed / SLOWEST) / math.log(FASTEST / SLOWEST))


def peak_level(speed: float) -> float:
    """Highest sample of the thump for a speed, as a part of full scale."""
    decibels = QUIETEST_DB + (LOUDEST_DB - QUIETEST_DB) * strength(speed)
    return float(10 ** (decibels / 20))


def thump(speed: float, seed: int = 0) -> MonoSound:
    """The thump for a hit.

    Parameters
    ----------
    speed : float
        Peak speed of the strike, in picture widths a second.
    seed : int
        Picks the noise, so that no two hits sound stamped from one die; at least 0.

    Returns
    -------
    float32, shape (THUMP_SAMPLES,)
        At 48 kHz, mono, full scale 1; it sounds from the first sample on and ends in silence.
    """
    bright = strength(speed)
    share = _between(_NOISE_SHARE, bright)
    sound = (1 - share) * _body() + share * _slap(bright, seed)
    sound *= _edges()
    return np.asarray(sound * (peak_level(speed) / np.abs(sound).max()), np.float32)


def _body() -> Float64Array:
    time = np.arange(THUMP_SAMPLES) / SAMPLE_RATE
    fallen = _FALL_SECONDS * -np.expm1(-time / _FALL_SECONDS)
    turns = _LOW_END * time + (_LOW_START - _LOW_END) * fallen
    swing = np.sin(2 * math.pi * turns + math.pi / 2) * np.exp(-time / _BODY_DECAY)
    return np.tanh(_BEND * swing) / math.tanh(_BEND)


def _slap(bright: float, seed: int) -> Float64Array:
    # NumPy promises the raw stream of a bit generator for good, but not what is drawn from it.
    raw = np.random.PCG64(seed).random_raw(THUMP_SAMPLES)
    noise = (np.asarray(raw) >> np.uint64(11)).astype(np.float64) / 2**52 - 1
    noise *= np.exp(-np.arange(THUMP_SAMPLES) / (SAMPLE_RATE * _NOISE_DECAY))
    low, high = _NOISE_TOPS
    top = low * (high / low) ** bright
    filtered = Butterworth(2, _NOISE_BOTTOM / SAMPLE_RATE, top / SAMPLE_RATE)(noise)
    return np.asarray(filtered / np.abs(filtered).max())


def _edges() -> Float64Array:
    gain = np.ones(THUMP_SAMPLES)
    gain[:_ATTACK] = np.arange(1, _ATTACK + 1) / (_ATTACK + 1)
    gain[-_RELEASE:] = np.cos(np.linspace(0, math.pi / 2, _RELEASE)) ** 2
    return gain


def _between(ends: tuple[float, float], place: float) -> float:
    return ends[0] + (ends[1] - ends[0]) * place
