"""Hands of people who talk with them: they strike nobody.

A hand moves as people's reaches do, with least jerk (Flash & Hogan 1985), from one place before the
chest to the next, beats time there or hangs down.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from synthetic.motion import ease, linked

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
FULL_REACH: Final = 0.98
"""Share of a straight arm's length that hands keep within."""

_Path = NDArray[np.float64]


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


def _place(rng: np.random.Generator) -> _Path:
    if rng.random() < HANGS:
        return np.array(HANGING)
    return np.array([rng.uniform(*bounds) for bounds in BEFORE_CHEST])
