"""An impulse among the others around it: does it stand out, and has it a partner?

A hit stands out from the half second around it, whatever the size of the shot. And it comes in
pairs: where a strike stops, the one it strikes starts, beside it and in its direction.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, IntArray
from impactcut.core.impulses import Impulse
from impactcut.core.regions import Regions

AROUND_SECONDS: Final = 0.5
"""Before and after an impulse, within which others are its company; engineering choice."""
SAME_MOMENT: Final = 2
"""Nodes within which impulses are the same event and not compared."""
PARTNER_BEFORE: Final = 2
PARTNER_AFTER: Final = 5
"""Nodes from a stop to the start that may answer it: the receiver may anticipate, or lag."""
PARTNER_REACH: Final = 0.35
"""Widths within which a partner is looked for, engineering choice: arm's length."""


def company_traits(impulses: Sequence[Impulse], regions: Regions, seconds: float) -> Float64Array:
    """How each impulse compares with the others of its stretch.

    Parameters
    ----------
    impulses : sequence of Impulse
        At least one.
    regions : Regions
        Theirs.
    seconds : float
        Duration of an interval.

    Returns
    -------
    float64, shape (len(impulses), 7)
        Strength and momentum (jump times area) against the greatest of its kind within half a
        second; how many of its kind there are at least half as strong; strength of the partner
        against its own, cosine between their directions, distance (widths), and nodes from stop
        to start; a missing partner is 0 strong, 0 aligned, `PARTNER_REACH` away.
    """
    node = np.array([impulse.node for impulse in impulses])
    start = np.array([impulse.kind == "start" for impulse in impulses])
    strength = np.array([impulse.strength for impulse in impulses])
    area = regions.count / regions.masks[0].size
    momentum = area * np.linalg.norm([impulse.jump for impulse in impulses], axis=1)
    apart = np.abs(node[:, None] - node[None, :])
    rivals = (apart <= AROUND_SECONDS / seconds) & (apart > SAME_MOMENT)
    rivals &= start[:, None] == start[None, :]
    strongest = np.where(rivals, strength[None, :], 0).max(axis=1)
    heaviest = np.where(rivals, momentum[None, :], 0).max(axis=1)
    comparable = (rivals & (strength[None, :] > 0.5 * strength[:, None])).sum(axis=1)
    return np.column_stack(
        [
            strength / (strongest + 0.02),
            momentum / (heaviest + 1e-4),
            comparable,
            _partners(impulses, regions, node, start, strength),
        ]
    )


def _partners(
    impulses: Sequence[Impulse],
    regions: Regions,
    node: IntArray,
    start: BoolArray,
    strength: Float64Array,
) -> Float64Array:
    place = regions.centre / regions.masks.shape[2]
    direction = np.array([impulse.direction for impulse in impulses])
    from_stop = np.where(
        start[:, None], node[:, None] - node[None, :], node[None, :] - node[:, None]
    )
    away = np.linalg.norm(place[:, None] - place[None, :], axis=-1)
    aligned = direction @ direction.T
    possible = (start[:, None] != start[None, :]) & (away < PARTNER_REACH)
    possible &= (from_stop >= -PARTNER_BEFORE) & (from_stop <= PARTNER_AFTER)
    weight = np.where(possible, strength[None, :] * np.clip(aligned, 0.05, None), 0)
    best = weight.argmax(axis=1)
    every = np.arange(len(impulses))
    found = weight[every, best] > 0
    return np.column_stack(
        [
            np.where(found, strength[best] / (strength + 0.02), 0),
            np.where(found, aligned[every, best], 0),
            np.where(found, away[every, best], PARTNER_REACH),
            np.where(found, from_stop[every, best], 0),
        ]
    )
