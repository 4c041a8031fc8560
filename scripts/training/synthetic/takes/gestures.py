"""Hands that touch nothing hard: signs, waves, reaches, cups pushed about, stirring."""

from __future__ import annotations

import numpy as np

from ..motion import (
    Floats,
    Stop,
    ease,
    hump,
    itinerary,
    jerk,
    reaches,
    unrest,
    wander,
    wander2,
    xy,
)  # fmt: skip
from ..paint import skin, some_look
from ..puppet import Pose, clothes, figure, forearm
from ..shapes import capsule, ellipse, face, hand, shadow, slab
from ..stage import Stage


def signs(stage: Stage) -> None:
    """Rapid gestures of two hands in front of a body, with soft holds."""
    rng, t = stage.rng, stage.t
    size = rng.uniform(1.1, 1.9) * min(stage.aspect, 1.1)
    hip = np.array([rng.uniform(0.4, 0.6), stage.aspect * 0.5 + 0.33 * size])
    quick = rng.uniform(0.8, 1.3)
    hands = []
    for side in (1, -1):
        home = (hip[0] + side * 0.09 * size, hip[1] - 0.2 * size)
        move, hold = (0.15 * quick, 0.5 * quick), (0.02, 0.35)
        stops = itinerary(rng, t[-1], home, (0.07 * size, 0.07 * size), move, hold)
        if rng.random() < 0.2:
            stops = stops[::3]
        path = reaches(rng, t, np.array(home) + xy(0, 0.15 * size), stops)
        hands.append(path + unrest(rng, t, 0.003))
    if rng.random() < 0.3:
        hands[1] = np.stack([2 * hip[0] - hands[0][:, 0], hands[0][:, 1]], axis=1)
    _bust(stage, hip, size, (hands[0], hands[1]))


def _bust(stage: Stage, hip: Floats, size: float, hands: tuple[Floats, Floats]) -> None:
    rng, t = stage.rng, stage.t
    pelvis = hip + wander2(rng, t, 0.006 * size, 0.2, 0.9)
    feet = (pelvis + xy(0.08 * size, 0.48 * size), pelvis + xy(-0.08 * size, 0.48 * size))
    nods = wander(rng, t, 0.05, 0.3, 2)
    pose = Pose(pelvis, wander(rng, t, 0.03), nods, hands, feet)
    wear = clothes(rng, float(rng.choice([-1, 1])))
    figure(stage, pose, size, wear, 0, str(rng.choice(["flat", "spread", "point", "fist"])))


def waves(stage: Stage) -> None:
    """Hands waved to and fro, perhaps with something in them."""
    rng, t = stage.rng, stage.t
    for _ in range(int(rng.integers(1, 3))):
        elbow = np.array([rng.uniform(0.2, 0.8), stage.aspect * rng.uniform(0.7, 1.0)])
        long, size = rng.uniform(0.2, 0.4), rng.uniform(0.1, 0.2)
        beat = rng.uniform(0.8, 4.0)
        strength = rng.uniform(0.2, 0.8) * (1 + wander(rng, t, 0.25, 0.2, 1))
        gate = hump(t, rng.uniform(0, 1), 0.4, rng.uniform(1, 5), 0.5)
        phase = 2 * np.pi * (beat * t + wander(rng, t, 0.1))
        angle = -np.pi / 2 + strength * np.sin(phase) * gate + wander(rng, t, 0.1)
        root = elbow + wander2(rng, t, 0.015)
        wrist = root + long * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        lag = 0.4 * strength * np.sin(phase - 0.8) * gate
        if rng.random() < 0.3:
            rod = capsule(rng, some_look(rng), stage.scale, rng.uniform(0.1, 0.4), 0.012, 0.008)
            stage.add(rod, wrist, angle + lag, order=0.9)
        forearm(stage, wrist, angle + lag, root, size, str(rng.choice(["flat", "spread"])), 0.8)


def shadow_moves(stage: Stage) -> None:
    """Swings, cuts and punches at the air: fast, but braked by the arm itself."""
    rng, t = stage.rng, stage.t
    home = np.array([rng.uniform(0.35, 0.65), stage.aspect * rng.uniform(0.4, 0.65)])
    stops = itinerary(rng, t[-1], (home[0], home[1]), (0.2, 0.14), (0.18, 0.4), (0.0, 0.5))
    path = reaches(rng, t, home, stops) + unrest(rng, t, 0.005)
    turns = [(s, d * 1.15, np.array([rng.normal(-0.6, 0.9), 0.0])) for s, d, _ in stops]
    angle = reaches(rng, t, np.array([-0.6, 0.0]), turns)[:, 0]
    if rng.random() < 0.75:
        long, thick = rng.uniform(0.15, 0.5), rng.uniform(0.006, 0.025)
        stage.add(
            capsule(rng, some_look(rng), stage.scale, long, thick, thick), path, angle, order=1
        )
    elbow = home + 0.55 * (path - home) + xy(-0.35, 0.3)
    shape = str(rng.choice(["fist", "flat"]))
    forearm(stage, path, 0.4 * angle, elbow, rng.uniform(0.08, 0.16), shape, 1.2)


def places(stage: Stage) -> None:
    """Things taken, carried and put down softly."""
    rng, t = stage.rng, stage.t
    level = stage.aspect * rng.uniform(0.6, 0.8)
    _table(stage, level)
    count = int(rng.integers(2, 5))
    spots = [np.array([x, level + rng.uniform(0, 0.05)]) for x in np.linspace(0.15, 0.85, count)]
    carried = [np.tile(s, (len(t), 1)) for s in spots]
    stops: list[Stop] = []
    now = float(rng.uniform(0.1, 0.6))
    high = rng.uniform(0.05, 0.12)
    while now < t[-1]:
        which = int(rng.integers(count))
        span, lift = rng.uniform(0.3, 0.7), rng.uniform(0.04, 0.2)
        seat = carried[which][-1].copy()
        target = np.array([rng.uniform(0.1, 0.9), level + rng.uniform(0, 0.05)])
        stops.append((now, span, seat))
        grasp = now + span + rng.uniform(0.05, 0.2)
        move = rng.uniform(0.35, 0.8)
        middle = (seat + target) / 2 - [0, lift]
        path = _arch(t, grasp, move, seat, middle, target)
        carried[which] += path
        stops.append((grasp, move, target))
        now = grasp + move + rng.uniform(0.05, 0.3)
    wrist = _with_arches(stage, stops, spots[0]) - [0, high * 0.7]
    for path in carried:
        thing = slab(
            rng, some_look(rng), stage.scale, rng.uniform(0.05, 0.12), high * 1.4, (0.5, 1.0)
        )
        stage.add(thing, path, order=0.3)
    wrist = wrist + unrest(rng, t, 0.002) - [0.08, 0.05]
    forearm(stage, wrist, 0.5, wrist + xy(-0.35, -0.25), 0.14, "grip", 1)


def _arch(t: Floats, start: float, length: float, a: Floats, middle: Floats, b: Floats) -> Floats:
    s = jerk((t - start) / length)[:, None]
    bulge = middle - (a + b) / 2
    return np.asarray(s * (b - a) + 4 * s * (1 - s) * bulge)


def _with_arches(stage: Stage, stops: list[Stop], home: Floats) -> Floats:
    path = np.tile(home, (len(stage.t), 1))
    at = home
    for start, length, target in stops:
        lift = np.array([0, -0.25 * abs(target[0] - at[0]) - 0.03])
        path = path + _arch(stage.t, start, length, at, (at + target) / 2 + lift, target)
        at = target
    return path


def _table(stage: Stage, level: float) -> None:
    rng = stage.rng
    if rng.random() < 0.8:
        high = stage.aspect - level + 0.2
        table = slab(rng, some_look(rng), stage.scale, 1.8, high, (0.5, 0.0))
        stage.add(table, np.array([0.5, level - 0.05]), order=-1)


def cups(stage: Stage) -> None:
    """Cups slid about a table by two hands: quick, smooth swaps."""
    rng, t = stage.rng, stage.t
    row = stage.aspect * rng.uniform(0.5, 0.7)
    count = int(rng.integers(2, 5))
    xs = np.linspace(0.25, 0.75, count)
    _table(stage, row - 0.15)
    paths = [np.tile([x, row], (len(t), 1)) for x in xs]
    order = list(range(count))
    pairs: tuple[list[Stop], list[Stop]] = ([], [])
    now = float(rng.uniform(0.2, 0.7))
    while now < t[-1]:
        i, j = (int(n) for n in rng.choice(count, 2, replace=False))
        length, bow = rng.uniform(0.22, 0.7), rng.uniform(0.03, 0.1)
        for hand_number, (seat, goal, sign) in enumerate(((i, j, 1), (j, i, -1))):
            a, b = np.array([xs[seat], row]), np.array([xs[goal], row])
            way = _arch(t, now, length, a, (a + b) / 2 + xy(0, sign * bow), b)
            paths[order[seat]] += way
            pairs[hand_number].append((now, length, b))
        order[i], order[j] = order[j], order[i]
        now += length + rng.uniform(0.02, 0.35)
    size = rng.uniform(0.07, 0.12)
    look = some_look(rng)
    for number, path in enumerate(paths):
        cup = slab(rng, look, stage.scale, size, size * 1.3, (0.5, 1.0))
        stage.add(shadow(rng, stage.scale, size * 0.7, size * 0.2), path, order=0)
        stage.add(cup, path, 0.02 * wander(rng, t, 1), order=0.2 + 0.01 * number)
    for number, stops in enumerate(pairs):
        side = 1 if number else -1
        path = reaches(rng, t, np.array([0.5 + 0.2 * side, row]), _fetched(rng, stops))
        wrist = path + xy(side * 0.1, 0.02) + unrest(rng, t, 0.002)
        turn = np.pi if side > 0 else 0.0
        forearm(stage, wrist, turn, wrist + xy(side * 0.3, 0.3), 0.14, "grip", 1)


def _fetched(rng: np.random.Generator, stops: list[Stop]) -> list[Stop]:
    """Reaches that follow the cups, a touch late."""
    return [(s + rng.uniform(0, 0.03), d, target) for s, d, target in stops]


def stirring(stage: Stage) -> None:
    """A spoon led round a bowl, or a brush to and fro."""
    rng, t = stage.rng, stage.t
    at = np.array([rng.uniform(0.4, 0.6), stage.aspect * rng.uniform(0.55, 0.7)])
    wide = rng.uniform(0.12, 0.3)
    stage.add(ellipse(rng, some_look(rng), stage.scale, wide, wide * 0.5), at, order=-0.5)
    stage.add(ellipse(rng, some_look(rng), stage.scale, wide * 0.85, wide * 0.4), at, order=-0.4)
    phase = (
        2
        * np.pi
        * np.cumsum(np.clip(rng.uniform(0.7, 2.6) * (1 + wander(rng, t, 0.25)), 0.1, 5))
        / 960
    )
    radius = wide * 0.5 * (1 + wander(rng, t, 0.15, 0.3, 2))
    circle = np.stack([np.cos(phase), 0.4 * np.sin(phase)], axis=1) * radius[:, None]
    if rng.random() < 0.3:
        circle[:, 1] *= 0.1
    tip = at + circle
    grip = at + 0.6 * circle + xy(0.12, -0.25) + wander2(rng, t, 0.006)
    stage.bar(capsule(rng, some_look(rng), stage.scale, 0.28, 0.01, 0.014), 0.28, grip, tip, 0.5)
    forearm(stage, grip, 2.4, grip + xy(0.35, -0.15), 0.12, "fist", 1)


def talking(stage: Stage) -> None:
    """A head that speaks, nods, blinks, and turns now and then."""
    rng, t = stage.rng, stage.t
    look, radius = skin(rng), rng.uniform(0.1, 0.24)
    neck = np.array([rng.uniform(0.4, 0.6), stage.aspect * 0.5 + radius])
    nods = sum(
        (0.08 * rng.normal() * hump(t, rng.uniform(0, t[-1]), 0.15, 0.02, 0.25) for _ in range(8)),
        0 * t,
    )
    at = neck + wander2(rng, t, 0.008, 0.2, 1.5) + np.stack([0 * t, 0.3 * nods * radius], axis=1)
    roll = wander(rng, t, 0.04, 0.2, 1.2)
    trunk = capsule(rng, some_look(rng), stage.scale, 0.5, radius * 1.6, radius * 1.9)
    stage.add(trunk, neck + xy(0, radius * 1.6) + 0.3 * (at - neck), np.pi / 2, order=-1)
    stage.add(face(rng, look, stage.scale, radius), at, roll, order=0)
    up = np.stack([np.sin(roll), -np.cos(roll)], axis=1) * radius
    across = np.stack([np.cos(roll), np.sin(roll)], axis=1) * radius
    turn = 0.25 * wander(rng, t, 0.5, 0.2, 1)[:, None]
    talk = np.abs(np.sin(2 * np.pi * 2.2 * t + wander(rng, t, 1.5, 0.5, 2)))
    opened = 0.15 + talk * np.clip(0.6 + wander(rng, t, 0.6, 0.3, 1), 0, 1.3)
    dark = some_look(rng)
    mouth = ellipse(rng, dark, stage.scale, radius * 0.28, radius * 0.16, 0.2)
    stage.add(mouth, at + up * 0.42 + across * turn, roll, tall=opened, order=0.2)
    blinks = sum((hump(t, rng.uniform(0, t[-1]), 0.06, 0.04, 0.1) for _ in range(3)), 0 * t)
    for side in (-0.3, 0.3):
        eye = ellipse(rng, dark, stage.scale, radius * 0.1, radius * 0.07, 0.2)
        stage.add(
            eye,
            at + up * 1.1 + across * (side + turn),
            roll,
            tall=np.clip(1 - blinks, 0.1, 1),
            order=0.2,
        )
    if rng.random() < 0.4:
        stops = itinerary(
            rng, t[-1], (neck[0] + 0.2, neck[1] + 0.25), (0.06, 0.05), (0.25, 0.6), (0.1, 1.0)
        )
        wrist = reaches(rng, t, np.array([neck[0] + 0.2, neck[1] + 0.4]), stops)
        forearm(stage, wrist, -1.2, wrist + xy(0.15, 0.4), 0.13, "spread", 1)


def big_hand(stage: Stage) -> None:
    """A hand close to the lens that opens, turns and points."""
    rng, t = stage.rng, stage.t
    look, size = skin(rng), rng.uniform(0.3, 0.6)
    stops = itinerary(
        rng, t[-1], (0.45, stage.aspect * 0.55), (0.12, 0.1), (0.25, 0.6), (0.05, 0.7)
    )
    wrist = reaches(rng, t, np.array([0.3, stage.aspect * 0.7]), stops) + unrest(rng, t, 0.004)
    turn = (
        -0.9
        + reaches(rng, t, np.zeros(2), [(s, d, rng.normal(0, 0.5, 2)) for s, d, _ in stops])[:, 0]
    )
    stage.bar(
        capsule(rng, some_look(rng), stage.scale, 0.6, size * 0.35, size * 0.22),
        0.6,
        wrist + xy(-0.3, 0.6),
        wrist,
    )
    change = sum((ease(t, s, 0.12) * (1 - 2 * (n % 2)) for n, (s, _, _) in enumerate(stops)), 0 * t)
    shapes = [
        str(s) for s in rng.choice(["fist", "flat", "spread", "point", "grip"], 2, replace=False)
    ]
    for share, shape in zip((1 - change, change), shapes, strict=True):
        stage.add(hand(rng, look, stage.scale, size, shape), wrist, turn, shown=share, order=0.5)
