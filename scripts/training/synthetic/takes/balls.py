"""Impacts of balls: bounced, thrown at walls, kicked, juggled, caught, struck, billiards."""

from __future__ import annotations

import numpy as np
import pymunk

from ..paint import some_look
from ..physics import UNIT, run
from ..shapes import ball, shadow, slab
from ..stage import Stage


def bounce(stage: Stage) -> None:
    """Balls dropped or thrown, on a floor, perhaps between walls and boxes."""
    rng, aspect = stage.rng, stage.aspect
    space = pymunk.Space()
    space.gravity = (0, rng.uniform(1.8, 8) * UNIT)
    floor = aspect * rng.uniform(0.75, 0.95)
    _edge(space, (-9, floor), (10, floor), rng.uniform(0.3, 0.9))
    if rng.random() < 0.5:
        _edge(space, (0.0, -5), (0.0, 9), 0.9)
        _edge(space, (1.0, -5), (1.0, 9), 0.9)
        add_wall(stage, -1)
        add_wall(stage, 1)
    radius = float(np.exp(rng.uniform(np.log(0.02), np.log(0.11))))
    bodies, starts = [], []
    for number in range(int(rng.choice([1, 1, 1, 2, 2, 3, 5]))):
        start = 0.0 if number == 0 else float(rng.uniform(0, 2))
        drop = floor - rng.uniform(0.3, 1.1) * aspect
        start_at = (rng.uniform(0.05, 0.95), drop if number == 0 else -rng.uniform(0.35, 0.6))
        bodies.append(
            _ball(space, start_at, radius * rng.uniform(0.8, 1.2), rng.uniform(0.55, 0.97))
        )
        speed = (rng.normal(0, 0.5), rng.normal(0, 0.6))
        bodies[-1].velocity = (speed[0] * UNIT, speed[1] * UNIT)
        bodies[-1].angular_velocity = rng.normal(0, 6)
        starts.append(start)
    _furnish(stage, space, floor)
    paths = run(stage, space, bodies, starts, "ball")
    for body, (place, turn) in zip(bodies, paths, strict=True):
        size = next(iter(body.shapes)).radius / UNIT
        stage.add(ball(rng, stage.scale, size), place, turn, order=1)
        near = np.stack([place[:, 0], np.full(len(stage.t), floor)], axis=1)
        stage.add(shadow(rng, stage.scale, size, size * 0.25), near, order=-0.5)
    stage.follow = paths[0][0]


def add_wall(stage: Stage, side: int) -> None:
    """Put in a wall at the left (-1) or right (1) side of the scene."""
    wall = slab(stage.rng, some_look(stage.rng), stage.scale, 0.6, 2.0, (0.5 - side / 2, 0.5))
    stage.add(wall, np.array([0.5 + side / 2, stage.aspect / 2]), order=-0.9)


def _furnish(stage: Stage, space: pymunk.Space, floor: float) -> None:
    rng = stage.rng
    if rng.random() < 0.5:
        stage.add(
            slab(rng, some_look(rng), stage.scale, 2.4, 0.8, (0.5, 0.0)),
            np.array([0.5, floor]),
            order=-1,
        )
    if rng.random() < 0.35:
        wide, high = rng.uniform(0.08, 0.25), rng.uniform(0.06, 0.25)
        x = rng.uniform(0.2, 0.8)
        box = pymunk.Poly(space.static_body, _corners(x, floor, wide, high))
        box.elasticity, box.friction = 0.7, 0.6
        space.add(box)
        block = slab(rng, some_look(rng), stage.scale, wide, high, (0.5, 1.0))
        stage.add(block, np.array([x, floor]), order=-0.4)


def _corners(x: float, floor: float, wide: float, high: float) -> list[tuple[float, float]]:
    left, right, top = (x - wide / 2) * UNIT, (x + wide / 2) * UNIT, (floor - high) * UNIT
    return [(left, floor * UNIT), (right, floor * UNIT), (right, top), (left, top)]


def _edge(
    space: pymunk.Space, start: tuple[float, float], end: tuple[float, float], elastic: float
) -> None:
    a, b = ((p[0] * UNIT, p[1] * UNIT) for p in (start, end))
    segment = pymunk.Segment(space.static_body, a, b, 0.5)
    segment.elasticity, segment.friction = elastic, 0.6
    space.add(segment)


def _ball(
    space: pymunk.Space, at: tuple[float, float], radius: float, elastic: float
) -> pymunk.Body:
    size = radius * UNIT
    body = pymunk.Body(1.0, pymunk.moment_for_circle(1.0, 0, size))
    body.position = (at[0] * UNIT, at[1] * UNIT)
    shape = pymunk.Circle(body, size)
    shape.elasticity, shape.friction = elastic, 0.5
    space.add(body, shape)
    return body


def billiards(stage: Stage) -> None:
    """Seen from above: one rolls into others; one stops, another starts; cushions."""
    rng, aspect = stage.rng, stage.aspect
    space = pymunk.Space()
    space.damping = float(rng.uniform(0.5, 0.85))
    for a, b in (
        ((0, 0), (1, 0)),
        ((1, 0), (1, aspect)),
        ((1, aspect), (0, aspect)),
        ((0, aspect), (0, 0)),
    ):
        _edge(space, a, b, 0.8)
    radius = rng.uniform(0.025, 0.07)
    bodies, starts = [], []
    for number in range(int(rng.integers(3, 7))):
        start_at = ((0.12 + 0.14 * number) % 0.9 + 0.05, rng.uniform(0.15, 0.85) * aspect)
        bodies.append(_ball(space, start_at, radius, 0.95))
        starts.append(0.0)
    bodies[0].velocity = _aimed(rng, bodies[0], bodies[-1])
    bodies[1].velocity = _aimed(rng, bodies[1], bodies[2]) * float(rng.integers(0, 2))
    top = slab(rng, some_look(rng, 0.8), stage.scale, 1.0, aspect, (0.5, 0.5), 0.05)
    if rng.random() < 0.9:
        stage.add(top, np.array([0.5, aspect / 2]), order=-1)
    for place, turn in run(stage, space, bodies, starts, "knock"):
        stage.add(ball(rng, stage.scale, radius), place, turn * 0.3, order=1)


def _aimed(rng: np.random.Generator, body: pymunk.Body, other: pymunk.Body) -> pymunk.Vec2d:
    way = other.position - body.position
    return way.normalized().rotated(float(rng.normal(0, 0.05))) * float(
        rng.uniform(0.6, 2.5) * UNIT
    )
