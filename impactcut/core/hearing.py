"""Sound as a second opinion on hits, no more.

Staged blows are silent, and files differ by up to two frames in sync (common practice, no
source): so silence counts for nothing, and a sharp sound near a contact makes it likelier but
never moves it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from scipy.special import expit, logit

from impactcut.core.arrays import Float64Array
from impactcut.core.find import Candidate

WITHIN_FRAMES: Final = 2.0
RAISED_ODDS: Final = 2.0
"""Frames from a contact within which a transient speaks for it, and by how much, log odds;
engineering choice: some seven to one, about what it is worth where a room is quiet, since one in
ten frames or so has a transient near it by chance."""


def heard(
    candidates: Sequence[Candidate], instants: Float64Array, rate: float
) -> tuple[Candidate, ...]:
    """The candidates, those with a transient near their contact made likelier; none is moved.

    Parameters
    ----------
    candidates : sequence of Candidate
    instants : float64, shape (m,)
        From `transients`.
    rate : float
        Frames per second.
    """
    if len(instants) == 0:
        return tuple(candidates)
    frames = instants * rate

    def raised(candidate: Candidate) -> Candidate:
        if np.abs(frames - candidate.contact).min() > WITHIN_FRAMES:
            return candidate
        return replace(candidate, chance=float(expit(logit(candidate.chance) + RAISED_ODDS)))

    return tuple(raised(candidate) for candidate in candidates)
