"""Figures and animals that strike nothing: walkers, dancers, slow postures, quick heads."""

from __future__ import annotations

import numpy as np

from ..motion import Floats, ease, hump, itinerary, jerk, reaches, wander, wander2, xy
from ..paint import some_look
from ..puppet import Pose, clothes, figure
from ..shapes import capsule, ellipse, shadow
from ..stage import Stage


def walkers(stage: Stage) -> None:
    """Figures that walk by, feet set down softly."""
    rng = stage.rng
    for _ in range(int(rng.integers(1, 4))):
        size = rng.uniform(0.3, 1.1) * min(stage.aspect, 1.0)
        ground = stage.aspect * rng.uniform(0.7, 1.0)
        way = float(rng.choice([-1, 1]))
        _walker(stage, size, ground, way)


def _walker(stage: Stage, size: float, ground: float, way: float) -> None:
    rng, t = stage.rng, stage.t
    cadence = rng.uniform(0.75, 1.15) * (1.5 if rng.random() < 0.15 else 1.0)
    stride = size * rng.uniform(0.55, 0.85)
    speed = stride * cadence * way
    start = rng.uniform(0.2, 0.8) - speed * rng.uniform(0.2, 0.8) * t[-1]
    cycle = cadence * t + rng.uniform(0, 1)
    x = start + speed * t
    bob = 0.012 * size * np.cos(4 * np.pi * cycle)
    pelvis = np.stack([x, ground - 0.475 * size + bob], axis=1)
    feet, hands = [], []
    swing = rng.uniform(0.05, 0.16) * size
    for phase in (0.0, 0.5):
        feet.append(_foot(cycle + phase, stride, size, way) + np.stack([x, 0 * t + ground], axis=1))
        arm = np.sin(2 * np.pi * (cycle + phase + 0.02)) * swing * way
        hands.append(
            pelvis
            + np.stack([arm + way * 0.03 * size, 0 * t + 0.02 * size - abs(arm) * 0.4], axis=1)
        )
    pose = Pose(
        pelvis,
        0.06 * way + wander(rng, t, 0.02),
        wander(rng, t, 0.1),
        (hands[0], hands[1]),
        (feet[0], feet[1]),
    )
    order = float(size)
    stage.add(
        shadow(rng, stage.scale, 0.16 * size, 0.03 * size),
        np.stack([x, 0 * t + ground], axis=1),
        order=order - 0.9,
    )
    figure(stage, pose, size, clothes(rng, way), order, "fist")


def _foot(cycle: Floats, stride: float, size: float, way: float) -> Floats:
    """Place of a foot from under the pelvis: on the ground 60 % of the cycle, then swung."""
    s = cycle % 1.0
    stance = s < 0.6
    back = 0.3 - s / 0.6 * 0.6
    swung = (s - 0.6) / 0.4
    # the swing starts and ends at the speed of the ground, so that the foot is set down softly
    forth = -0.3 + 0.6 * jerk(swung) - 0.4 * (swung - jerk(swung)) * (1 - swung) * 0.6
    x = np.where(stance, back, forth) * stride * way
    y = np.where(stance, 0.0, -(np.sin(np.pi * np.clip(swung, 0, 1)) ** 2) * 0.09 * size)
    return np.stack([x, y - 0.03 * size], axis=1)


def dancers(stage: Stage) -> None:
    """Figures that sway and wave their arms in time."""
    rng, t = stage.rng, stage.t
    tempo = rng.uniform(1.4, 2.3)
    for number in range(int(rng.integers(1, 4))):
        size = rng.uniform(0.5, 1.15) * min(stage.aspect, 1.1)
        ground = stage.aspect * rng.uniform(0.8, 1.05)
        x = 0.5 + (number - 1) * rng.uniform(0.2, 0.32) + wander(rng, t, 0.03)
        beat = 2 * np.pi * tempo * t + rng.uniform(0, 6)
        hips = 0.05 * size * np.sin(beat / 2) * (1 + wander(rng, t, 0.3))
        dip = 0.02 * size * np.sin(beat)
        pelvis = np.stack([x + hips, ground - 0.44 * size + dip], axis=1)
        hands = []
        for side in (1, -1):
            home = pelvis + np.array([side * 0.2, -0.2]) * size
            rates = rng.choice([0.5, 1.0], 2)
            sizes = rng.uniform(0.02, 0.16, 2) * size * (1 + wander(rng, t, 0.3))[:, None]
            swings = [np.sin(beat * r + rng.uniform(0, 6)) for r in rates]
            hands.append(home + np.stack(swings, axis=1) * sizes + wander2(rng, t, 0.03 * size))
        feet = [np.stack([x + side * 0.1 * size, 0 * t + ground], axis=1) for side in (1, -1)]
        lean = 0.1 * np.sin(beat / 2 + 1) + wander(rng, t, 0.04)
        pose = Pose(pelvis, lean, 0.12 * np.sin(beat), (hands[0], hands[1]), (feet[0], feet[1]))
        figure(stage, pose, size, clothes(rng, float(rng.choice([-1, 1]))), number, "flat")


def postures(stage: Stage) -> None:
    """A figure that goes from one posture to another, slowly or at an exerciser's pace."""
    rng, t = stage.rng, stage.t
    size = rng.uniform(0.6, 1.1) * min(stage.aspect, 1.1)
    hip = np.array([rng.uniform(0.4, 0.6), stage.aspect * 0.5 + 0.1 * size])
    quick = float(rng.choice([0.35, 1.0, 2.0]))
    move, hold = (0.9 * quick, 2.0 * quick), (0.1, 0.8 * quick)

    def roaming(home: Floats, spread: float) -> Floats:
        stops = itinerary(
            rng, t[-1], (home[0], home[1]), (spread * size, spread * size), move, hold
        )
        return reaches(rng, t, home, stops) + wander2(rng, t, 0.003)

    pelvis = roaming(hip, 0.03)
    lean = roaming(np.zeros(2), 0.25)[:, 0]
    hands = (
        roaming(hip + np.array([0.2, -0.3]) * size, 0.15),
        roaming(hip - np.array([0.2, 0.3]) * size, 0.15),
    )
    ground = hip[1] + 0.46 * size
    spread = rng.uniform(0.06, 0.22) * size
    feet = [np.tile([hip[0] + s * spread, ground], (len(t), 1)) for s in (1, -1)]
    if rng.random() < 0.4:
        feet[0] = roaming(np.array([hip[0] + spread, ground - 0.2 * size]), 0.07)
    pose = Pose(pelvis, lean, wander(rng, t, 0.08), hands, (feet[0], feet[1]))
    figure(stage, pose, size, clothes(rng, float(rng.choice([-1, 1]))), 0, "flat")


def animals(stage: Stage) -> None:
    """A beast that stands or walks, turns its head quickly and wags its tail."""
    rng, t, scale = stage.rng, stage.t, stage.scale
    size, look = rng.uniform(0.2, 0.5), some_look(rng)
    way = float(rng.choice([-1, 1]))
    speed = way * (0.0 if rng.random() < 0.5 else rng.uniform(0.05, 0.35))
    middle = np.array([0.5 - speed * t[-1] / 2, stage.aspect * rng.uniform(0.5, 0.75)])
    at = middle + np.outer(t, [speed, 0]) + wander2(rng, t, 0.006)
    stage.add(ellipse(rng, look, scale, 0.5 * size, 0.27 * size), at, wander(rng, t, 0.03), order=0)
    turns = itinerary(rng, t[-1], (0.0, 0.0), (0.5, 0.07), (0.08, 0.25), (0.1, 1.2))
    gaze = reaches(rng, t, np.zeros(2), turns)
    neck = at + xy(way * 0.42 * size, -0.2 * size)
    head = (
        neck
        + np.stack([way * 0.12 * size * np.cos(gaze[:, 0]), gaze[:, 1] * size], axis=1)
        - [0, 0.12 * size]
    )
    stage.bar(
        capsule(rng, look, scale, 0.2 * size, 0.12 * size, 0.09 * size), 0.2 * size, neck, head, 0.1
    )
    wide = np.clip(np.cos(gaze[:, 0]), 0.5, 1)
    stage.add(
        ellipse(rng, look, scale, 0.2 * size, 0.13 * size),
        head,
        gaze[:, 0] * 0.5 * way,
        stretch=wide,
        tall=1.0,
        order=0.2,
    )
    dark = some_look(rng)
    stage.add(
        ellipse(rng, dark, scale, 0.025 * size, 0.025 * size),
        head + xy(way * 0.08 * size, -0.03 * size),
        order=0.3,
    )
    wag = 0.6 * np.sin(2 * np.pi * rng.uniform(1, 4) * t) * (0.5 + wander(rng, t, 0.4))
    tail = capsule(rng, look, scale, 0.35 * size, 0.04 * size, 0.015 * size)
    stage.add(
        tail,
        at - [way * 0.45 * size, 0.08 * size],
        (np.pi if way > 0 else 0) + way * 0.6 + wag,
        order=-0.1,
    )
    stride = 0.5 * size
    cycle = t * abs(speed) / stride
    for number, x in enumerate((-0.35, -0.25, 0.25, 0.35)):
        hip = at + xy(x * size, 0.15 * size)
        foot = (
            hip
            + xy(0, 0.37 * size)
            + _foot(cycle + number * 0.27, stride, size, way) * (speed != 0)
        )
        leg = capsule(rng, look, scale, 0.35 * size, 0.06 * size, 0.035 * size)
        stage.bar(leg, 0.35 * size, hip, foot, -0.2 + 0.25 * (number % 2))


def crowd(stage: Stage) -> None:
    """Heads and shoulders that shift about, turn and lean."""
    rng, t = stage.rng, stage.t
    for _ in range(int(rng.integers(3, 8))):
        size = rng.uniform(0.08, 0.2)
        home = np.array([rng.uniform(0, 1), stage.aspect * rng.uniform(0.5, 0.95)])
        at = home + wander2(rng, t, 0.02, 0.15, 0.8)
        for _ in range(int(rng.integers(0, 3))):
            start, way = rng.uniform(0, t[-1]), rng.normal(0, 0.05, 2) * [1, 0.4]
            at = at + way * ease(t, start, rng.uniform(0.25, 0.8))[:, None]
        stage.add(
            ellipse(rng, some_look(rng), stage.scale, size * 1.1, size),
            at + xy(0, size * 1.5),
            order=home[1],
        )
        nod = 0.15 * hump(t, rng.uniform(0, t[-1]), 0.2, 0.3, 0.3) + wander(rng, t, 0.06)
        stage.add(
            ellipse(rng, some_look(rng), stage.scale, size * 0.6, size * 0.8),
            at,
            nod,
            order=home[1] + 0.01,
        )
