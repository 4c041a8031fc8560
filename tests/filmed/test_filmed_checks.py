"""Checks against the literature that go through pictures: frames, flow, channels, judgement.

Textures of known movement are rendered and measured like any clip. Where a check asks for a skip
of a part of a frame, the film itself holds a shorter interval, so that taking out whole frames
skips exactly that much. `tests/README.md` lists all sixteen checks by number.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from impactcut.core.trims.speed import strike_displacement
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.jump_thresholds import Masking, jump_ratio, nearest_explained
from impactcut.media.decode.frames import read_frames
from impactcut.media.measure.stretches import measure
from impactcut.workflow.scan.finding import pictures_of
from tests.helpers.footage.filmed_motion import WIDTH, arm, film, frames_of, judged, measured, pan
from tests.helpers.projects.staged_motion import minimum_jerk

PER_WIDTH = 2 * math.tan(math.radians(16.5)) * 180 / math.pi
"""Degrees that a picture width subtends at 33 degrees."""
ONE_SQUARE_DEGREE = Judge(area_exponent=0.0)
"""The whole picture pans; without its exponent an area counts as the square degree asked for."""


def shown_by_skip(milliseconds: float, rate: int, degrees_per_second: float = 30.0) -> float:
    """R of a skip in an even pan, per square degree, measured from rendered frames."""
    step = degrees_per_second / PER_WIDTH / rate * WIDTH
    skipped = milliseconds / 1000 * rate
    count = math.ceil(skipped)
    steps = np.full(rate + count, step)
    at = rate // 2
    steps[at - 1 + count] = (skipped - count + 1) * step
    places = np.concatenate([[0], np.cumsum(steps)])
    motion = measured(frames_of(pan(places)), rate, at)
    seen = judged(motion, at, count, ONE_SQUARE_DEGREE)
    return float(seen.ratios[seen.names.index("background"), 0])


@pytest.mark.parametrize("rate", [24, 25, 30, 48, 60])
def test_4_skip_that_is_just_seen(rate: int) -> None:
    # 30 % of speed (Snowden & Braddick 1991) through the filter of Werkhoven, Snippe & Toet 1992,
    # whose peak after a step within a frame is 8.80 to 9.13 a second: 33 to 34.1 ms.
    skips = (25.0, 33.5, 42.0)
    shown = [shown_by_skip(skip, rate) for skip in skips]
    assert np.all(np.diff(shown) > 0)
    just_seen = float(np.interp(1.0, shown, skips))
    assert 33.0 * 0.9 < just_seen < 34.1 * 1.1


def test_5_jitter_of_frame_times() -> None:
    # Klein et al. 2024: 4 ms of jitter go unseen, 12 ms are seen (the order is theirs, the numbers
    # follow from the model). 300 events, pooled with exponent 3.
    unseen, seen = (shown_by_skip(jitter, 60) * 300 ** (1 / 3) for jitter in (4, 12))
    assert unseen < 1 < seen
    assert (unseen, seen) == pytest.approx((0.81, 2.44), rel=0.1)


def shown_by_join(skip: int) -> float:
    """R of the arm alone where ``skip`` frames are left out, or shown twice if negative."""
    number = np.arange(13)
    at = 6
    places = 150 + 3.2 * (number - at) + np.where(number >= at, 3.2 * skip, 0.0)
    strike = measured(frames_of(arm(places)), 24, at).channels[0]
    moved = strike.displacement.astype(float)
    around = np.stack([moved[at - 2], moved[at]])
    masking = Masking(
        np.array(0.0), np.array(float(strike.area[at - 1])), np.array(0.0), np.array(True)
    )
    step = moved[at - 1]
    explained = nearest_explained(step, around)
    return float(jump_ratio(step, explained, masking, 24.0, Judge()))


def test_7_straight_cut_of_a_steady_arm_shows_least() -> None:
    # Langkjaer et al.: neither overlap nor ellipsis, within a frame. The splice is made in the
    # film, so that the movement across it is measured as it is seen.
    shown = {skip: shown_by_join(skip) for skip in range(-5, 6)}
    least = min(shown, key=lambda skip: shown[skip])
    assert abs(least) <= 1
    assert all(shown[skip] > shown[least] for skip in shown if skip != least)
    assert min(shown[skip] for skip in (-5, -4, -3, 3, 4, 5)) > 3 > 1 > shown[0]


@pytest.mark.parametrize(
    ("rate", "camera"), [(24, 0.0), (25, 0.0), (30, 0.0), (48, 0.0), (24, 1.5)]
)
def test_9_minimum_jerk_arm(rate: int, camera: float) -> None:
    # Flash & Hogan 1985: the peak of a reach is 1.875 times its mean speed.
    moving, start, end = round(0.25 * rate) * 2 + 1, round(0.3 * rate), 240
    number = np.arange(round(1.1 * rate))
    way = 90 * minimum_jerk((number - start) / moving)
    places = end - 90 + way + camera * (number - start - moving)
    motion = measured(frames_of(arm(places, camera)), rate, start + moving, end)
    speed = np.hypot(*strike_displacement(motion).T)
    assert speed.max() / (speed.sum() / moving) == pytest.approx(1.875, rel=0.02)


@pytest.mark.parametrize("doubled", [(), (9,), (5, 6, 15), (4, 8, 12, 16, 20)])
def test_11_repeated_frames_are_counted_exactly(tmp_path: Path, doubled: tuple[int, ...]) -> None:
    # By construction: so many frames of a moving texture are shown twice. The file is coded as an
    # encoder does it unasked; what coarse coding does to a repeat is told in tests/README.md.
    order = sorted([*range(26), *doubled])
    path = tmp_path / "pan.mp4"
    film(path, pan([3.3 * number for number in order]), 25)
    (stretch,) = measure(read_frames(path), Fraction(25))
    found = pictures_of(stretch).repeated.tolist()
    assert found == [a == b for a, b in itertools.pairwise(order)]
    assert sum(found) == len(doubled)


def test_13_the_same_picture_at_1920_and_3840(tmp_path: Path) -> None:
    # By definition: R is a matter of angles. The scene is rendered at both sizes, not resized.
    number = np.arange(8)
    places = 200 + 6.0 * np.minimum(number - 4, 0) + 1.5 * (number - 4)
    totals = []
    for width in (1920, 3840):
        path = tmp_path / f"{width}.mp4"
        film(path, arm(places, 1.5, width), 24, "ultrafast")
        motion = measured(list(read_frames(path)), 24, 4, 200)
        totals.append([judged(motion, first, 1).total[0] for first in (3, 4, 5)])
    np.testing.assert_allclose(totals[0], totals[1], rtol=0.02)
    assert min(totals[0]) > 0.5


@pytest.mark.parametrize("rate", [25, 60])
def test_15_a_long_skip_is_plainly_seen(rate: int) -> None:
    # van Kester et al. 2011: 360 ms of a film are missed when they are gone.
    assert 9 < shown_by_skip(360, rate, 8.0) < 12
