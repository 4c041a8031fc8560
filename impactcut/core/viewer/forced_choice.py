"""Fitting the model's three free numbers to what people saw.

Somebody is shown two films one after the other; in one of them a patch that moves evenly, or
stands, jumps ahead once. They say in which: a forced choice between two. A jump of visibility
``R`` (trained observer's thresholds) is found with the chance::

    P = 1 - lapse - (1 - guess - lapse) * exp(-(R / ratio)**slope)

Weibull's function in the form of Watson & Pelli 1983, Perception & Psychophysics 33:113 (QUEST),
with their slope of 3.5 [M]; guess 1/2 for two films, lapse 0.02 as in published uses of it.
The numbers fitted, by maximum likelihood, are the position step, the exponent of the area, and the
viewers' threshold in a trained observer's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import minimize

from impactcut.core.arrays import BoolArray, Float64Array
from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.jump_thresholds import Masking, jump_ratio

SLOPE: Final = 3.5
GUESS: Final = 0.5
LAPSE: Final = 0.02
LEAST_ANSWERS: Final = 60
"""Fewer answers say too little of three numbers, engineering choice: see the tests for what
several hundred give."""
_BOUNDS: Final = ((np.log(0.2), np.log(30.0)), (0.0, 1.0), (0.0, np.log(8.0)))
_STEP: Final = 0.02
_STARTS: Final = ((2.2, 0.25, 1.5), (6.0, 0.1, 2.5), (1.0, 0.5, 1.2))


@dataclass(frozen=True)
class Jump:
    """One film's jump.

    Parameters
    ----------
    area : float
        Of the patch, square degrees.
    speed : float
        Of its even movement, degrees per second; 0 for a patch that stands.
    jump : float
        How far it jumps ahead within one frame, arcmin, beyond that movement.
    rate : float
        Frames per second.
    """

    area: float
    speed: float
    jump: float
    rate: float

    def __post_init__(self) -> None:
        if not (self.area > 0 and self.speed >= 0 and self.jump > 0 and self.rate > 0):
            raise ValueError(f"area, jump and rate are above 0, speed is 0 or more: {self}")


def jump_visibility(jumps: Sequence[Jump], judge: Judge) -> Float64Array:
    """Visibility of every jump, (n,): a patch before a wall that stands, looked at."""
    area, speed, jump, rate = (
        np.array([getattr(each, name) for each in jumps], float)
        for name in ("area", "speed", "jump", "rate")
    )
    even = speed / rate / judge.degrees
    zero = np.zeros(len(jumps))
    explained = np.stack([even, zero], axis=-1)
    step = np.stack([even + jump / judge.arcmin, zero], axis=-1)
    covered, still = area / judge.degrees**2, np.ones(len(jumps), bool)
    found = np.empty(len(jumps))
    for each in np.unique(rate):
        at = rate == each
        calm = Masking(zero[at], covered[at], zero[at], still[at])
        found[at] = jump_ratio(step[at], explained[at], calm, float(each), judge)
    return found


def chance_found(visibility: Float64Array, viewer_ratio: float) -> Float64Array:
    """Chance that a viewer names the film with the jump."""
    seen: Float64Array = np.exp(-((visibility / viewer_ratio) ** SLOPE))
    return 1 - LAPSE - (1 - GUESS - LAPSE) * seen


def fit_calibration(
    jumps: Sequence[Jump], found: BoolArray, judge: Judge, viewers: int = 1, when: str = ""
) -> Calibration:
    """The three numbers under which the answers are likeliest.

    Parameters
    ----------
    jumps : sequence of Jump
        One for each answer.
    found : bool, shape (n,)
        Whether the answer named the right film.
    judge : Judge
        Who sees the films as large as they were seen.

    Raises
    ------
    ValueError
        If there are fewer than `LEAST_ANSWERS`, or they settle nothing: all right, or no better
        than guesses.
    """
    if len(jumps) != len(found) or len(found) < LEAST_ANSWERS:
        raise ValueError(f"{len(found)} answers are too few; collect at least {LEAST_ANSWERS}")
    if not 0.55 < found.mean() < 0.98:
        raise ValueError(
            f"{found.mean():.0%} of the answers are right, which says nothing of thresholds: "
            "make a session with smaller or larger jumps"
        )

    def unlikelihood(point: Float64Array) -> float:
        fitted, ratio = _judge_at(judge, point)
        chance = chance_found(jump_visibility(jumps, fitted), ratio)
        return -float(np.log(np.where(found, chance, 1 - chance)).sum())

    starts = [np.array([np.log(step), area, np.log(ratio)]) for step, area, ratio in _STARTS]
    fits = [minimize(unlikelihood, start, method="L-BFGS-B", bounds=_BOUNDS) for start in starts]
    best = min(fits, key=lambda fit: float(fit.fun)).x
    spread = _errors(unlikelihood, best)
    step, ratio = float(np.exp(best[0])), float(np.exp(best[2]))
    errors = (step * spread[0], spread[1], ratio * spread[2])
    return Calibration(step, float(best[1]), ratio, errors, len(found), viewers, when)


def _judge_at(judge: Judge, point: Float64Array) -> tuple[Judge, float]:
    step, exponent = float(np.exp(point[0])), float(point[1])
    fitted = replace(judge, position_step=step, area_exponent=exponent)
    return fitted, float(np.exp(point[2]))


def _errors(
    unlikelihood: Callable[[Float64Array], float], best: Float64Array
) -> tuple[float, float, float]:
    """Standard errors from the curvature of the likelihood; infinite where it is flat."""
    low, high = np.array(_BOUNDS).T
    middle = np.clip(best, low + _STEP, high - _STEP)
    steps = _STEP * np.eye(3)
    curvature = np.empty((3, 3))
    for row, column in np.ndindex(3, 3):
        one, other = steps[row] / 2, steps[column] / 2
        curvature[row, column] = (
            unlikelihood(middle + one + other)
            - unlikelihood(middle + one - other)
            - unlikelihood(middle - one + other)
            + unlikelihood(middle - one - other)
        ) / _STEP**2
    sizes, ways = np.linalg.eigh(curvature)
    spread = (ways**2 / np.maximum(sizes, np.finfo(float).tiny)).sum(axis=1)
    first, second, third = np.sqrt(spread).tolist()
    return first, second, third
