"""Patches, against SciPy's; seeds spread through them, against their definition."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from impactcut.core.arrays import BoolArray, IntArray
from impactcut.core.motion.patches import grown, patches_of, spread

TOUCHING = np.ones((3, 3), bool)


@pytest.fixture(params=range(20))
def mask(request: pytest.FixtureRequest) -> BoolArray:
    random = np.random.default_rng(request.param)
    return random.random((34, 60)) < random.uniform(0.1, 0.9)


def test_patches_are_scipys_whatever_their_numbers(mask: BoolArray) -> None:
    patches, count = patches_of(mask)
    wanted, wanted_count = ndimage.label(mask, TOUCHING)
    assert count == wanted_count
    pairs = {(int(one), int(other)) for one, other in zip(patches.flat, wanted.flat, strict=True)}
    assert len(pairs) == len(set(patches.flat)) == len(set(wanted.flat)) and (0, 0) in pairs


def test_grown_is_scipys(mask: BoolArray) -> None:
    assert np.array_equal(grown(mask, 2), ndimage.binary_dilation(mask, TOUCHING, iterations=2))


def steps_from(seeds: BoolArray, mask: BoolArray) -> IntArray:
    """Cells from the nearest seed, by the way through the mask; a great number where none is."""
    away = np.where(seeds, 0, 10_000)
    for step in range(1, mask.size):
        reached = ndimage.binary_dilation(away < step, TOUCHING) & mask & (away > step)
        if not reached.any():
            break
        away[reached] = step
    return away


def test_each_cell_goes_to_a_nearest_seed(mask: BoolArray) -> None:
    random = np.random.default_rng(int(mask.sum()))
    seeds = np.where(random.random(mask.shape) < 0.02, random.integers(1, 4, mask.shape), 0) * mask
    owners = spread(seeds, mask)
    away = np.array([steps_from(seeds == owner, mask) for owner in (1, 2, 3)])
    nearest = away.min(axis=0)
    assert np.array_equal(owners > 0, mask & (nearest < 10_000))
    rows, columns = np.nonzero(owners)
    own = away[owners[rows, columns] - 1, rows, columns]
    assert np.array_equal(own, nearest[rows, columns])
    assert np.array_equal(owners[seeds > 0], seeds[seeds > 0])
