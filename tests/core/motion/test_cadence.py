"""Repeated frames: pulldown, 12-in-24 and frozen frames in a moving texture."""

import itertools
from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.motion.cadence import finding_stride, repeated_intervals
from impactcut.core.motion.cells import MotionCells, join_intervals
from impactcut.media.measure.flow import flow_method, measure_interval
from tests.helpers.footage.moving_pictures import moved, texture


def differences(order: list[int], noise: float = 0.0) -> np.ndarray:
    """Difference energy of frames shown in ``order`` (numbers of an evenly moving texture)."""
    rng = np.random.default_rng(3)
    wall = texture()
    shown = [moved(wall, right=1.3 * number) for number in range(max(order) + 1)]
    grained = [
        np.clip(picture + rng.normal(0, noise, picture.shape), 0, 255).astype(np.uint8)
        for picture in shown
    ]
    method = flow_method()
    pairs = itertools.pairwise(order)
    return np.array(
        [measure_interval(method, grained[a], grained[b]).difference for a, b in pairs], np.float32
    )


@pytest.mark.parametrize(
    ("name", "order"),
    [
        ("clean", list(range(20))),
        ("pulldown to 30", [n + k for k in range(0, 16, 4) for n in (0, 1, 1, 2, 3)]),
        ("12 in 24", [0, *(n // 2 for n in range(2, 23))]),
        ("frozen for four", [*range(8), 7, 7, 7, 7, *range(8, 16)]),
        ("one doubled", [*range(10), 9, *range(10, 20)]),
    ],
)
def test_exactly_the_repeats_are_found(name, order):
    """A repeat at a clip's very end looks like stillness; the orders here end with a change."""
    repeats = [a == b for a, b in itertools.pairwise(order)]
    found = repeated_intervals(differences(order, noise=2.0))
    assert found.tolist() == repeats


def test_a_picture_that_stands_still_is_not_a_repeat():
    assert not repeated_intervals(np.zeros(30, np.float32)).any()
    starts_to_move = np.concatenate([np.zeros(15), np.full(15, 0.05)]).astype(np.float32)
    assert not repeated_intervals(starts_to_move).any()


def cells_of(count: int, rate: Fraction) -> MotionCells:
    return MotionCells(
        rate=rate,
        frames=np.arange(count + 1),
        residual=np.full((count, 4, 6, 2), 0.01, np.float32),
        change=np.zeros((count, 4, 6), np.float32),
        camera=np.full((count, 4), 0.002, np.float32),
    )


@pytest.mark.parametrize(
    ("rate", "stride"), [("15", 1), ("24", 1), ("30", 1), ("48", 2), ("60000/1001", 2), ("120", 4)]
)
def test_fast_clips_are_looked_at_more_coarsely(rate, stride):
    assert finding_stride(Fraction(rate)) == stride


def test_joining_keeps_the_whole_displacement():
    cells = cells_of(10, Fraction(25))
    joined = join_intervals(cells, [0, 3, 4])
    assert joined.frames.tolist() == [0, 3, 4, 10]
    assert joined.residual.sum() == pytest.approx(cells.residual.sum(), rel=1e-6)
    assert joined.camera.sum() == pytest.approx(cells.camera.sum(), rel=1e-6)
