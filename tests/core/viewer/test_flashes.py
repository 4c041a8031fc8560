"""Flashes, against rendered ones and the thresholds of WCAG 2.2, success criterion 2.3.1.

The numbers asked for are the standard's (three flashes a second, a tenth of the greatest relative
luminance, darker below 0.80, R / (R + G + B) of 0.8, 0.2 in CIE 1976 u'v', a quarter of 341 x 256
pixels at 1024 x 768); relative luminance and chromaticity come from scikit-image's conversions.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from skimage.color import rgb2xyz

from impactcut.core.viewer.flashes import Flashes, count_flashes, light_grid, looped

WIDE, HIGH = 1024, 576
BLACK, WHITE, GREY, RED = (0, 0, 0), (255, 255, 255), (127, 127, 127), (255, 0, 0)
Colour = tuple[int, int, int]


def flat(colour: Colour) -> np.ndarray:
    """A picture of one colour, given as red, green, blue."""
    return np.full((HIGH, WIDE, 3), colour[::-1], np.uint8)


def counted(pictures: list[np.ndarray], rate: int, spare: int = 0) -> Flashes:
    grids = {id(each): light_grid(each) for each in {id(each): each for each in pictures}.values()}
    return count_flashes([grids[id(each)] for each in pictures], Fraction(rate), spare)


def alternating(one: np.ndarray, other: np.ndarray, rate: int, flashes: int) -> list[np.ndarray]:
    """Two seconds in which ``one`` is seen so many times a second, for half of the time."""
    return [one if frame * flashes * 2 // rate % 2 else other for frame in range(2 * rate)]


def luminance(colour: Colour) -> float:
    return float(rgb2xyz(np.array(colour) / 255)[1])


def chromaticity(colour: Colour) -> np.ndarray:
    x, y, z = rgb2xyz(np.array(colour) / 255)
    return np.array([4 * x, 9 * y]) / (x + 15 * y + 3 * z)


@pytest.mark.parametrize("rate", [24, 30, 60, 120])
def test_more_than_three_flashes_a_second_are_too_many(rate: int) -> None:
    for flashes, too_many in [(1, False), (3, False), (4, True), (12, True)]:
        found = counted(alternating(flat(WHITE), flat(BLACK), rate, flashes), rate)
        assert found.too_many is too_many, flashes
        assert 2 * flashes <= found.general <= 2 * flashes + 1 and found.red == 0


def test_small_changes_and_bright_ones_are_no_flashes() -> None:
    """A tenth of the greatest relative luminance, and the darker one below 0.80."""
    for dark, light, flashes in [
        (100, 128, False),
        (100, 132, True),
        (0, 88, False),
        (0, 91, True),
        (232, 255, False),
        (230, 255, True),
    ]:
        low, high = (luminance((code,) * 3) for code in (dark, light))
        assert (high - low >= 0.1 and low < 0.8) is flashes
        pictures = alternating(flat((light,) * 3), flat((dark,) * 3), 30, 5)
        assert counted(pictures, 30).too_many is flashes


def test_small_places_are_none() -> None:
    """A quarter of 341 x 256 pixels is 21,824, a square of 148, where the picture is 1,024 wide."""
    for side, flashes in [(60, False), (125, False), (180, True), (400, True)]:
        patch = flat(BLACK)
        patch[200 : 200 + side, 300 : 300 + side] = 255
        assert counted(alternating(patch, flat(BLACK), 30, 5), 30).too_many is flashes, side


def test_places_far_apart_are_not_one() -> None:
    """Each below a quarter of its field of ten degrees, and no field holds two of them."""
    spots = flat(BLACK)
    for left in (20, 460, 900):
        spots[100:200, left : left + 100] = 255
    assert not counted(alternating(spots, flat(BLACK), 30, 5), 30).too_many
    together = flat(BLACK)
    together[100:200, 300:600] = 255
    assert counted(alternating(together, flat(BLACK), 30, 5), 30).too_many


def test_fine_patterns_are_none() -> None:
    """Squares below a tenth of a degree, 3.4 of the standard's pixels, that change places."""
    board = np.indices((HIGH, WIDE)).sum(axis=0) // 2 % 2 * 255
    one = np.repeat(board[:, :, None], 3, axis=2).astype(np.uint8)
    assert counted(alternating(one, 255 - one, 30, 5), 30) == Flashes(0, 0)


@pytest.mark.parametrize(
    ("one", "other", "flashes"),
    [
        (RED, GREY, True),
        (RED, BLACK, True),
        (RED, (0, 0, 255), True),
        ((255, 60, 0), GREY, True),
        ((255, 110, 0), GREY, False),
        (RED, (140, 0, 0), False),
        ((0, 255, 0), (0, 0, 255), False),
        ((255, 80, 60), (255, 20, 20), False),
    ],
)
def test_saturated_reds_are_told(one: Colour, other: Colour, flashes: bool) -> None:
    """One of the two is saturated, and they lie further apart than 0.2 in u'v'."""
    linear = np.where(
        np.array(one) / 255 <= 0.04045, 0, ((np.array(one) / 255 + 0.055) / 1.055) ** 2.4
    )
    saturated = linear[0] / linear.sum() >= 0.8
    apart = other == BLACK or np.linalg.norm(chromaticity(one) - chromaticity(other)) > 0.2
    assert (saturated and apart) == flashes
    found = counted(alternating(flat(one), flat(other), 30, 5), 30)
    assert (found.red > 6) is flashes


def test_a_red_flash_needs_no_change_of_luminance() -> None:
    grey = next(code for code in range(256) if luminance((code,) * 3) > luminance(RED))
    found = counted(alternating(flat(RED), flat((grey,) * 3), 24, 4), 24)
    assert found.general == 0 and found.red >= 8 and found.too_many


@pytest.mark.parametrize("wave", [lambda turn: -np.cos(turn), lambda turn: np.cos(turn) ** 3])
def test_fades_count_from_peak_to_valley(wave: Callable[[float], float]) -> None:
    for times, too_many in [(2, False), (3, False), (5, True)]:
        codes = [round(128 + 110 * wave(2 * np.pi * times * at / 60)) for at in range(120)]
        shades = {code: light_grid(flat((code,) * 3)[::4, ::4]) for code in codes}
        assert count_flashes([shades[code] for code in codes], Fraction(60)).too_many is too_many


def test_a_muzzle_flash_in_a_moment_that_plays_over_and_over() -> None:
    """Once is no harm; in a round of a quarter of a second that comes again and again, it is."""
    moment = [flat((60,) * 3)] * 6
    moment[3] = flat(WHITE)
    grids = [light_grid(each) for each in moment]
    assert count_flashes(looped(grids, 24), Fraction(24)) == Flashes(2, 0)
    assert count_flashes(looped(grids, 0) * 3, Fraction(24)).too_many


def test_frames_that_go_out_bring_flashes_together() -> None:
    """Seven turns in 24 frames pass at 23 a second, but not once a frame is out."""
    turns = [0, 4, 8, 12, 16, 20, 23]
    shades, bright, pictures = (flat(BLACK), flat(WHITE)), 0, []
    for frame in range(40):
        bright ^= frame in [turn + 1 for turn in turns]
        pictures.append(shades[bright])
    assert not counted(pictures, 23).too_many
    assert counted(pictures, 23, spare=3).too_many
    assert counted(pictures[:10] + pictures[11:], 23).too_many


def test_ordinary_movement_is_none() -> None:
    random = np.random.default_rng(5)
    wall = np.kron(random.integers(40, 200, (40, 160)), np.ones((16, 16))).astype(np.uint8)
    pictures = [np.repeat(wall[:576, 3 * n : 3 * n + WIDE, None], 3, axis=2) for n in range(48)]
    assert not counted(pictures, 24).too_many
