"""Stretches of a clip: nothing left out, nothing counted twice, the neighbours alongside."""

from fractions import Fraction

import numpy as np
import pytest

from impactcut.media.decode.frames import LumaFrame
from impactcut.media.measure.stretches import CONTEXT, STRETCH, measure
from tests.helpers.footage.moving_pictures import texture

RATE = Fraction(24)


def shifting(count):
    """Frames of a wall that moves one pixel a frame."""
    wall = texture(512, 40)
    views = [np.ascontiguousarray(wall[:, k % 400 : k % 400 + 64]) for k in range(count)]
    return [LumaFrame(k, k, luma) for k, luma in enumerate(views)]


@pytest.mark.parametrize("count", [2, STRETCH + CONTEXT + 1, STRETCH + CONTEXT + 2, 650])
def test_own_intervals_cover_the_clip_once(count):
    own = [
        frame
        for stretch in measure(shifting(count), RATE)
        for frame in stretch.cells.frames[:-1][stretch.own]
    ]
    assert own == list(range(count - 1))


def test_context_is_what_the_neighbours_measured():
    earlier, later, *_ = measure(shifting(650), RATE)
    shared = 2 * CONTEXT
    assert np.array_equal(earlier.cells.frames[-shared - 1 :], later.cells.frames[: shared + 1])
    assert np.array_equal(earlier.cells.residual[-shared:], later.cells.residual[:shared])
    assert np.array_equal(earlier.difference[-shared:], later.difference[:shared])


def test_pictures_are_the_frames_as_read_where_they_are_small():
    frames = shifting(650)
    for stretch in measure(frames, RATE):
        assert stretch.size == frames[0].luma.shape[::-1]
        assert len(stretch.pictures) == len(stretch.cells.frames)
        for number, picture in zip(stretch.cells.frames, stretch.pictures, strict=True):
            assert picture is frames[number].luma


def test_a_single_frame_has_no_motion():
    assert list(measure(shifting(1), RATE)) == []


def test_brightness_is_the_mean_logarithm_of_the_pixels():
    """By the stated formula, on pictures small enough not to be shrunk."""
    frames = shifting(3)
    (stretch,) = measure(frames, RATE)
    for frame, value in zip(frames, stretch.log_luma, strict=True):
        assert value == pytest.approx(np.log((frame.luma.astype(float) + 1) / 255).mean(), abs=1e-6)
