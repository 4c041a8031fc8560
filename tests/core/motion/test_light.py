"""Jumps of light, and movement carried across them."""

from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.motion.cells import MotionCells
from impactcut.core.motion.light import bridged, light_jumps


def test_flashes_and_switches_jump_and_slow_changes_do_not():
    flash = np.full(8, 0.4, np.float32)
    flash[3] = 0.8
    assert np.flatnonzero(light_jumps(flash)).tolist() == [2, 3]
    lamp = np.float32([0.1, 0.1, 0.5, 0.5])
    assert np.flatnonzero(light_jumps(lamp)).tolist() == [1]
    dusk = np.geomspace(0.6, 0.2, 20, dtype=np.float32)
    assert not light_jumps(dusk).any()
    grain_in_the_dark = np.float32([0, 0.002, 0, 0.002])
    assert not light_jumps(grain_in_the_dark).any()


def cells_of(values: list[float]) -> MotionCells:
    along = np.float32(values)
    return MotionCells(
        Fraction(24),
        np.arange(len(along) + 1),
        np.tile(along[:, None, None, None], (1, 3, 4, 2)),
        np.tile(along[:, None, None], (1, 3, 4)),
        np.tile(along[:, None], (1, 4)),
    )


@pytest.mark.parametrize(
    ("values", "jumps", "expected"),
    [
        ([1, 9, 9, 4], [1, 2], [1, 2, 3, 4]),
        ([9, 2, 3, 9], [0, 3], [2, 2, 3, 3]),
        ([1, 2, 3], [], [1, 2, 3]),
        ([7, 8], [0, 1], [7, 8]),
    ],
)
def test_movement_goes_on_evenly_across_jumps(values, jumps, expected):
    jumped = np.isin(np.arange(len(values)), jumps)
    cells = cells_of(values)
    found = bridged(cells, jumped)
    for name in ("residual", "change", "camera"):
        each = getattr(found, name).reshape(len(values), -1)
        assert each == pytest.approx(np.tile(np.float32(expected)[:, None], each.shape[1]))
    assert cells.residual[:, 0, 0, 0].tolist() == values
