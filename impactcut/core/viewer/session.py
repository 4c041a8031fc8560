"""Sessions of a forced choice: which jumps viewers are shown, and where the patch is meanwhile.

The jumps lie around what the model expects viewers to see, over small and large patches, still and
moving, so that the three numbers that are fitted can be told apart.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array
from impactcut.core.viewer.forced_choice import Jump, jump_visibility
from impactcut.core.viewer.judge import Judge

RATE: Final = 24
FRAMES: Final = 26
AREAS: Final = (0.25, 1.0, 4.0, 16.0)
SPEEDS: Final = (0.0, 1.5, 6.0, 20.0)
WIDEST, NARROWEST = 4.0, 0.35
"""Jumps shown, in thresholds that the model expects of an attentive viewer: from seldom found to
found by almost anybody."""


def draw_jumps(pairs: int, seed: int, judge: Judge) -> list[Jump]:
    """Every area with every speed about as often, in an order left to chance."""
    random = np.random.default_rng(seed)
    kinds = [(area, speed) for area in AREAS for speed in SPEEDS]
    order = [kinds[number % len(kinds)] for number in range(pairs)]
    random.shuffle(order)
    jumps = []
    for area, speed in order:
        unit = float(jump_visibility([Jump(area, speed, 1.0, RATE)], judge)[0])
        wanted = np.exp(random.uniform(np.log(NARROWEST), np.log(WIDEST)))
        jump = wanted * judge.attentive_ratio / unit
        jumps.append(Jump(area, speed, float(jump), RATE))
    return jumps


def places(jump: Jump, jumps: bool, at: int, judge: Judge) -> Float64Array:
    """Where the patch's middle is in each frame, picture widths from the picture's middle.

    Parameters
    ----------
    jumps : bool
        Whether it jumps in this film, before frame ``at``.
    """
    frames = np.arange(FRAMES)
    steady = (frames - (FRAMES - 1) / 2) * jump.speed / jump.rate / judge.degrees
    ahead = jump.jump / judge.arcmin if jumps else 0.0
    return np.asarray(steady + np.where(frames >= at, ahead, 0.0))
