"""How the eye smooths velocity: ``v~ = h * v`` with ``h(t) = t / tau**2 * exp(-t / tau)``.

Two equal low-pass stages of 40 ms: Werkhoven, Snippe & Toet 1992, Vision Res 32:2313. Velocity is
constant within a frame interval, as it is shown, so the convolution has a closed form.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from impactcut.core.arrays import Float64Array
from impactcut.core.viewer.judge import Judge


def peak_step_response(rate: float, judge: Judge) -> float:
    """Peak of the smoothed velocity after a step of length 1 within one frame, per second."""
    tau = judge.front_end_seconds
    frame = 1 / rate
    peak_time = frame / (1 - math.exp(-frame / tau))
    since = np.array([peak_time, peak_time - frame])
    rise = _settled_part(since, tau)
    return float(rise[0] - rise[1]) * rate


def low_pass(velocity: Float64Array, rate: float, judge: Judge) -> Float64Array:
    """Smoothed velocity, exact at every returned instant; everything rests before the first.

    Parameters
    ----------
    velocity : float64, shape (c, n, 2)
        Constant within each of the ``n`` intervals of ``1 / rate`` seconds.

    Returns
    -------
    float64, shape (c, n, s, 2)
        At ``s`` instants evenly through each interval, the last of them its end; they lie no
        farther apart than a sixteenth of the filter's time constant.
    """
    tau = judge.front_end_seconds
    candidates, intervals, axes = velocity.shape
    per_interval = math.ceil(16 / (rate * tau))
    weights = _weights(intervals, per_interval, rate, tau)
    columns = velocity.transpose(1, 0, 2).reshape(intervals, candidates * axes)
    smooth = (weights @ columns).reshape(intervals, per_interval, candidates, axes)
    return smooth.transpose(2, 0, 1, 3)


@lru_cache(maxsize=64)
def _weights(intervals: int, per_interval: int, rate: float, tau: float) -> Float64Array:
    """What each interval's velocity weighs at each instant; hits of a shoot share a few windows."""
    instants = np.arange(1, intervals * per_interval + 1) / per_interval
    rise = _settled_part((instants[:, None] - np.arange(intervals + 1)) / rate, tau)
    return rise[:, :-1] - rise[:, 1:]


def _settled_part(seconds: Float64Array, tau: float) -> Float64Array:
    """Integral of the filter's impulse response up to ``seconds``."""
    x = np.maximum(seconds, 0.0) / tau
    return 1 - np.exp(-x) * (1 + x)
