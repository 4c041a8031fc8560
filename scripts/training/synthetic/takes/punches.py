"""Impacts of jointed figures: punches and kicks at a pad that gives way."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from ..motion import (
    Beat,
    Floats,
    Manner,
    beats,
    ease,
    hump,
    jolt,
    raised,
    reaches,
    stepping,
    wander,
    wander2,
    xy,
)
from ..paint import some_look
from ..puppet import Pose, clothes, figure
from ..shapes import slab
from ..stage import Stage

PUNCH = Manner((0.09, 0.2), (0.01, 0.06), (0.14, 0.35), (0.05, 0.8), (0.8, 1.1), 0.4)


def pads(stage: Stage) -> None:
    """One figure strikes a pad that another holds."""
    rng, t = stage.rng, stage.t
    size = rng.uniform(0.7, 1.5) * min(stage.aspect, 1.0)
    way = float(rng.choice([-1, 1]))
    hip = np.array([0.5 - way * 0.26 * size, stage.aspect * 0.5 + size * rng.uniform(0.05, 0.2)])
    strokes = beats(rng, stage.duration, PUNCH, 12)
    pad_home = hip + np.array([way * 0.42 * size, -size * rng.uniform(0.2, 0.32)])
    lag = float(rng.uniform(0, 2)) / 25
    push = sum(
        (b.height * jolt(t, b.contact + lag, rng.uniform(0.04, 0.1)) for b in strokes), 0 * t
    )
    away = np.array([way, rng.normal(0, 0.2)]) * rng.uniform(0.01, 0.05) * size
    calm = _quiet(t, strokes)
    sway = wander2(rng, t, 0.012 * size, 0.2, 0.8)
    pad = pad_home + push[:, None] * away + sway
    kicking = rng.random() < 0.25
    _striker(stage, strokes, pad, hip, size, way, calm, kicking)
    _holder(stage, pad, push, hip, size, way)
    for beat in strokes:
        stage.touch(beat.contact, stage.at(pad, beat.contact), "pad", beat.speed * 0.28 * size)


def _quiet(t: Floats, strokes: list[Beat]) -> Floats:
    """1 away from contacts, 0 at them."""
    calm = np.ones_like(t)
    for beat in strokes:
        calm = np.minimum(calm, 1 - hump(t, beat.contact - 0.12, 0.1, 0.06, 0.15))
    return calm


def _striker(
    stage: Stage, strokes: list[Beat], pad: Floats, hip: Floats, size: float, way: float,
    calm: Floats, kicking: bool,
) -> None:  # fmt: skip
    rng, t = stage.rng, stage.t
    q = [raised(t, strokes[n::2]) if strokes[n::2] else np.ones_like(t) for n in (0, 1)]
    drive = sum((hump(t, b.contact - 0.12, 0.12, 0.05, 0.3) for b in strokes), 0 * t)
    pelvis = hip + np.stack([way * 0.03 * size * drive, wander(rng, t, 0.006 * size)], axis=1)
    lean = way * (0.05 + 0.14 * drive) + wander(rng, t, 0.02)
    guard = hip + np.array([way * 0.14, -0.34]) * size
    tips = []
    for number, share in enumerate(q):
        mine = strokes[number::2]
        face_of_pad = pad - [way * 0.05 * size, 0.02 * size * number]
        aim = _at_contacts(stage, face_of_pad, mine)
        rest = guard + wander2(rng, t, 0.012 * size) * calm[:, None] + xy(0, 0.03 * size * number)
        tips.append(aim + share[:, None] * (rest - aim))
    ground = hip[1] + 0.46 * size
    feet = [np.tile([hip[0] + way * d * size, ground], (len(t), 1)) for d in (0.12, -0.14)]
    hands = (tips[0], tips[1])
    if kicking:
        foot = pad - [way * 0.05 * size, 0]
        aim = _at_contacts(stage, foot, strokes)
        whole = raised(t, strokes)[:, None]
        feet[0] = aim + np.clip(whole, -0.2, 1.2) * (feet[0] - aim)
        hands = (guard + wander2(rng, t, 0.02 * size), guard + wander2(rng, t, 0.02 * size))
    pose = Pose(pelvis, lean, wander(rng, t, 0.05), hands, (feet[0], feet[1]))
    figure(stage, pose, size, clothes(rng, way), 1.0, "fist")


def _at_contacts(stage: Stage, path: Floats, strokes: list[Beat]) -> Floats:
    """Where a path is at each contact, moved on smoothly between, (T, 2)."""
    if not strokes:
        return path
    t = stage.t
    aim = np.tile(stage.at(path, strokes[0].contact), (len(t), 1))
    for beat, coming in pairwise(strokes):
        way = stage.at(path, coming.contact) - stage.at(path, beat.contact)
        start = beat.contact + beat.hold
        aim += way * ease(t, start, max(coming.contact - coming.down - start, 0.05))[:, None]
    return aim


def _holder(stage: Stage, pad: Floats, push: Floats, hip: Floats, size: float, way: float) -> None:
    rng, t = stage.rng, stage.t
    wide, high = rng.uniform(0.04, 0.1) * size, rng.uniform(0.14, 0.35) * size
    stage.add(slab(rng, some_look(rng), stage.scale, wide, high), pad, way * 0.15 * push, order=0.8)
    if rng.random() < 0.8:
        pelvis = hip + xy(way * 0.78 * size, 0.0) + 0.25 * (pad - pad[0])
        ground = hip[1] + 0.46 * size
        feet = [
            np.tile([hip[0] + way * (0.78 + d) * size, ground], (len(t), 1)) for d in (0.12, -0.14)
        ]
        hold = pad + xy(way * 0.03 * size, 0.02 * size)
        lean = way * 0.06 * push + wander(rng, t, 0.02)
        pose = Pose(
            pelvis,
            lean,
            wander(rng, t, 0.04),
            (hold, hold + xy(0.0, 0.05 * size)),
            (feet[0], feet[1]),
        )
        figure(stage, pose, size * rng.uniform(0.92, 1.08), clothes(rng, -way), 0.2, "grip")


def reach_and_knock(stage: Stage) -> None:
    """A figure at a table that knocks on it, among soft reaches of the other hand."""
    rng, t = stage.rng, stage.t
    size = rng.uniform(1.0, 1.6) * min(stage.aspect, 1.0)
    hip = np.array([rng.uniform(0.35, 0.65), stage.aspect * 0.5 + 0.3 * size])
    strokes = beats(
        rng, stage.duration, Manner((0.1, 0.25), (0.03, 0.3), (0.2, 0.6), (0.2, 1.2)), 8
    )
    level = hip[1] - 0.06 * size
    side = float(rng.choice([-1, 1]))
    knock = np.array([hip[0] + side * 0.2 * size, level])
    spot = _spots(stage, strokes, knock, size)
    rest = np.array([hip[0] + side * 0.12 * size, level - rng.uniform(0.1, 0.2) * size])
    q = raised(t, strokes)[:, None]
    tip = spot + q * (rest - knock) + np.clip(q, 0, 1) * wander2(rng, t, 0.02 * size)
    stops = []
    for start in np.arange(0.3, t[-1], rng.uniform(0.6, 1.4)):
        away = xy(-side * rng.uniform(0.05, 0.2) * size, -rng.uniform(0.02, 0.2) * size)
        stops.append((float(start), 0.4, xy(hip[0], level) + away))
    other = reaches(rng, t, np.array([hip[0] - side * 0.15 * size, level - 0.05 * size]), stops)
    pelvis = hip + wander2(rng, t, 0.004 * size)
    feet = (pelvis + xy(0.1 * size, 0.4 * size), pelvis + xy(-0.1 * size, 0.4 * size))
    pose = Pose(pelvis, wander(rng, t, 0.03), wander(rng, t, 0.08), (tip, other), feet)
    figure(stage, pose, size, clothes(rng, side), 0.0, "fist")
    table = slab(rng, some_look(rng), stage.scale, 1.8, 1.0, (0.5, 0.0))
    stage.add(table, np.array([0.5, level + 0.03 * size]), order=0.45)
    reach = float(np.linalg.norm(rest - knock))
    for beat in strokes:
        stage.touch(beat.contact, stage.at(spot, beat.contact), "knock", beat.speed * reach)


def _spots(stage: Stage, strokes: list[Beat], home: Floats, size: float) -> Floats:
    spot = stepping(stage.rng, stage.t, strokes, home, 0.03 * size)
    spot[:, 1] = home[1]
    return spot
