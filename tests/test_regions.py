"""Regions reckoned with together, against each reckoned with alone by SciPy and NumPy."""

import numpy as np
import pytest
from scipy import ndimage

from impactcut.core.fastest import third_greatest
from impactcut.core.regions import regions_of

RANDOM = np.random.default_rng(5)
MASKS = [RANDOM.random((9, 14)) < share for share in (0.02, 0.3, 0.95)]
MASKS[0][4, 3] = True


def test_centres_extents_and_means_are_those_of_each_region():
    regions = regions_of(MASKS)
    values = RANDOM.normal(size=(9, 14, 2)).astype(np.float32)
    means = regions.means(values[regions.row, regions.column])
    for number, mask in enumerate(MASKS):
        assert regions.centre[number] == pytest.approx(ndimage.center_of_mass(mask))
        (found,) = ndimage.find_objects(mask.astype(int))
        assert regions.extent[number].tolist() == [part.stop - part.start for part in found]
        assert means[number] == pytest.approx(values[mask].mean(axis=0), abs=1e-6)


@pytest.mark.parametrize("count", [3, 4, 50])
def test_the_third_greatest_is_third_when_sorted_and_equals_count(count):
    values = RANDOM.integers(0, 6, (20, 7, count)).astype(np.float32)
    before = values.copy()
    assert np.array_equal(third_greatest(values), np.sort(values, axis=-1)[..., -3])
    assert np.array_equal(values, before)


def test_of_fewer_than_three_the_least_counts():
    assert third_greatest(np.float32([[4, 9], [2, 1]])).tolist() == [4, 1]
    assert third_greatest(np.float32([[4], [2]])).tolist() == [4, 2]
