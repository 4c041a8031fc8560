"""What is seen directly across a splice, on pictures that move by known amounts."""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter, shift

from impactcut.core.motion.cells import MotionCells
from impactcut.core.motion.measured import Skips
from impactcut.core.trims.candidates import judge_candidates
from impactcut.core.trims.splice_indices import Splices
from impactcut.core.trims.visibility import confident
from impactcut.core.viewer.judge import Judge
from impactcut.media.measure.flow import flow_method, measure_interval
from impactcut.media.measure.skips import chained, measure_skips
from impactcut.project.rows.arrays import pack_motion, unpack_motion
from tests.helpers.projects.staged_motion import CONTACT, Staging, staged

PARAMETERS = Judge()
HEIGHT, WIDTH = 180, 320


def patch_film(places: list[float]) -> list[np.ndarray]:
    """A textured square on a textured wall, its left edge at each of the places, px."""
    random = np.random.default_rng(3)
    wall, skin = (
        gaussian_filter(random.normal(0, 1, (HEIGHT, WIDTH)), 2.0) * 160 + 110 for _ in range(2)
    )
    wall = 0.3 * wall + 70
    frames = []
    for place in places:
        moved = shift(skin, (0, place - places[0]), order=1, mode="wrap")
        inside = np.zeros((HEIGHT, WIDTH), bool)
        inside[60:120, round(place) : round(place) + 60] = True
        frames.append(np.clip(np.where(inside, moved, wall), 0, 255).astype(np.uint8))
    return frames


def cells_of(pictures: list[np.ndarray]) -> MotionCells:
    method = flow_method()
    pairs = itertools.pairwise(pictures)
    intervals = [measure_interval(method, one, other) for one, other in pairs]
    return MotionCells(
        Fraction(24),
        np.arange(len(pictures)),
        np.stack([one.residual for one in intervals]),
        np.stack([one.change for one in intervals]),
        np.stack([one.camera for one in intervals]),
    )


def test_even_movement_adds_up_to_what_is_seen_across_the_splice() -> None:
    pictures = patch_film([100 + 4 * step for step in range(8)])
    cells = cells_of(pictures)
    body = np.zeros((7, *cells.residual.shape[1:3]), bool)
    body[:, 13:21, 24:28] = True
    skips = measure_skips(pictures, cells, body, [(3, 1), (3, 2)])
    assert skips.count.tolist() == [1, 2]
    assert skips.disagreement * WIDTH == pytest.approx([0, 0], abs=1)
    # An even movement shows the difference of the pictures themselves, found here by hand.
    apart = np.abs(pictures[5].astype(float) - pictures[2]).mean() / 255
    assert skips.difference[1] == pytest.approx(apart, abs=0.002)


def test_frames_that_do_not_belong_between_make_a_splice_uncertain() -> None:
    # A frame from elsewhere in the movement: the film does not do what its frames add up to.
    places = [100 + 4 * step for step in range(8)]
    places[3] += 30
    pictures = patch_film(places)
    cells = cells_of(pictures)
    body = np.zeros((7, *cells.residual.shape[1:3]), bool)
    body[:, 13:21, 24:32] = True
    skips = measure_skips(pictures, cells, body, [(3, 1), (5, 1)])
    assert skips.disagreement[0] * WIDTH > 2 > skips.disagreement[1] * WIDTH


def test_a_cell_is_followed_through_the_intervals() -> None:
    # It starts in a part that moves 3 cells right and comes into one that moves 2 cells down.
    moved = np.zeros((2, 20, 60, 2), np.float32)
    moved[0, 5, 10] = (3 / 60, 0)
    moved[1, 5, 13] = (0, 2 / 60)
    np.testing.assert_allclose([*chained(moved)][-1][5, 10], [3 / 60, 2 / 60], atol=1e-6)


def seen_directly(difference: float, apart: float):
    hit, motion = staged(Staging())
    first = CONTACT - motion.first
    one = [np.array([value]) for value in (first, 1)]
    skips = Skips(*one, np.float32([difference]), np.float32([apart]))
    splices = Splices(*one, motion.intervals + 1)
    looked = replace(motion, skips=skips)
    trims, findings = judge_candidates(hit, looked, splices, [()], PARAMETERS)
    return trims[0], findings[0]


def test_confidence_follows_what_was_seen_directly() -> None:
    # The staged window changes by 0.02 everywhere.
    calm, finding = seen_directly(0.02, 1 / 320)
    assert calm.visibility < 1
    assert finding.difference == pytest.approx(1, rel=1e-5)
    assert calm.confident
    assert not seen_directly(0.02, 3 / 320)[0].confident
    assert not seen_directly(0.04, 1 / 320)[0].confident  # four times the energy
    assert confident(1.2, 4.0, 0.0, PARAMETERS)  # a jump that was seen contradicts nothing
    assert confident(0.2, 1.0, float("nan"), PARAMETERS) is None


def test_skips_are_kept_in_the_project() -> None:
    _, motion = staged(Staging())
    one = np.array([3, 4])
    skips = Skips(one, one - 2, np.float32([0.1, 0.2]), np.float32([0.01, 0.02]))
    kept = unpack_motion(pack_motion(replace(motion, skips=skips))).skips
    assert kept is not None
    assert kept.first.tolist() == [3, 4]
    assert kept.disagreement.tolist() == skips.disagreement.tolist()
    assert unpack_motion(pack_motion(motion)).skips is None
