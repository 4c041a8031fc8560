"""Feet: planted while they carry, and moved in steps to stay under the body."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .timing import Change, eased
from .vectors import Floats


@dataclass(frozen=True)
class Step:
    """One foot moves from a place on the ground to another."""

    foot: int
    start: float
    length: float
    way: Floats


@dataclass(frozen=True)
class Footwork:
    """Where the feet are planted, and every step they take."""

    planted: Floats
    steps: tuple[Step, ...]

    def places(self, times: Floats) -> Floats:
        """Both feet on the ground, shape (T, 2, 3)."""
        feet = np.repeat(self.planted[None], len(times), axis=0)
        for step in self.steps:
            done = eased(times, step.start, step.start + step.length)
            feet[:, step.foot] += done[:, None] * step.way
            feet[:, step.foot, 1] += 4 * done * (1 - done) * 0.07
        return feet


def plan_footwork(home_feet: Change, duration: float, restless: float, seed: int) -> Footwork:
    """Steps that keep the feet under the body.

    Parameters
    ----------
    home_feet : function of times to places (T, 2, 3)
        Where the feet would best stand.
    duration : float
        Seconds to plan for.
    restless : float
        Seconds that pass without a step at most (a fighter is never still for longer).
    seed : int
    """
    rng = np.random.default_rng(seed)
    times = np.arange(-0.5, duration + 1.0, 0.025)
    homes = home_feet(times)
    ahead = 12
    feet = homes[0].copy()
    planted, steps = feet.copy(), list[Step]()
    free_at, patience = -0.5, restless
    for index, now in enumerate(times[:-ahead]):
        if now < free_at:
            continue
        errors = np.linalg.norm(homes[index + ahead // 2] - feet, axis=1)
        foot = int(np.argmax(errors))
        if errors[foot] < 0.15 and now - free_at < patience:
            continue
        way = homes[index + ahead, foot] - feet[foot] + _scatter(rng)
        steps.append(Step(foot, float(now), 0.22, way))
        feet[foot] += way
        free_at, patience = now + 0.2, restless * rng.uniform(0.5, 1.2)
    return Footwork(planted, tuple(steps))


def _scatter(rng: np.random.Generator) -> Floats:
    x, z = rng.normal(0, 0.015, 2)
    return np.array([x, 0.0, z])
