"""Things that go by and strike nothing: traffic, passers-by close to the lens, captions."""

from __future__ import annotations

import numpy as np

from ..motion import (
    RATE,
    Floats,
    hump,
    jerk,
    wander,
    xy,
)  # fmt: skip
from ..paint import skin, softened, some_look
from ..shapes import ball, car, ellipse, hand, lettering, shadow, slab
from ..stage import Stage
from .things import something


def traffic(stage: Stage) -> None:
    """Cars in several lanes; some brake smoothly, wait and drive on."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    top = stage.aspect * rng.uniform(0.35, 0.55)
    lanes = int(rng.integers(1, 4))
    stage.add(
        slab(rng, some_look(rng, 0.8), scale, 2.0, stage.aspect, (0.5, 0.0)),
        np.array([0.5, top]),
        order=-2,
    )
    for lane in range(lanes):
        way = float(rng.choice([-1, 1]))
        level = top + (lane + 1) / (lanes + 0.7) * (stage.aspect - top)
        length = rng.uniform(0.12, 0.3) * (0.6 + 0.4 * lane)
        start, speed = rng.uniform(0.0, 0.9), rng.uniform(0.08, 0.9)
        pace = np.full(len(t), speed)
        if rng.random() < 0.5:
            when, brake = rng.uniform(0, 3), rng.uniform(0.8, 2.2)
            pace = pace * (1 - hump(t, when, brake, rng.uniform(0.2, 2), 1.5) * rng.uniform(0.5, 1))
        way_on = np.cumsum(pace) / RATE
        for number in range(int(rng.integers(2, 7))):
            x = start - number * rng.uniform(1.4, 1.8) * length + way_on
            at = np.stack([0.5 + way * (x - 0.5), np.full(len(t), level)], axis=1)
            _vehicle(stage, at, length, way, way_on, float(lane))


def _vehicle(
    stage: Stage, at: Floats, length: float, way: float, gone: Floats, order: float
) -> None:
    rng, scale = stage.rng, stage.scale
    at = at + np.stack([0 * gone, 0.003 * wander(rng, stage.t, 0.4, 1, 3)], axis=1)
    stage.add(shadow(rng, scale, length * 0.55, length * 0.06), at, order=order - 0.1)
    stage.add(car(rng, scale, length), at, stretch=way, tall=1.0, order=order)
    radius = length * 0.09
    wheel = ball(rng, scale, radius)
    for x in (-0.3, 0.3):
        stage.add(wheel, at + xy(x * length, -radius), way * gone / radius, order=order + 0.1)


def passing(stage: Stage) -> None:
    """Things that come into the picture and leave it at speed; some go behind a post."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    if rng.random() < 0.7:
        for _ in range(int(rng.integers(1, 4))):
            post = slab(rng, some_look(rng), scale, rng.uniform(0.04, 0.2), stage.aspect * 1.5)
            stage.add(post, np.array([rng.uniform(0.1, 0.9), stage.aspect / 2]), order=2)
    now = rng.uniform(0, 0.8)
    while now < t[-1]:
        length = np.exp(rng.uniform(np.log(0.15), np.log(2.0)))
        angle = rng.normal(0, 0.25) + np.pi * rng.integers(0, 2)
        way = np.array([np.cos(angle), np.sin(angle)])
        middle = np.array([0.5, stage.aspect * rng.uniform(0.2, 0.8)])
        share = (t - now) / length - 0.5
        bend = np.array([0, rng.normal(0, 0.3)]) * (share**2)[:, None]
        path = middle + way * (share * 1.8)[:, None] + bend
        shown = (np.abs(share) < 0.6).astype(float)
        stage.add(something(stage), path, rng.normal(0, 4) * t, shown=shown, order=1)
        now += rng.uniform(0.3, 1.4)


def crossing(stage: Stage) -> None:
    """Someone or a hand crosses close to the lens, large and out of focus."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    for _ in range(int(rng.integers(1, 3))):
        wide, high = rng.uniform(0.3, 0.9), stage.aspect * rng.uniform(0.6, 1.5)
        thing = ellipse(rng, some_look(rng), scale / 3, wide / 2, high / 2)
        if rng.random() < 0.4:
            thing = hand(rng, skin(rng), scale / 3, wide, "spread")
        blurred = softened(thing, float(rng.uniform(1.5, 5)))
        start, length = rng.uniform(0.2, t[-1]), rng.uniform(0.2, 1.0)
        way = float(rng.choice([-1, 1]))
        share = (t - start) / length
        if rng.random() < 0.35:
            share = 0.5 * hump(t, start, length, rng.uniform(0, 0.6), length) - 0.1
        x = 0.5 + way * (share - 0.5) * (1 + 1.4 * wide)
        y = stage.aspect * rng.uniform(0.4, 0.9) + wander(rng, t, 0.02)
        stage.add(blurred, np.stack([x, y], axis=1), rng.normal(0, 0.2), order=9, depth=1.8)


def captions(stage: Stage) -> None:
    """Words and pictures laid over that come, slide in, change and go."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    for _ in range(int(rng.integers(1, 5))):
        card = lettering(rng, scale, rng.uniform(0.2, 0.9))
        at = np.array([rng.uniform(0.3, 0.7), stage.aspect * rng.uniform(0.1, 0.9)])
        start, stay = rng.uniform(-1, t[-1]), rng.uniform(0.4, 3)
        fade = float(rng.choice([0.002, 0.3]))
        path = np.tile(at, (len(t), 1))
        if rng.random() < 0.35:
            length, way = rng.uniform(0.15, 0.6), rng.choice([-1, 1])
            path[:, 0] += way * (1 - jerk((t - start) / length)) + way * jerk(
                (t - start - stay) / length
            )
        stage.add(card, path, shown=hump(t, start, fade, stay, fade), order=20, depth=0)
