"""Impacts of weights: dropped, toppled, slid into one another, hung and struck."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pymunk

from ..motion import RATE, Beat, Floats, Manner, beats, ease, raised, ring, unrest, wander2, xy
from ..paint import some_look
from ..physics import UNIT, run
from ..puppet import forearm
from ..shapes import capsule, shadow, slab
from ..stage import Stage
from .balls import add_wall


def _ground(stage: Stage, space: pymunk.Space, level: float, elastic: float) -> None:
    ends = ((-5 * UNIT, (level + 0.2) * UNIT), (6 * UNIT, (level + 0.2) * UNIT))
    segment = pymunk.Segment(space.static_body, *ends, 0.2 * UNIT)
    segment.elasticity, segment.friction = elastic, 0.8
    space.add(segment)
    if stage.rng.random() < 0.7:
        floor = slab(stage.rng, some_look(stage.rng), stage.scale, 3.0, 1.2, (0.5, 0.0))
        stage.add(floor, np.array([0.5, level]), order=-1)


def _box(
    space: pymunk.Space, at: tuple[float, float], wide: float, high: float, elastic: float
) -> pymunk.Body:
    mass = wide * high * 100
    body = pymunk.Body(mass, pymunk.moment_for_box(mass, (wide * UNIT, high * UNIT)))
    body.position = (at[0] * UNIT, at[1] * UNIT)
    shape = pymunk.Poly.create_box(body, (wide * UNIT, high * UNIT), 1.0)
    shape.elasticity, shape.friction = elastic, 0.7
    space.add(body, shape)
    return body


def dropped(stage: Stage) -> None:
    """Boxes and bars let go by a hand, or falling into the picture, that land and stay."""
    rng = stage.rng
    space = pymunk.Space()
    space.gravity = (0, rng.uniform(2, 8) * UNIT)
    level = stage.aspect * rng.uniform(0.75, 0.95)
    elastic = float(rng.choice([0.0, 0.0, 0.1, 0.3]))
    _ground(stage, space, level, elastic)
    bodies, starts, sizes = [], [], []
    now = rng.uniform(0.2, 0.8)
    for _ in range(int(rng.integers(2, 7))):
        wide, high = rng.uniform(0.05, 0.28), rng.uniform(0.04, 0.25)
        inside = rng.random() < 0.5
        top = level - high - rng.uniform(0.2, 0.6) * stage.aspect if inside else -high - 0.35
        body = _box(space, (rng.uniform(0.12, 0.88), top), wide, high, elastic)
        body.angle = float(rng.normal(0, 0.15)) if rng.random() < 0.6 else 0.0
        body.angular_velocity = 0.0 if inside else float(rng.normal(0, 0.8))
        bodies.append(body)
        starts.append(now)
        sizes.append((wide, high, inside))
        now += rng.uniform(0.3, 1.0)
    paths = run(stage, space, bodies, starts, "drop")
    for (place, turn), start, (wide, high, inside) in zip(paths, starts, sizes, strict=True):
        _lower(stage, place, start, inside)
        box = slab(rng, some_look(rng), stage.scale, wide, high)
        stage.add(box, place, turn, order=rng.uniform(0.2, 0.8))
        if inside:
            _letting_go(stage, place, start, high)


def _lower(stage: Stage, place: Floats, start: float, inside: bool) -> None:
    """Bring a held thing in from above, so that it does not hang in the air; changes ``place``."""
    t = stage.t
    early = t < start
    length = min(stage.rng.uniform(0.4, 0.8), start * 0.9)
    come = 1 - ease(t, start * 0.95 - length, length)
    distance = place[0, 1] + 0.4
    place[early, 1] -= (come * distance)[early]
    if inside:
        quiet = unrest(stage.rng, t, 0.002) * (come * 0 + ease(-t, -start, 0.2))[:, None]
        place[early] += quiet[early]


def _letting_go(stage: Stage, place: Floats, start: float, high: float) -> None:
    rng, t = stage.rng, stage.t
    away = ease(t, start + 0.05, rng.uniform(0.3, 0.6))[:, None] * [rng.normal(0, 0.2), -1.2]
    at = place[min(int(start * 960), len(t) - 1)]
    before = np.where((t < start)[:, None], place, at)
    wrist = before + away - [0, high / 2 + 0.08]
    shape = str(rng.choice(["grip", "flat", "spread"]))
    size = rng.uniform(0.08, 0.15)
    forearm(stage, wrist, np.pi / 2, wrist + xy(rng.normal(0, 0.1), -0.5), size, shape, 1.5)


def toppled(stage: Stage) -> None:
    """Tall things pushed over by a slow hand; they fall with growing speed and slap down."""
    rng, t = stage.rng, stage.t
    space = pymunk.Space()
    space.gravity = (0, rng.uniform(2, 7) * UNIT)
    level = stage.aspect * rng.uniform(0.75, 0.92)
    _ground(stage, space, level, 0.05)
    count = int(rng.integers(1, 6))
    way = rng.choice([-1, 1])
    gap = rng.uniform(0.1, 0.2)
    bodies, sizes = [], []
    first = 0.5 - way * gap * (count - 1) / 2 - way * 0.1
    high = rng.uniform(0.25, 0.5) * min(stage.aspect, 1.0)
    for number in range(count):
        tall, wide = high * rng.uniform(0.85, 1.1), rng.uniform(0.03, 0.09)
        foot_at = (first + way * gap * number, level - tall / 2 - 0.001)
        bodies.append(_box(space, foot_at, wide, tall, 0.05))
        sizes.append((wide, tall))
    start = rng.uniform(0.7, 1.4)
    wide, tall = sizes[0]
    steep = float(np.arctan(wide / tall) * rng.uniform(1.15, 1.6))
    foot = np.array([first + way * wide / 2, level - 0.001])
    middle = _about(foot, np.array([first, level - tall / 2]), np.array([way * steep]))[0]
    bodies[0].position, bodies[0].angle = tuple(middle * UNIT), way * steep
    paths = run(stage, space, bodies, [start] + [0.0] * (count - 1), "topple")
    push = steep * way * ease(t, start - 0.6, 0.6)
    early = t < start
    paths[0][0][early] = _about(foot, np.array([first, level - tall / 2]), push)[early]
    paths[0][1][early] = push[early]
    for (place, turn), (wide, tall) in zip(paths, sizes, strict=True):
        stage.add(slab(rng, some_look(rng), stage.scale, wide, tall), place, turn, order=0.5)
    wrist = _about(foot, np.array([first - way * (wide / 2 + 0.07), level - tall * 0.85]), push)
    wrist = (
        wrist
        - [way * 0.3, 0] * (1 - ease(t, start - 1.2, 0.6) + ease(t, start + 0.02, 0.6))[:, None]
    )
    forearm(stage, wrist, 0.0 if way > 0 else np.pi, wrist - [way * 0.5, 0.1], 0.1, "flat", 1.2)
    stage.touches[:] = [k for k in stage.touches if k.time > start + 0.05]


def _about(foot: Floats, point: Floats, turn: Floats) -> Floats:
    """A point turned about a foot by each of several angles, (T, 2)."""
    x, y = point - foot
    cos, sin = np.cos(turn), np.sin(turn)
    return np.asarray(foot + np.stack([x * cos - y * sin, x * sin + y * cos], axis=1))


def sack(stage: Stage) -> None:
    """A hung sack, slow to swing, struck by fists."""
    rng, t = stage.rng, stage.t
    manner = Manner((0.08, 0.2), (0.01, 0.12), (0.15, 0.4), (0.0, 0.7), (0.6, 1.2), 0.3)
    strokes = beats(rng, stage.duration, manner, 14)
    hang = np.array([rng.uniform(0.5, 0.7), -0.2])
    long, wide = stage.aspect * rng.uniform(0.6, 0.9), rng.uniform(0.05, 0.13)
    hertz, decay = rng.uniform(0.35, 0.8), rng.uniform(0.8, 3)
    side, size = rng.choice([-1, 1]), rng.uniform(0.02, 0.12)
    lag = rng.uniform(0, 1) * 0.03
    sway = sum(
        (ring(t, b.contact + lag, -side * size * b.height, hertz, decay) for b in strokes), 0 * t
    )
    buckle = sum(
        (ring(t, b.contact + lag, -side * 0.03 * b.height, 5.0, 0.1) for b in strokes), 0 * t
    )
    end = hang + long * np.stack([np.sin(sway), np.cos(sway)], axis=1)
    middle = hang + 0.45 * long * np.stack([np.sin(sway + buckle), np.cos(sway + buckle)], axis=1)
    stage.bar(
        capsule(rng, some_look(rng), stage.scale, long, 0.006, 0.006),
        long,
        np.tile(hang, (len(t), 1)),
        middle,
    )
    body = capsule(rng, some_look(rng), stage.scale, 0.55 * long, wide, wide, 0.6)
    stage.bar(body, 0.55 * long, middle, end, 0.1)
    spot = middle + (end - middle) * rng.uniform(0.3, 0.8) + xy(side * wide, 0)
    _fists(stage, strokes, spot, side)


def _fists(stage: Stage, strokes: list[Beat], spot: Floats, side: int) -> None:
    rng, t = stage.rng, stage.t
    size = rng.uniform(0.09, 0.16)
    alternate = rng.random() < 0.5
    for fist in range(2 if alternate else 1):
        mine = strokes[fist :: 2 if alternate else 1]
        if not mine:
            continue
        aim = np.tile(stage.at(spot, mine[0].contact), (len(t), 1))
        for beat, coming in pairwise(mine):
            way = stage.at(spot, coming.contact) - stage.at(spot, beat.contact)
            start = beat.contact + beat.hold
            aim += (
                way * ease(t, start, max(coming.contact - start - 0.5 * coming.down, 0.05))[:, None]
            )
        back = np.array([side * rng.uniform(0.12, 0.3), rng.uniform(-0.05, 0.1)])
        q = raised(t, mine)
        free = np.clip(q, 0, 1)[:, None]
        wrist = aim + xy(side * 0.55 * size, 0) + q[:, None] * back + free * wander2(rng, t, 0.012)
        elbow = wrist + np.array([side * 0.3, 0.12 + 0.1 * fist]) - 0.3 * q[:, None] * back
        forearm(stage, wrist, np.pi if side > 0 else 0.0, elbow, size, "fist", 1 + fist)
        for beat in mine:
            stage.touch(
                beat.contact,
                stage.at(spot, beat.contact),
                "sack",
                beat.speed * float(np.linalg.norm(back)),
            )


def slid(stage: Stage) -> None:
    """A block pushed over a table by a hand, let go, into blocks at rest: one stops, one starts."""
    rng, aspect = stage.rng, stage.aspect
    space = pymunk.Space()
    space.damping = float(rng.uniform(0.15, 0.5))
    bodies, sizes = [], []
    count = int(rng.integers(2, 5))
    row = aspect * rng.uniform(0.4, 0.7)
    way = rng.choice([-1, 1])
    for number in range(count):
        wide, high = rng.uniform(0.07, 0.16), rng.uniform(0.06, 0.16)
        x = 0.5 - way * (0.42 - 0.27 * number) + (0 if number == 0 else rng.normal(0, 0.03))
        bodies.append(
            _box(space, (x, row + rng.normal(0, 0.01)), wide, high, float(rng.uniform(0, 0.5)))
        )
        sizes.append((wide, high))
    for a, b in (((0, -5), (0, 9)), ((1, -5), (1, 9))):
        wall = pymunk.Segment(
            space.static_body, (a[0] * UNIT, a[1] * UNIT), (b[0] * UNIT, b[1] * UNIT), 1
        )
        wall.elasticity = 0.4
        if a[0] != (0 if way > 0 else 1):
            space.add(wall)
    add_wall(stage, int(way))
    start, speed = rng.uniform(0.3, 0.9), way * rng.uniform(0.7, 2.4)
    bodies[0].velocity = (speed * UNIT, 0)
    paths = run(stage, space, bodies, [start] + [0.0] * (count - 1), "slide")
    length = rng.uniform(0.25, 0.5)
    ramp = ease(stage.t, start - length, length)
    gone = np.cumsum(ramp) / RATE * speed
    gone -= gone[min(int(start * RATE), len(gone) - 1)]
    early = stage.t < start
    paths[0][0][early, 0] += gone[early]
    brake = np.cumsum(ramp * (1 - ease(stage.t, start - 0.02, 0.3))) / RATE * speed
    brake -= brake[min(int((start - 0.02) * RATE), len(brake) - 1)]
    wrist = (
        paths[0][0][0] - [way * (sizes[0][0] / 2 + 0.1), 0] + np.stack([brake, 0 * brake], axis=1)
    )
    wrist[:, 0] -= gone[0] + 0.02 * speed
    forearm(stage, wrist, 0.0 if way > 0 else np.pi, wrist - [way * 0.4, -0.15], 0.12, "flat", 1)
    for (place, turn), (wide, high) in zip(paths, sizes, strict=True):
        stage.add(
            shadow(rng, stage.scale, wide * 0.6, high * 0.3), place + xy(0, high * 0.4), order=0.1
        )
        stage.add(slab(rng, some_look(rng), stage.scale, wide, high), place, turn, order=0.5)
