"""Scenes in which nobody is struck: people dance, exercise, talk, shake hands, embrace."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from synthetic.motion import ease

from .captured import RECEIVER, performer
from .scenes import Scene, Setting, seen_from, some_body
from .shots import Rng, some_clock
from .stand_ins import (
    UP,
    dancing,
    gesturing,
    leaned,
    reaching,
    standing,
    stepping,
    swaying,
    walking,
)

SECONDS: Final = 8.0


def dance(on: Setting, rng: Rng) -> Scene:
    """One, two or three who dance, sway, exercise or gesture beside one another."""
    clock = some_clock(rng, 4.0, (0.0, 8.0))
    times, bodies = clock.times, []
    side = seen_from(rng, np.array([0.0, 0, 1]))
    for number in range(int(rng.integers(1, 4))):
        person = performer(rng, on.motion, *RECEIVER)
        turn = rng.normal(0, 0.8)
        ahead = np.array([math.sin(turn), 0, math.cos(turn)])
        ahead = ahead if rng.random() < 0.5 else side
        place = np.array([rng.normal(0, 0.3), 0, 0.75 * number]) - (0, 0, 0.5)
        joints = standing(rng, person, times, ahead, place)
        joints = dancing(rng, joints, person.k, times)
        if rng.random() < 0.5:
            joints = stepping(rng, joints, person.k, times, 4.0)
        bodies.append(some_body(rng, joints, person))
    return Scene(tuple(bodies), clock, UP * 1.0, side)


def talk(on: Setting, rng: Rng) -> Scene:
    """Two who talk with their hands."""
    clock = some_clock(rng, 4.0, (0.0, 8.0))
    times, bodies = clock.times, []
    ahead = np.array([0.0, 0, 1])
    apart = float(rng.uniform(0.8, 1.5))
    for sign in (1, -1):
        person = performer(rng, on.motion, *RECEIVER)
        joints = standing(rng, person, times, sign * ahead, -sign * ahead * apart / 2)
        joints = swaying(rng, joints, person.k, times, float(rng.uniform(0.01, 0.04)))
        pace = float(rng.uniform(0.6, 1.6))
        joints = gesturing(rng, joints, person.k, times, pace)
        bodies.append(some_body(rng, joints, person))
    return Scene(tuple(bodies), clock, UP * 1.1, seen_from(rng, ahead))


def meeting(on: Setting, rng: Rng) -> Scene:
    """Two who come together to shake hands or to embrace, and part again or do not."""
    clock = some_clock(rng, 4.0, (0.0, 8.0), (35, 55))
    times, embrace = clock.times, rng.random() < 0.5
    ahead = np.array([0.0, 0, 1])
    apart = float(rng.uniform(0.3, 0.42) if embrace else rng.uniform(0.75, 0.95))
    seconds = float(rng.uniform(0.8, 1.8))
    far = float(rng.uniform(0.2, 1.0))
    parts = float(rng.uniform(0.8, 2.0))
    share = ease(times, 4 - 0.45, 0.5) - ease(times, 4 + parts, 0.5)
    people = [performer(rng, on.motion, *RECEIVER) for _ in range(2)]
    posed = []
    for sign, person in zip((1, -1), people, strict=True):
        joints = standing(rng, person, times, sign * ahead, -sign * ahead * apart / 2)
        coming = -far * (1 - ease(times, 4 - seconds, seconds)) - far * ease(times, 4 + parts, 1.2)
        posed.append(walking(joints, person.k, coming, sign * ahead))
    beat = 0.06 * np.sin(2 * np.pi * rng.uniform(1.5, 3) * times) * share
    grip = UP * 1.0 + beat[:, None] * UP
    bodies = []
    for number, (sign, person) in enumerate(zip((1, -1), people, strict=True)):
        joints, other = posed[number], posed[1 - number]
        goals = {"r": grip}
        if embrace:
            joints = leaned(joints, person.k, (0.06 * share)[:, None] * ahead * sign)
            back = other[:, people[1 - number].k("chest")] + sign * 0.14 * ahead
            pat = (
                0.05
                * np.sin(2 * np.pi * rng.uniform(1, 3) * times)[:, None]
                * ahead
                * share[:, None]
            )
            goals = {"r": back + UP * 0.05 + pat, "l": back - UP * 0.12}
        for hand, goal in goals.items():
            joints = reaching(joints, person.k, hand, goal, share)
        bodies.append(some_body(rng, joints, person))
    return Scene(tuple(bodies), clock, UP * 1.0, seen_from(rng, ahead))


def crossing(on: Setting, rng: Rng) -> Scene:
    """Some who walk by, this way and that, near one another."""
    clock = some_clock(rng, 4.0, (0.0, 8.0))
    times, bodies = clock.times, []
    side = seen_from(rng, np.array([0.0, 0, 1]))
    for _ in range(int(rng.integers(1, 5))):
        person = performer(rng, on.motion, *RECEIVER)
        turn = float(rng.normal(0, 0.5)) + (math.pi if rng.random() < 0.5 else 0.0)
        way = np.array([math.sin(turn), 0, math.cos(turn)])
        place = np.array([rng.normal(0, 0.6), 0, rng.normal(0, 0.4)])
        joints = standing(rng, person, times, way, place)
        gone = (times - times.mean()) * float(rng.uniform(0.4, 1.9))
        bodies.append(some_body(rng, walking(joints, person.k, gone, way), person))
    return Scene(tuple(bodies), clock, UP * 1.0, side)


SCENES: Final[tuple[Callable[[Setting, Rng], Scene], ...]] = (
    *(dance, dance, dance),
    *(meeting, meeting, talk, crossing),
)
"""In the shares in which they are filmed."""
