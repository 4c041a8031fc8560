"""People who talk with their hands, as a stage films them: they strike nobody.

Somebody stands as a capture does; head and hands are drawn at random. A hand moves as people's
reaches do, with least jerk (Flash & Hogan 1985), from one place before the chest to the next, beats
time there or hangs down.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from synthetic.motion import ease, linked

SECONDS: Final = 7.0
RATE: Final = 120
"""Samples a second."""
STANDS_AT, SLOWED = 0.4, 0.3
"""Second of the capture in which its performer only stands, and how fast it goes on from there."""
BEFORE_CHEST: Final = ((0.0, 0.40), (-0.35, 0.30), (0.15, 0.50))
"""Bounds of where hands go, from the chest: to their own side, up, ahead; metres."""
HANGING: Final = (0.28, -0.50, 0.06)
BEAT: Final = (0.04, 0.16)
"""How far a hand falls to beat time, metres."""
BEATS, HANGS = 0.4, 0.15
"""How often a stroke is a beat, and how often the hand goes to hang."""
PACE: Final = (0.5, 2.2)
"""Mean speed of a stroke, metres a second; the greatest is 1.875 times that."""
SHORTEST: Final = 0.10
"""Seconds that a stroke takes at least."""
WAITS: Final = (0.0, 0.5)
"""Seconds between strokes."""
NODS: Final = ((0.12, 0.025), (0.4, 0.02))
"""Standard deviations of the head's movement: of its smoothing, seconds, and its size, metres."""
FULL_REACH: Final = 0.98
"""Share of a straight arm's length that hands keep within."""

_Path = NDArray[np.float64]


class Talker:
    """Somebody who talks with his or her hands, as `stage.film` takes a motion.

    It has a row more than the capture, ``aim``: where the talker looks, for a camera to turn to.

    Parameters
    ----------
    motion : stage.Motion
        Of somebody who stands at first.
    rng : Generator
    away : float
        Metres to where the talker looks.
    """

    def __init__(self, motion: Any, rng: np.random.Generator, away: float) -> None:
        self.motion, self.source, self.len = motion, "talker", SECONDS
        instants = np.arange(0, SECONDS, 1 / RATE)
        joints = np.array(motion.at(STANDS_AT + instants * SLOWED))
        ahead, right = _facing(joints[0, motion.k("l_shoulder")], joints[0, motion.k("r_shoulder")])
        axes = np.stack([right, (0, 1, 0), ahead])
        joints[:, motion.k("head")] += sum(_wander(rng, len(joints), *nod) for nod in NODS)
        for side, sign in (("l", -1), ("r", 1)):
            shoulder, elbow, hand = (
                joints[:, motion.k(f"{side}_{joint}")] for joint in ("shoulder", "elbow", "hand")
            )
            wanted = joints[:, motion.k("chest")] + strokes(rng, instants) * (sign, 1, 1) @ axes
            outward = sign * right - (0, 1, 0) - 0.5 * ahead
            elbow[:], hand[:] = reached(shoulder, elbow, hand, wanted, outward)
        aim = joints[:, motion.k("hips")] + ahead * (away + 0.001 * instants[:, None])
        aim[:, 1] = joints[:, motion.k("head"), 1]
        self._path = CubicSpline(instants, np.concatenate([joints, aim[:, None]], 1))

    def k(self, joint: str) -> int:
        """Row of a joint."""
        return -1 if joint == "aim" else int(self.motion.k(joint))

    def at(self, seconds: Any) -> _Path:
        """Joints at some instants, metres, float64 (..., joints + 1, 3)."""
        placed: _Path = self._path(np.clip(seconds, 0, SECONDS - 1 / RATE))
        return placed


class Nobody:
    """A motion that no camera on the stage can see.

    Parameters
    ----------
    motion : stage.Motion
    """

    def __init__(self, motion: Any) -> None:
        self.motion, self.source, self.len = motion, "nobody", float(motion.len)

    def k(self, joint: str) -> int:
        """Row of a joint."""
        return int(self.motion.k(joint))

    def at(self, seconds: Any) -> _Path:
        """Joints at some instants, far below the floor."""
        placed: _Path = self.motion.at(seconds) - (0, 200, 0)
        return placed


def strokes(rng: np.random.Generator, instants: _Path) -> _Path:
    """Where a hand is, from the chest: to its own side, up, ahead; metres, float64 (n, 3)."""
    path = np.empty((len(instants), 3))
    at, now = _place(rng), 0.0
    while now < instants[-1]:
        to = at - (0, rng.uniform(*BEAT), 0) if rng.random() < BEATS else _place(rng)
        takes = max(SHORTEST, float(np.linalg.norm(to - at)) / rng.uniform(*PACE))
        later = instants >= now
        path[later] = at + (to - at) * ease(instants[later], now, takes)[:, None]
        at, now = to, now + takes + rng.uniform(*WAITS)
    return path


def reached(
    shoulder: _Path, elbow: _Path, hand: _Path, wanted: _Path, outward: Any
) -> tuple[_Path, _Path]:
    """Elbow and hand (n, 3) of an arm that reaches for a place, its elbow turned outward.

    The arm's bones stay as long as they are at first; what is too far is only reached for.
    """
    upper, fore = np.linalg.norm(elbow[0] - shoulder[0]), np.linalg.norm(hand[0] - elbow[0])
    return linked(shoulder, wanted, float(upper), float(fore), np.asarray(outward), FULL_REACH)


def _facing(left: _Path, right: _Path) -> tuple[_Path, _Path]:
    """Level directions ahead and to the right of somebody with these shoulders."""
    across = (right - left) * (1, 0, 1)
    across /= np.linalg.norm(across)
    return np.cross((0, 1, 0), across), across


def _place(rng: np.random.Generator) -> _Path:
    if rng.random() < HANGS:
        return np.array(HANGING)
    return np.array([rng.uniform(*bounds) for bounds in BEFORE_CHEST])


def _wander(rng: np.random.Generator, count: int, smoothed: float, size: float) -> _Path:
    """Movement at random of a standard deviation, metres, float64 (count, 3)."""
    noise = gaussian_filter1d(rng.normal(size=(count, 3)), smoothed * RATE, axis=0)
    return noise / noise.std() * size
