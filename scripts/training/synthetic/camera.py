"""How the camera moves: held still, by hand, walked with, panned, whipped, zoomed, knocked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d

from .motion import RATE, Floats, ease, hump, jerk, ring, wander, wander2

Rng = np.random.Generator


@dataclass(frozen=True)
class Camera:
    """Shift (T, 2) in picture widths, roll (T,) in radians, zoom (T,)."""

    shift: Floats
    roll: Floats
    zoom: Floats

    def matrices(self, t: Floats, instants: Floats, aspect: float, depth: float) -> Floats:
        """From the scene to the picture, both in picture widths, shape (..., 2, 3)."""
        at = np.clip(instants, t[0], t[-1])
        x, y, roll, zoom = (
            np.interp(at, t, v) for v in (self.shift[:, 0], self.shift[:, 1], self.roll, self.zoom)
        )
        if depth == 0:
            x, y, roll, zoom = x * 0, y * 0, roll * 0, zoom * 0 + 1
        cos, sin = zoom * np.cos(roll), zoom * np.sin(roll)
        matrix = np.empty((*at.shape, 2, 3))
        matrix[..., 0, 0], matrix[..., 0, 1] = cos, -sin
        matrix[..., 1, 0], matrix[..., 1, 1] = sin, cos
        mx, my = 0.5, aspect / 2
        sx, sy = depth * x + mx, depth * y + my
        matrix[..., 0, 2] = mx - cos * sx + sin * sy
        matrix[..., 1, 2] = my - sin * sx - cos * sy
        return matrix


def still(rng: Rng, t: Floats) -> Camera:
    """On a stand."""
    return Camera(np.zeros((len(t), 2)), np.zeros(len(t)), np.ones(len(t)))


def held(rng: Rng, t: Floats) -> Camera:
    """Held by hand, calmly or less so."""
    size = np.exp(rng.uniform(np.log(0.002), np.log(0.02)))
    shift = wander2(rng, t, size, 0.2, 2.0) + wander2(rng, t, size * 0.06, 4, 9)
    roll = wander(rng, t, size * 0.5, 0.3, 2.5)
    return Camera(shift, roll, 1 + wander(rng, t, size * 0.3, 0.2, 1))


def rough(rng: Rng, t: Floats) -> Camera:
    """Held by a hand that fights or runs: large unrest and jolts."""
    base = held(rng, t)
    size = rng.uniform(0.012, 0.045)
    shift = base.shift + wander2(rng, t, size, 0.6, 3.5)
    for _ in range(int(rng.integers(1, 7))):
        start, way = rng.uniform(0, t[-1]), rng.normal(0, 1.3 * size, 2)
        shift = shift + way * ease(t, start, rng.uniform(0.07, 0.3))[:, None]
    return Camera(shift, base.roll + wander(rng, t, size * 0.7, 0.5, 3), base.zoom)


def walked(rng: Rng, t: Floats) -> Camera:
    """Carried by a walker: bob, sway and the knock of each step."""
    step, size = rng.uniform(1.5, 2.8), rng.uniform(0.006, 0.03)
    phase = 2 * np.pi * (step * t + 0.03 * np.sin(2.1 * t)) + rng.uniform(0, 6)
    shift = wander2(rng, t, size * 0.7, 0.3, 2)
    shift[:, 1] += size * (1 - np.abs(np.sin(phase / 2)) ** 1.3)
    shift[:, 0] += 0.7 * size * np.sin(phase / 2)
    for start in np.arange(rng.uniform(0, 1 / step), t[-1], 1 / step):
        knock = ring(t, start, size * rng.uniform(0.05, 0.3), rng.uniform(6, 11), 0.06)
        shift[:, 1] += knock
    zoom = np.exp(rng.uniform(0, 0.05) * t)
    return Camera(shift, 0.6 * size * np.sin(phase / 2), zoom)


def panned(rng: Rng, t: Floats) -> Camera:
    """Turned evenly, or from one rest to another."""
    base = held(rng, t) if rng.random() < 0.5 else still(rng, t)
    way = np.array([rng.normal(0, 0.35), rng.normal(0, 0.08)])
    if rng.random() < 0.5:
        share = t / t[-1] - 0.5
    else:
        share = ease(t, rng.uniform(0, 0.4) * t[-1], rng.uniform(0.3, 0.6) * t[-1]) - 0.5
    return Camera(0.5 * base.shift + way * share[:, None], base.roll, base.zoom)


def whipped(rng: Rng, t: Floats) -> Camera:
    """Whip pans that start and end at rest."""
    base = held(rng, t) if rng.random() < 0.6 else still(rng, t)
    shift, now = base.shift.copy(), rng.uniform(0.3, 1.0)
    while now < t[-1]:
        length = rng.uniform(0.12, 0.45)
        way = np.array([rng.choice([-1, 1]) * rng.uniform(0.15, 1.2), rng.normal(0, 0.1)])
        s = np.clip((t - now) / length, 0, 1)
        shift += way * (1.04 * jerk(s) - 0.04 * ease(t, now + length * 0.9, 0.2))[:, None]
        now += length + rng.uniform(0.3, 1.6)
    return Camera(shift, base.roll, base.zoom)


def zoomed(rng: Rng, t: Floats) -> Camera:
    """In or out, slowly or fast."""
    base = held(rng, t) if rng.random() < 0.4 else still(rng, t)
    size = np.exp(rng.normal(0, 0.3))
    length = np.exp(rng.uniform(np.log(0.25), np.log(t[-1])))
    way = ease(t, rng.uniform(0, max(t[-1] - length, 0.1)), length)
    return Camera(base.shift, base.roll, base.zoom * (1 + (size - 1) * way))


def rolled(rng: Rng, t: Floats) -> Camera:
    """Turned about its axis, evenly or there and back."""
    base = held(rng, t)
    turn = rng.normal(0, 0.35)
    share = t / t[-1] if rng.random() < 0.5 else hump(t, rng.uniform(0.2, 1), 0.7, 0.4, 0.7)
    return Camera(base.shift, base.roll + turn * share, base.zoom)


def bumped(rng: Rng, t: Floats) -> Camera:
    """Knocked now and then: starts to shake at once, dies away."""
    base = still(rng, t) if rng.random() < 0.7 else held(rng, t)
    shift, roll = base.shift.copy(), base.roll.copy()
    for _ in range(int(rng.integers(1, 5))):
        start, size = rng.uniform(0.2, t[-1]), rng.normal(0, 0.02, 2)
        hertz, decay = rng.uniform(3, 12), rng.uniform(0.05, 0.25)
        shift += ring(t, start, 1.0, hertz, decay)[:, None] * size
        roll += ring(t, start, 0.4 * size[0], hertz, decay)
    return Camera(shift, roll, base.zoom)


def following(rng: Rng, t: Floats, path: Floats) -> Camera:
    """Kept on a moving thing by a hand that is a little late."""
    late = rng.uniform(0.05, 0.3)
    away = path - np.median(path, axis=0)
    limit = rng.uniform(0.3, 0.9)
    smooth = gaussian_filter1d(np.clip(away, -2, 2), late * RATE, axis=0, mode="nearest")
    behind = round(late * 0.6 * RATE)
    smooth = np.concatenate([np.repeat(smooth[:1], behind, axis=0), smooth])[: len(t)]
    base = held(rng, t)
    return Camera(limit * smooth + 0.6 * base.shift, base.roll, base.zoom)


Way = Callable[[Rng, Floats], Camera]
CALM: dict[Way, float] = {still: 6, held: 3, panned: 0.7, zoomed: 0.4}
"""For impacts; weights."""
WILD: dict[Way, float] = {rough: 1, walked: 0.8, panned: 0.5, zoomed: 0.3, bumped: 0.4, rolled: 0.2}
ALONE: dict[Way, float] = {
    rough: 2, walked: 2, whipped: 2, zoomed: 1.2, rolled: 1, bumped: 1.2, panned: 1, held: 0.6,
}  # fmt: skip
"""Where the camera is the only thing that moves."""
