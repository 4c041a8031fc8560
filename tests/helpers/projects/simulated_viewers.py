"""Viewers whose numbers are known.

The psychometric function is written out here once more, after Watson & Pelli 1983 (QUEST; slope 3.5
from memory), and answers are drawn from it.
"""

from __future__ import annotations

import numpy as np

from impactcut.core.viewer.forced_choice import Jump, jump_visibility
from impactcut.core.viewer.judge import Judge


def answered(
    jumps: list[Jump], step: float, exponent: float, ratio: float, seed: int
) -> np.ndarray:
    """Which of the jumps such a viewer finds."""
    judge = Judge(position_step=step, area_exponent=exponent)
    strength = jump_visibility(jumps, judge) / ratio
    weibull = 0.98 - 0.48 * np.exp(-(strength**3.5))
    return np.random.default_rng(seed).random(len(jumps)) < weibull
