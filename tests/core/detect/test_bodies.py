"""Whose what moves is, against scikit-image's shortest ways."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.graph import MCP

from impactcut.core.arrays import BoolArray, Float64Array
from impactcut.core.detect.bodies import MOVER_SPEED, bodies_of


def steps(moving: BoolArray, seeds: BoolArray) -> Float64Array:
    """Steps to the nearest seed through what moves, diagonals included; infinite from nowhere."""
    ways, _ = MCP(np.where(moving, 1.0, -1.0)).find_costs(np.argwhere(seeds))
    return np.where(moving, ways, np.inf)


@pytest.mark.parametrize("seed", range(20))
def test_what_hangs_together_with_both_bodies_goes_to_the_nearer(seed: int) -> None:
    random = np.random.default_rng(seed)
    moving = random.random((34, 60)) < random.uniform(0.4, 0.9)
    limb, reacting = (moving & (random.random(moving.shape) < 0.01) for _ in range(2))
    reacting &= ~limb
    speed = np.where(moving, 2 * MOVER_SPEED, 0).astype(np.float32)
    bodies = bodies_of(speed[None], limb[None], reacting, 1)
    to_limb, to_reacting = steps(moving, limb), steps(moving, reacting)
    striker, receiver = to_limb < to_reacting, to_reacting < to_limb
    assert limb.any() and reacting.any() and striker.sum() > 50 and receiver.sum() > 50
    assert bodies.striker[0][striker].all() and not bodies.striker[0][~striker].any()
    assert bodies.receiver[0][receiver].all() and not bodies.receiver[0][striker].any()
