"""Sizes, rates, shutters, light and treatment, drawn at random."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np

from .film import Format
from .motion import Floats, drawn, hump, jerk
from .splices import Source

Rng = np.random.Generator
SIZES: dict[tuple[int, int], float] = {
    (320, 180): 3, (384, 216): 2.5, (426, 240): 2.5, (480, 270): 1.5, (512, 288): 0.8,
    (640, 360): 0.4, (320, 240): 1.6, (400, 300): 0.8, (360, 360): 0.5,
    (320, 568): 0.8, (360, 640): 0.3, (320, 400): 0.5, (640, 268): 0.4, (480, 200): 0.6,
}  # fmt: skip
RATES: dict[Fraction, float] = {
    Fraction(24000, 1001): 2, Fraction(24): 2, Fraction(25): 3, Fraction(30000, 1001): 2,
    Fraction(30): 2.5, Fraction(25, 2): 0.7, Fraction(15): 0.8,
}  # fmt: skip


def some_format(rng: Rng, kind: str, impact: bool) -> tuple[Format, Source]:
    """A format, and the frames that the camera takes for it."""
    rate = drawn(rng, RATES)
    if kind == "traffic" and rng.random() < 0.6:
        rate = Fraction(25, 2)
    width, height = drawn(rng, SIZES)
    frames = int(rng.uniform(3, 6) * rate)
    source = _source(rng, rate, frames, impact)
    dark = rng.random() < 0.15
    gain = np.full(source.frames, rng.uniform(0.45, 0.7) if dark else rng.uniform(0.85, 1.1))
    grain = rng.uniform(3.5, 8) if dark else np.exp(rng.uniform(np.log(0.6), np.log(4)))
    form = Format(
        width,
        height,
        rate,
        frames,
        source.shutter,
        int(rng.integers(18, 29)),
        float(grain),
        gain,
        float(rng.uniform(0, 14)),
        np.zeros(source.frames),
    )
    return _treated(rng, form, impact), source


def _source(rng: Rng, rate: Fraction, frames: int, impact: bool) -> Source:
    shutter = float(rng.choice([90, 120, 144, 172.8, 180, 180, 180, 216, 270, 330]))
    kind, taken = "plain", rate
    draw = rng.random()
    if draw < 0.06:
        kind, taken = "blended", rate * Fraction(int(rng.choice([16, 24, 20, 25])), 20)
    elif draw < 0.09 and rate >= 29:
        kind, taken = "pulldown", rate * Fraction(4, 5)
    elif draw < (0.11 if impact else 0.17):
        kind = "hiccups"
    count = int(np.ceil(float(frames * taken / rate))) + 2
    return Source(taken, count, shutter, kind)


def _treated(rng: Rng, form: Format, impact: bool) -> Format:
    """Changes of light and focus, now and then."""
    if rng.random() > (0.08 if impact else 0.28):
        return form
    n = len(form.gain)
    at = np.arange(n) / n
    kind = rng.choice(["focus", "light", "flash", "fade", "flicker"])
    gain, blur, flashes = form.gain.copy(), form.blur.copy(), list(form.flashes)
    if kind == "focus":
        blur = _pull(rng, at) * form.width * rng.uniform(0.004, 0.02)
    elif kind == "light":
        size = rng.uniform(-0.6, 0.7)
        gain = gain * (
            1 + size * hump(at, rng.uniform(0, 0.7), rng.choice([0.002, 0.15]), 0.3, 0.1)
        )
    elif kind == "flash":
        flashes = _flashes(rng, n)
    elif kind == "fade":
        gain = gain * jerk(at / rng.uniform(0.08, 0.3)) * jerk((1 - at) / rng.uniform(0.08, 0.3))
    else:
        gain = gain * (1 + rng.normal(0, rng.uniform(0.01, 0.06), n))
    return replace(form, gain=gain, blur=blur, flashes=flashes)


def _pull(rng: Rng, at: Floats) -> Floats:
    start, length = rng.uniform(0, 0.6), rng.uniform(0.05, 0.4)
    if rng.random() < 0.5:
        return hump(at, start, length, 0.1, length)
    return 1 - jerk((at - start) / length)


def _flashes(rng: Rng, frames: int) -> list[tuple[int, float, float, float]]:
    found = []
    for _ in range(int(rng.integers(1, 8))):
        frame = int(rng.integers(0, frames))
        spot = (rng.uniform(0, 1), rng.uniform(0, 1), float(np.exp(rng.uniform(-3.5, 0.3))))
        found += [(frame + k, *spot) for k in range(int(rng.integers(1, 3)))]
    return found
