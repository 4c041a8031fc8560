"""Bodies moved by pymunk, with the instants at which they are struck."""

from __future__ import annotations

from typing import Any

import numpy as np
import pymunk

from .motion import RATE, Floats
from .stage import Stage

UNIT = 1000.0
"""Physics units per picture width."""
APART = 0.06
"""Seconds within which blows between the same two bodies are one."""
LEAST = 0.05
"""Jump in speed that counts as a blow at all, widths a second."""
Blow = tuple[float, float, Floats, tuple[int, int]]


def run(
    stage: Stage, space: pymunk.Space, bodies: list[pymunk.Body], starts: list[float], what: str
) -> list[tuple[Floats, Floats]]:
    """Places (T, 2) and turns (T,) of bodies, each frozen until its start; notes the blows."""
    blows: list[Blow] = []
    touching: list[tuple[Floats, tuple[int, int]]] = []
    _listen(space, bodies, touching)
    held = {body: (body.velocity, body.angular_velocity) for body in bodies}
    frames = len(stage.t)
    place, turn = np.zeros((len(bodies), frames, 2)), np.zeros((len(bodies), frames))
    space.iterations = 15
    space.collision_slop = 0.3
    for step in range(frames):
        for number, body in enumerate(bodies):
            if starts[number] > stage.t[step]:
                body.velocity, body.angular_velocity = (0, 0), 0
                body.position = (
                    body.position if step == 0 else tuple(place[number, step - 1] * UNIT)
                )
            elif body in held:
                body.velocity, body.angular_velocity = held.pop(body)
            place[number, step] = body.position.x / UNIT, body.position.y / UNIT
            turn[number, step] = body.angle
        before = [(body.velocity, body.angular_velocity) for body in bodies]
        touching.clear()
        space.step(1 / RATE)
        jumps = [_jump(space, body, was) for body, was in zip(bodies, before, strict=True)]
        for point, pair in touching:
            jump = max((jumps[k] for k in pair if k >= 0), default=0.0)
            if jump > LEAST:
                blows.append((stage.t[step] + 0.5 / RATE, jump, point, pair))
    for time, jump, point, _ in _joined(blows):
        stage.touch(time, point, what, jump)
    return list(zip(place, turn, strict=True))


def _listen(
    space: pymunk.Space, bodies: list[pymunk.Body], touching: list[tuple[Floats, tuple[int, int]]]
) -> None:
    """Keep the contacts of each step: where, and between which bodies (-1 is the ground)."""
    numbers: dict[pymunk.Body | None, int] = {body: number for number, body in enumerate(bodies)}

    def after(arbiter: pymunk.Arbiter, space: pymunk.Space, data: Any) -> None:
        points = arbiter.contact_point_set.points
        if points and arbiter.total_impulse.length > 0:
            spot = np.mean([(p.point_a.x / UNIT, p.point_a.y / UNIT) for p in points], axis=0)
            first, second = sorted(numbers.get(s.body, -1) for s in arbiter.shapes)
            touching.append((spot, (first, second)))

    space.on_collision(None, None, post_solve=after)


def _jump(space: pymunk.Space, body: pymunk.Body, was: tuple[pymunk.Vec2d, float]) -> float:
    """Jump in the speed of a body over a step, of its middle and its rim, widths a second."""
    change = body.velocity - was[0] - space.gravity / RATE
    shape = next(iter(body.shapes))
    half = (shape.bb.right - shape.bb.left + shape.bb.top - shape.bb.bottom) / 4
    return float(change.length + abs(body.angular_velocity - was[1]) * abs(half) / 2) / UNIT


def _joined(blows: list[Blow]) -> list[Blow]:
    """Blows of the same two bodies in quick succession as one, at the first of them."""
    kept: list[Blow] = []
    last: dict[tuple[int, int], tuple[int, float]] = {}
    for time, jump, point, pair in blows:
        if pair in last and time - last[pair][1] < APART:
            index = last[pair][0]
            was = kept[index]
            kept[index] = (was[0], max(was[1], jump), was[2], pair)
            last[pair] = (index, time)
        else:
            last[pair] = (len(kept), time)
            kept.append((time, jump, point, pair))
    return kept
