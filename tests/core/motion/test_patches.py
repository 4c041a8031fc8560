"""Patches of cells, against SciPy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from impactcut.core.arrays import BoolArray
from impactcut.core.motion.patches import grown, patches_of

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
