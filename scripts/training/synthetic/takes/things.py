"""Things that strike nothing: pendulums, fans, traffic, cloth, leaves, passers-by, springs."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from ..motion import (
    RATE,
    ease,
    hump,
    itinerary,
    reaches,
    unrest,
    wander,
    wander2,
    xy,
)  # fmt: skip
from ..paint import Pixels, Sprite, some_look
from ..puppet import forearm
from ..shapes import ball, capsule, ellipse, polygon, slab
from ..stage import Stage


def pendulums(stage: Stage) -> None:
    """Weights that hang and swing, springs that bob, pointers that beat to and fro."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    for _ in range(int(rng.integers(1, 4))):
        top = np.array([rng.uniform(0.2, 0.8), stage.aspect * rng.uniform(0.0, 0.3)])
        long, radius = stage.aspect * rng.uniform(0.2, 0.6), rng.uniform(0.02, 0.08)
        hertz, fade = rng.uniform(0.3, 2.2), np.exp(-t / rng.uniform(3, 40))
        phase = 2 * np.pi * hertz * t + rng.uniform(0, 6)
        if rng.random() < 0.3:
            end = top + np.stack([0 * t, long * (1 + 0.4 * np.sin(phase) * fade)], axis=1)
        else:
            angle = rng.uniform(0.15, 0.9) * np.sin(phase) * fade
            end = top + long * np.stack([np.sin(angle), np.cos(angle)], axis=1)
        root = np.tile(top, (len(t), 1))
        stage.bar(capsule(rng, some_look(rng), scale, long, 0.006, 0.006), long, root, end)
        stage.add(ball(rng, scale, radius), end, order=0.1)


def spinners(stage: Stage) -> None:
    """Fans, mixers and wheels, even or gathering speed."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    for _ in range(int(rng.integers(1, 3))):
        hub = np.array([rng.uniform(0.25, 0.75), stage.aspect * rng.uniform(0.3, 0.7)])
        rate = rng.uniform(0.3, 6) * (1 + 0.3 * wander(rng, t, 0.5, 0.1, 0.4))
        if rng.random() < 0.3:
            rate = rate * ease(t, rng.uniform(0, 1), rng.uniform(1, 3))
        angle = 2 * np.pi * np.cumsum(rate) / RATE
        long, wide, count = rng.uniform(0.1, 0.35), rng.uniform(0.01, 0.07), int(rng.integers(1, 6))
        blade = capsule(rng, some_look(rng), scale, long, wide * 0.4, wide)
        squash = rng.uniform(0.3, 1.0) if rng.random() < 0.3 else 1.0
        for number in range(count):
            turn = angle + 2 * np.pi * number / count
            end = hub + long * np.stack([np.cos(turn), squash * np.sin(turn)], axis=1)
            stage.bar(blade, long, np.tile(hub, (len(t), 1)), end)
        stage.add(ellipse(rng, some_look(rng), scale, wide, wide), hub, order=0.1)


def cloth(stage: Stage) -> None:
    """A flag, a curtain, water: a surface that flows."""
    rng = stage.rng
    wide, high = rng.uniform(0.3, 0.9), stage.aspect * rng.uniform(0.3, 0.8)
    piece = slab(rng, some_look(rng, 0.15), stage.scale, wide, high)
    h, w = piece.image.shape[:2]
    x, y = np.meshgrid(np.arange(w, dtype=np.float32), np.arange(h, dtype=np.float32))
    waves = [
        (
            rng.uniform(0.5, 5) * np.pi / w,
            rng.normal(0, 2) / h,
            rng.uniform(0.3, 2.0),
            rng.uniform(0, 6),
        )
        for _ in range(4)
    ]
    size = rng.uniform(0.004, 0.02) * stage.scale
    free = x / w if rng.random() < 0.6 else np.ones_like(x)

    def flowing(instant: float) -> Pixels:
        dx, light = np.zeros_like(x), np.ones_like(x)
        for kx, ky, hertz, phase in waves:
            at = kx * x + ky * y - np.float32(2 * np.pi * hertz * instant + phase)
            dx += np.sin(at) * np.float32(size)
            light += 0.06 * np.cos(at)
        picture = cv2.remap(piece.image, x + dx * free, y + 0.7 * dx * free, cv2.INTER_LINEAR)
        return np.asarray(np.minimum(picture * light[..., None], picture[..., 3:]), np.uint8)

    at = np.array([rng.uniform(0.3, 0.7), stage.aspect * rng.uniform(0.3, 0.7)])
    stage.add(piece, at, order=-0.5, live=flowing)


def leaves(stage: Stage) -> None:
    """Leaves in the wind, or flakes and drops that fall."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    falling = rng.random() < 0.5
    kinds = [ellipse(rng, some_look(rng), scale, rng.uniform(0.006, 0.03), 0.008) for _ in range(4)]
    wind = wander(rng, t, 0.02, 0.2, 1.5)
    speed = rng.uniform(0.1, 0.9)
    for _ in range(int(rng.integers(15, 45))):
        home = np.array([rng.uniform(-0.1, 1.1), rng.uniform(0, stage.aspect)])
        at = (
            home
            + np.stack([wind, 0.4 * wind], axis=1) * rng.uniform(0.3, 1.5)
            + wander2(rng, t, 0.004, 0.5, 3)
        )
        if falling:
            at[:, 1] = (at[:, 1] + speed * rng.uniform(0.8, 1.2) * t) % (stage.aspect + 0.3) - 0.15
        stage.add(
            kinds[int(rng.integers(4))],
            at,
            rng.uniform(0, 6) + wander(rng, t, 0.4, 0.5, 2),
            order=rng.uniform(-1, 1),
        )
    for layer_number, layer in enumerate(stage.layers):
        jumps = np.abs(np.diff(layer.place[:, 1, 2])) > 0.1
        if jumps.any():
            _split(stage, layer_number, np.flatnonzero(jumps))


def _split(stage: Stage, number: int, jumps: NDArray[np.int64]) -> None:
    """Hide a flake while it goes from the bottom back to the top."""
    layer = stage.layers[number]
    shown = np.ones(len(stage.t))
    for jump in jumps:
        shown[max(int(jump) - 60, 0) : int(jump) + 60] = 0
    stage.layers[number] = replace(layer, shown=shown)


def something(stage: Stage) -> Sprite:
    """A ball, a block or a splinter."""
    rng, scale = stage.rng, stage.scale
    if rng.random() < 0.5:
        return ball(rng, scale, rng.uniform(0.02, 0.09))
    if rng.random() < 0.5:
        return slab(rng, some_look(rng), scale, rng.uniform(0.04, 0.2), rng.uniform(0.03, 0.15))
    points = [(float(x), float(y)) for x, y in rng.uniform(0, 0.16, (5, 2))]
    return polygon(rng, some_look(rng), scale, points, (0.08, 0.08))


def springs(stage: Stage) -> None:
    """Things that turn about softly: on elastic, on swings, rolling to a gentle stop."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    level = stage.aspect * rng.uniform(0.55, 0.8)
    for number in range(int(rng.integers(1, 4))):
        thing = something(stage)
        x = 0.2 + 0.3 * number + rng.normal(0, 0.05)
        if rng.random() < 0.5:
            bob = rng.uniform(0.03, 0.25) * np.sin(2 * np.pi * rng.uniform(0.4, 2.4) * t)
            at = np.stack([x + wander(rng, t, 0.01), level - 0.15 + bob], axis=1)
            cord = capsule(rng, some_look(rng), scale, 0.5, 0.003, 0.003)
            stage.bar(cord, 0.5, np.tile([x, -0.1], (len(t), 1)), at, -0.1)
        else:
            length, far = rng.uniform(0.7, 2.5), rng.uniform(0.3, 0.9)
            s = np.clip((t + rng.uniform(0, 0.5)) / length, 0, 1)
            gone = far * (1 - (1 - s) ** 2)
            at = np.stack([x - far + gone, np.full(len(t), level)], axis=1)
        stage.add(thing, at, (at[:, 0] - x) * 8, order=0)


def pushed(stage: Stage) -> None:
    """A hand that leads a thing about with smooth stops, wipes or strokes a surface."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    at = np.array([rng.uniform(0.4, 0.6), stage.aspect * rng.uniform(0.5, 0.7)])
    stage.add(slab(rng, some_look(rng), scale, 1.7, 1.2, (0.5, 0.2)), at, order=-1)
    rate, size = rng.uniform(0.6, 3.0), rng.uniform(0.04, 0.2)
    saw = np.sin(2 * np.pi * rate * t + wander(rng, t, 0.5))
    strength = size * np.clip(0.7 + wander(rng, t, 0.4, 0.2, 1), 0.1, 2)
    path = at + np.stack([saw * strength, 0.2 * saw * strength], axis=1) + wander2(rng, t, 0.02)
    if rng.random() < 0.6:
        tool = slab(rng, some_look(rng), scale, rng.uniform(0.06, 0.2), rng.uniform(0.03, 0.1))
        stage.add(tool, path + xy(0.05, 0.02), wander(rng, t, 0.05), order=0.5)
    forearm(stage, path, 0.3, path + xy(-0.4, 0.15) - 0.4 * (path - at), 0.15, "flat", 1)


def quivering(stage: Stage) -> None:
    """Things that shake by themselves."""
    rng, t = stage.rng, stage.t
    for _ in range(int(rng.integers(1, 5))):
        at = np.array([rng.uniform(0.15, 0.85), stage.aspect * rng.uniform(0.3, 0.8)])
        shake = wander(rng, t, rng.uniform(0.001, 0.006), 5, 14) * hump(
            t, rng.uniform(0, 2), 0.4, 1.5, 0.5
        )
        turn = wander(rng, t, 0.02, 3, 8) * hump(t, rng.uniform(0, 2), 0.3, 1.0, 1.0)
        stage.add(something(stage), at + np.stack([shake, 0.3 * shake], axis=1), turn, order=0)


def hinged(stage: Stage) -> None:
    """Doors, lids and leaves of a book, opened and shut by a hand that brakes them."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    hinge = np.array([rng.uniform(0.35, 0.65), stage.aspect * rng.uniform(0.5, 0.7)])
    wide, high = rng.uniform(0.2, 0.5), rng.uniform(0.02, 0.4)
    stops = itinerary(rng, t[-1], (-0.8, 0.0), (0.7, 0.0), (0.35, 1.0), (0.05, 0.6))
    angle = np.clip(reaches(rng, t, np.array([-0.1, 0.0]), stops)[:, 0], -2.6, 0.4)
    door = slab(rng, some_look(rng), scale, wide, high, (0.0, 0.5))
    if rng.random() < 0.5:
        stage.add(door, hinge, stretch=np.cos(angle), tall=1.0, order=0)
        edge = hinge + np.stack([wide * np.cos(angle), 0 * t], axis=1)
    else:
        stage.add(door, hinge, angle, order=0)
        edge = hinge + wide * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    stage.add(
        slab(rng, some_look(rng), scale, 2 * wide, 0.3, (0.5, 0.0)),
        hinge + xy(0, high / 2),
        order=-1,
    )
    elbow = edge + xy(0.3, 0.25) - 0.4 * (edge - hinge)
    forearm(
        stage, edge + unrest(rng, t, 0.003), np.pi + 0.4, elbow, rng.uniform(0.08, 0.14), "grip", 1
    )
