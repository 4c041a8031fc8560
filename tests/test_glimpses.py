"""Glimpses show what is somewhere for one frame only, whatever the camera does."""

from fractions import Fraction

import cv2
import numpy as np
import pytest
from skimage import data

from impactcut.core.arrays import FloatArray
from impactcut.core.cells import MotionCells
from impactcut.core.glimpse_net import ACROSS, ALONG, BEFORE, SHAPE
from impactcut.media.glimpses import glimpses
from impactcut.media.luma import GreyArray

WIDTH, HEIGHT, NODES, NODE = 480, 270, 14, 9
RADIUS = 11
PLACE = (0.6, 0.3)
"""Widths."""


def _cells(camera: FloatArray) -> MotionCells:
    grid = (NODES, 33, 60)
    return MotionCells(
        rate=Fraction(24),
        frames=np.arange(NODES + 1, dtype=np.int64),
        residual=np.zeros((*grid, 2), np.float32),
        change=np.zeros(grid, np.float32),
        camera=camera,
    )


def _wall(shift: float = 0.0) -> GreyArray:
    wall = cv2.resize(data.brick(), (WIDTH + 200, HEIGHT), interpolation=cv2.INTER_AREA)
    moved = np.array([[1, 0, shift - 100], [0, 1, 0]], np.float64)
    return np.asarray(cv2.warpAffine(wall, moved, (WIDTH, HEIGHT)), np.uint8)


def _fist(picture: GreyArray, x: float, y: float) -> GreyArray:
    drawn = cv2.circle(picture.copy(), (round(x * 16), round(y * 16)), RADIUS * 16, 230, -1, 16, 4)
    return np.asarray(drawn, np.uint8)


def _flight(node: int) -> tuple[float, float]:
    """A fist that flies 40 pixels a frame and stands still from ``NODE`` on."""
    return 288 - 40 * max(0, NODE - node), 81


def _flying(mirrored: bool = False) -> list[GreyArray]:
    pictures = [_fist(_wall(), *_flight(node)) for node in range(NODES + 1)]
    return (
        [np.ascontiguousarray(picture[:, ::-1]) for picture in pictures] if mirrored else pictures
    )


def _still() -> FloatArray:
    return np.zeros((NODES, 4), np.float32)


def _middle(view: GreyArray) -> tuple[float, float]:
    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]] + 0.5
    weight = view.astype(float) / view.sum()
    along = ALONG[0] + (weight * columns).sum() / SHAPE[1] * (ALONG[1] - ALONG[0])
    return along, (weight * rows).sum() / SHAPE[0] * 2 * ACROSS - ACROSS


@pytest.mark.parametrize("before", [1, 2, 3])
def test_a_fist_in_flight_is_seen_where_it_is(before: int) -> None:
    seen = glimpses(_flying(), _cells(_still()), NODE, PLACE, rightward=True)
    x, y = _flight(NODE - before)
    along, across = _middle(seen[BEFORE - before, 1])
    assert along == pytest.approx(x / WIDTH - PLACE[0], abs=0.006)
    assert across == pytest.approx(y / WIDTH - PLACE[1], abs=0.006)


def test_a_fist_that_has_stopped_is_not_seen() -> None:
    seen = glimpses(_flying(), _cells(_still()), NODE, PLACE, rightward=True).astype(int)
    assert seen[BEFORE - 1].sum() > 1000
    assert seen[BEFORE + 1 :].sum() == 0


def test_the_outline_of_a_body_goes_and_a_fist_stays() -> None:
    bodies = [
        cv2.rectangle(_wall(), (120 + 3 * node, 60), (220 + 3 * node, 240), 40, -1)
        for node in range(NODES + 1)
    ]
    outline = glimpses(bodies, _cells(_still()), NODE, PLACE, rightward=True)[BEFORE - 2]
    fist = glimpses(_flying(), _cells(_still()), NODE, PLACE, rightward=True)[BEFORE - 2]
    assert outline[1].sum() < 0.1 * outline[0].sum()
    assert fist[1].sum() > 0.7 * fist[0].sum()


def test_a_strike_to_the_left_is_seen_mirrored() -> None:
    rightward = glimpses(_flying(), _cells(_still()), NODE, PLACE, rightward=True)
    mirrored = (1 - PLACE[0] - 1 / WIDTH, PLACE[1])
    leftward = glimpses(_flying(mirrored=True), _cells(_still()), NODE, mirrored, rightward=False)
    assert np.abs(rightward.astype(int) - leftward).mean() < 0.5


def test_a_pan_hides_nothing_and_adds_nothing() -> None:
    shifts = [6.0 * (node - NODE) for node in range(NODES + 1)]
    pictures = [
        _fist(_wall(shift), _flight(node)[0] + shift, _flight(node)[1])
        for node, shift in enumerate(shifts)
    ]
    camera = _still()
    camera[:, 0] = 6 / WIDTH
    panned = glimpses(pictures, _cells(camera), NODE, PLACE, rightward=True)
    held = glimpses(_flying(), _cells(_still()), NODE, PLACE, rightward=True)
    assert np.abs(panned.astype(int) - held)[:, 1].mean() < 1


def test_nothing_is_seen_beyond_the_picture_and_the_clip() -> None:
    seen = glimpses(_flying(), _cells(_still()), 1, (0.99, 0.01), rightward=True)
    assert seen[: BEFORE - 1].sum() == 0
    assert seen[:, :, :, 30:].sum() == 0


def test_a_flash_is_not_taken_for_something_that_moves() -> None:
    pictures = _flying()
    dark = glimpses(pictures, _cells(_still()), NODE, PLACE, True)
    lit = NODE - 3
    pictures[lit] = np.minimum(pictures[lit] * 1.6 + 40, 255).astype(np.uint8)
    seen = glimpses(pictures, _cells(_still()), NODE, PLACE, True)
    at = lit - NODE + BEFORE
    assert dark[at].max() > 100 and seen[at].max() == 0
    apart = np.abs(np.arange(len(seen)) - at) > 1
    np.testing.assert_array_equal(seen[apart], dark[apart])
    assert (seen[[at - 1, at + 1]].max(axis=(1, 2, 3)) > 100).all()


def test_a_change_of_light_that_stays_hides_nothing() -> None:
    pictures = _flying()
    dark = glimpses(pictures, _cells(_still()), NODE, PLACE, True)
    brighter = [np.minimum(each * 1.3 + 20, 255).astype(np.uint8) for each in pictures[NODE - 3 :]]
    seen = glimpses([*pictures[: NODE - 3], *brighter], _cells(_still()), NODE, PLACE, True)
    flown = slice(BEFORE - 4, BEFORE - 1)
    assert (dark[flown].max(axis=(1, 2, 3)) > 100).all()
    assert (seen[flown].max(axis=(1, 2, 3)) > 100).all()
