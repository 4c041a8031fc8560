"""Impacts of things in a hand: rods, hammers, fists on boards, knives."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from ..motion import (
    Beat,
    Floats,
    Manner,
    beats,
    ease,
    hump,
    raised,
    reaches,
    shaken,
    stepping,
    unrest,
    wander,
    wander2,
    xy,
)  # fmt: skip
from ..paint import Look, Sprite, skin, some_look
from ..puppet import forearm
from ..shapes import blade, capsule, ellipse, hand, shadow, slab
from ..stage import Stage

HARD = Manner()
TAPS = Manner((0.06, 0.16), (0.02, 0.2), (0.08, 0.3), (0.0, 0.4), (0.12, 0.5), 0.5)
SWEEPS = Manner((0.06, 0.18), (0.05, 0.35), (0.09, 0.3), (0.05, 0.9), (1.0, 2.2), 0.2)
SLOW_RAISE = Manner((0.08, 0.25), (0.1, 0.5), (0.6, 1.4), (0.0, 0.3), (0.6, 1.2), 0.2)
MANNERS = (HARD, TAPS, SWEEPS, SLOW_RAISE)


def rod(stage: Stage) -> None:
    """A rod, hammer or paddle swung about a moving hand at a fixed thing."""
    rng, t = stage.rng, stage.t
    strokes = beats(rng, stage.duration, MANNERS[int(rng.choice(4, p=(0.4, 0.25, 0.2, 0.15)))])
    long, thick = rng.uniform(0.14, 0.5), rng.uniform(0.006, 0.028)
    at = np.array([rng.uniform(0.4, 0.72), stage.aspect * rng.uniform(0.45, 0.8)])
    shake = shaken(rng, t, strokes, rng.uniform(0, 0.006))
    give = np.stack([0.3 * shake, shake], axis=1)
    rest = rng.uniform(-0.35, 0.5)
    swing = -rng.uniform(0.4, 2.0)
    target = _target(stage, at, give, long)
    spot = stepping(rng, t, strokes, at, target)
    spot[:, 1] = at[1]
    q = raised(t, strokes) * _feints(stage, strokes)
    whip = raised(t, strokes, rng.uniform(1.0, 2.0)) * _feints(stage, strokes)
    lift = np.array([rng.uniform(-0.25, 0.05), -rng.uniform(0.01, 0.3)])
    free = np.clip(q, 0, 1)[:, None]
    grip = spot - long * np.array([np.cos(rest), np.sin(rest)])
    grip = grip + q[:, None] * lift + free * (unrest(rng, t, 0.01) + wander2(rng, t, 0.02))
    grip = grip + unrest(rng, t, rng.uniform(0.0004, 0.002))
    angle = rest + whip * swing + free[:, 0] * wander(rng, t, 0.12, 0.3, 2)
    bare = rng.random() < 0.2
    _tool(stage, grip, angle, long, thick)
    if not bare:
        elbow = grip + np.array([-0.5, rng.uniform(-0.1, 0.4)]) + 0.6 * wander2(rng, t, 0.02)
        forearm(stage, grip, 0.4 * angle, elbow, rng.uniform(0.06, 0.13), "fist", 1.5)
    note(stage, strokes, spot, "rod", abs(swing) * long + float(np.linalg.norm(lift)))


def _feints(stage: Stage, strokes: list[Beat]) -> Floats:
    """Swings that stop in the air, in the longer gaps."""
    rng, t = stage.rng, stage.t
    dips = np.ones_like(t)
    for beat, coming in pairwise(strokes):
        start = beat.contact + beat.hold + beat.rise
        gap = coming.contact - coming.down - start
        if gap > 0.35 and rng.random() < 0.5:
            part = gap / 2
            dips *= 1 - rng.uniform(0.2, 0.7) * hump(t, start, part, 0.0, part)
    return dips


def _tool(stage: Stage, grip: Floats, angle: Floats, long: float, thick: float) -> None:
    rng, scale = stage.rng, stage.scale
    look = some_look(rng, 0.5)
    grade = rng.uniform(0.5, 1.0)
    stage.add(capsule(rng, look, scale, long, thick, thick * grade), grip, angle, order=1.0)
    if rng.random() < 0.35:
        wide, high = rng.uniform(0.03, 0.09), rng.uniform(0.06, 0.16)
        head = slab(rng, some_look(rng), scale, wide, high, (0.5, 0.8))
        tip = grip + (long - wide / 2) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        stage.add(head, tip, angle, order=1.1)


def _target(stage: Stage, at: Floats, give: Floats, long: float) -> float:
    """Put in what is struck; returns how far contacts may be strewn along it."""
    rng, scale = stage.rng, stage.scale
    kind = rng.choice(["table", "block", "drum", "round", "bare"], p=(0.3, 0.28, 0.22, 0.15, 0.05))
    if kind == "table":
        high = max(stage.aspect - at[1], 0.05)
        stage.add(slab(rng, some_look(rng), scale, 1.6, high, (0.5, 0.0)), at, order=-1)
        return 0.08
    if kind == "bare":
        return 0.05
    wide = rng.uniform(0.06, 0.35)
    if kind == "round":
        stage.add(
            ellipse(rng, some_look(rng), scale, wide / 2, wide / 2),
            at + give + xy(0, wide / 2),
            order=-1,
        )
        return 0.01
    high = rng.uniform(0.05, 0.3)
    stage.add(slab(rng, some_look(rng), scale, wide, high, (0.5, 0.0)), at + give, order=-1)
    if kind == "drum":
        skin_look = some_look(rng, 0.9)
        stage.add(ellipse(rng, skin_look, scale, wide / 2, wide * 0.12), at + give, order=-0.9)
    return wide * 0.25


def pound(stage: Stage) -> None:
    """A fist or flat hand, perhaps two in turn, that beats on a board or a thing."""
    rng, t = stage.rng, stage.t
    manner = MANNERS[int(rng.integers(4))]
    at = np.array([rng.uniform(0.35, 0.65), stage.aspect * rng.uniform(0.5, 0.8)])
    every = beats(rng, stage.duration, manner)
    hands = 2 if rng.random() < 0.35 and len(every) > 3 else 1
    shake = shaken(rng, t, every, rng.uniform(0, 0.005))
    _target(stage, at, np.stack([0 * shake, shake], axis=1), 0.3)
    looks = (skin(rng), some_look(rng))
    size = rng.uniform(0.08, 0.22)
    shape = str(rng.choice(["fist", "flat", "spread", "point"]))
    for side in range(hands):
        strokes = [_in_time(every, n) for n in range(side, len(every), hands)]
        home = at + np.array([(side - (hands - 1) / 2) * 0.25, 0.0])
        spot = stepping(rng, t, strokes, home, 0.04)
        spot[:, 1] = at[1] - 0.25 * size
        q = raised(t, strokes) * _feints(stage, strokes)
        lift = np.array([rng.normal(0, 0.08), -rng.uniform(0.06, 0.35)])
        free = np.clip(q, 0, 1)[:, None]
        wrist = spot + q[:, None] * lift + free * wander2(rng, t, 0.015)
        wrist = wrist + unrest(rng, t, rng.uniform(0.0004, 0.002))
        inward = 1 - 2 * side
        elbow = spot + np.array([-0.35 * inward, -rng.uniform(-0.2, 0.3)]) + 0.6 * q[:, None] * lift
        turn = (0 if inward > 0 else np.pi) - inward * (0.5 * q + rng.uniform(-0.2, 0.3))
        forearm(stage, wrist, turn, elbow, size, shape, 1.0 + side, looks)
        note(
            stage,
            strokes,
            spot + xy(0.4 * size * inward, 0.2 * size),
            "pound",
            float(np.linalg.norm(lift)),
        )


def _in_time(every: list[Beat], number: int) -> Beat:
    """The beat, with a raise that suits the hand's own gap."""
    return replace(every[number], rise=every[number].rise * 1.3)


def chop(stage: Stage) -> None:
    """A knife, axe or hammer that comes down on a board again and again, in nearly even time."""
    rng, t = stage.rng, stage.t
    tempo, unsteady = rng.uniform(1.5, 3.2), rng.uniform(0.02, 0.1)
    strokes = _even(stage, tempo, unsteady)
    size = rng.uniform(0.2, 0.6)
    at = np.array([rng.uniform(0.35, 0.6), stage.aspect * rng.uniform(0.6, 0.85)])
    board = slab(
        rng, some_look(rng), stage.scale, rng.uniform(0.5, 1.1), rng.uniform(0.05, 0.3), (0.5, 0.0)
    )
    shake = shaken(rng, t, strokes, rng.uniform(0, 0.003))
    stage.add(board, at + np.stack([0 * shake, shake], axis=1), order=-1)
    march = np.outer(ease(t, 0, t[-1]) - 0.5, [rng.normal(0, 0.15), 0.0])
    depth = size * rng.uniform(0.12, 0.3)
    lift = np.array([rng.normal(0, 0.02), -rng.uniform(0.05, 0.3)])
    q = raised(t, strokes)
    free = np.clip(q, 0, 1)[:, None]
    spot = at + march
    tilt = rng.uniform(-0.5, 0.1) * q + rng.normal(0, 0.04)
    knife = blade(rng, stage.scale, size * 0.7, depth)
    grip = spot + xy(-0.35 * size, -depth * 0.8) + q[:, None] * lift + free * unrest(rng, t, 0.004)
    grip = grip + unrest(rng, t, rng.uniform(0.0004, 0.0015))
    stage.add(knife, grip, tilt, order=1)
    elbow = grip + np.array([-0.45, rng.uniform(-0.25, 0.2)]) - 0.3 * q[:, None] * lift
    forearm(stage, grip, tilt * 0.6, elbow, rng.uniform(0.12, 0.22), "fist", 1.2)
    _material(stage, strokes, spot)
    reach = float(np.linalg.norm(lift)) + 0.3 * size
    note(stage, strokes, spot + xy(0.1 * size, 0.0), "chop", reach)


def _even(stage: Stage, tempo: float, unsteady: float) -> list[Beat]:
    rng = stage.rng
    strokes: list[Beat] = []
    now = rng.uniform(0.2, 0.8)
    softness, rebound = rng.uniform(0.002, 0.009), float(rng.choice([-1.0, 0.0, 0.15]))
    while now < stage.duration - 0.1 and len(strokes) < 20:
        gap = float((1 / tempo) * (1 + rng.normal(0, unsteady)))
        if rng.random() < 0.08:
            gap += rng.uniform(0.2, 0.9)
        down, hold = gap * rng.uniform(0.22, 0.4), gap * rng.uniform(0.08, 0.3)
        share, height = rng.uniform(0.55, 0.8), rng.uniform(0.85, 1.15)
        strokes.append(Beat(now, down, share, height, rebound, softness, hold, gap - down - hold))
        now += gap
    return strokes


def _material(stage: Stage, strokes: list[Beat], spot: Floats) -> None:
    """Pieces on the board and a hand that holds them, shifted softly between strokes."""
    rng, t = stage.rng, stage.t
    stops = [
        (
            b.contact + b.hold + 0.05,
            rng.uniform(0.1, 0.25),
            np.array([rng.normal(0.12, 0.02), -0.03]),
        )
        for b in strokes
        if rng.random() < 0.5
    ]
    offset = reaches(rng, t, np.array([0.12, -0.03]), stops)
    for _ in range(int(rng.integers(1, 5))):
        piece = ellipse(
            rng, some_look(rng), stage.scale, rng.uniform(0.02, 0.08), rng.uniform(0.015, 0.05)
        )
        stage.add(piece, spot + offset + rng.normal(0, 0.03, 2) * [2, 0.4], order=0)
    if rng.random() < 0.6:
        wrist = spot + offset + xy(0.16, -0.02) + unrest(rng, t, 0.002)
        forearm(
            stage, wrist, np.pi + 0.2, wrist + xy(0.4, 0.1), rng.uniform(0.1, 0.18), "grip", 0.8
        )


def stamp(stage: Stage) -> None:
    """A foot, or a bar let down end-on, that stamps on the ground."""
    rng, t = stage.rng, stage.t
    strokes = beats(rng, stage.duration, MANNERS[int(rng.integers(2))])
    at = np.array([rng.uniform(0.35, 0.65), stage.aspect * rng.uniform(0.7, 0.9)])
    spot = stepping(rng, t, strokes, at, 0.05)
    spot[:, 1] = at[1]
    q = raised(t, strokes) * _feints(stage, strokes)
    lift = np.array([rng.normal(0, 0.05), -rng.uniform(0.1, 0.4)])
    tip = spot + q[:, None] * lift + unrest(rng, t, rng.uniform(0.0003, 0.001))
    wide, long = rng.uniform(0.03, 0.09), rng.uniform(0.5, 0.9)
    leg = capsule(rng, some_look(rng), stage.scale, long, wide * 1.3, wide)
    top = tip + xy(rng.normal(0, 0.1), -long) + 0.2 * wander2(rng, t, 0.02)
    stage.bar(leg, long, top, tip - [0, wide], 1.0)
    if rng.random() < 0.7:
        shoe = _shoe(stage, wide)
        stage.add(shoe, tip - [0, wide * 0.6], 0.25 * q * rng.uniform(-1, 1), order=1.1)
    stage.add(shadow(rng, stage.scale, 0.12, 0.02), spot + xy(0.03, 0.01), order=-0.5)
    note(stage, strokes, spot, "stamp", float(np.linalg.norm(lift)))


def _shoe(stage: Stage, wide: float) -> Sprite:
    return capsule(stage.rng, some_look(stage.rng), stage.scale, wide * 3, wide, wide * 0.6)


def tap(stage: Stage) -> None:
    """Fingers that drum or type: small, quick, light contacts."""
    rng, t = stage.rng, stage.t
    strokes = beats(rng, stage.duration, TAPS)
    at = np.array([rng.uniform(0.4, 0.6), stage.aspect * rng.uniform(0.5, 0.75)])
    look: Look = skin(rng)
    size = rng.uniform(0.2, 0.4)
    stage.add(slab(rng, some_look(rng), stage.scale, 1.6, 1.2, (0.5, 0.0)), at, order=-1)
    lift = size * rng.uniform(0.3, 0.7)
    angle = 0.15 - raised(t, strokes) * lift / size * 1.3
    root = at - np.array([size * 0.95, size * 0.15]) + unrest(rng, t, 0.0015)
    stage.add(
        hand(rng, look, stage.scale, size * 0.8, "point"), root - [size * 0.5, 0], 0.1, order=1
    )
    finger = capsule(rng, look, stage.scale, size * 0.9, size * 0.09, size * 0.07)
    stage.add(finger, root, angle, order=1.1)
    note(stage, strokes, np.tile(at, (len(t), 1)), "tap", 1.3 * lift)


def note(stage: Stage, strokes: list[Beat], spot: Floats, what: str, reach: float) -> None:
    """Note the contacts; ``reach`` is the way of the tool for a full raise, picture widths."""
    for beat in strokes:
        stage.touch(beat.contact, stage.at(spot, beat.contact), what, beat.speed * reach)
