"""How much a splice shows, against vision and video quality research."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import brentq

from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.splice_indices import Splices
from impactcut.core.trims.visibility import Visibility, difference_ratio, how_it_shows, verdict
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.jump_thresholds import Masking, jump_ratio, nearest_explained
from tests.helpers.projects.staged_motion import CONTACT, Staging, channel, staged, window

PARAMETERS = Judge()
PER_WIDTH = 2 * math.tan(math.radians(16.5)) * 180 / math.pi  # degrees of a picture width
SQUARE_DEGREE = PER_WIDTH**-2
PEAKS = {24: 8.80, 25: 8.83, 30: 8.94, 48: 9.09, 60: 9.13}  # per second, Werkhoven et al. 1992


def skip_ratio(milliseconds: float, rate: float, degrees_per_second: float = 30.0) -> float:
    """R of 1 square degree in steady motion that jumps ahead by so many milliseconds."""
    speed = degrees_per_second / PER_WIDTH
    steady = np.array([speed / rate, 0.0])
    step = np.array([speed * (1 / rate + milliseconds / 1000), 0.0])
    calm = Masking(np.array(0.0), np.array(SQUARE_DEGREE), np.array(0.0), np.array(False))
    explained = nearest_explained(step, np.stack([steady, steady]))
    return float(jump_ratio(step, explained, calm, rate, PARAMETERS))


def steady_window(
    speed: float = 0.1, rate: int = 24, area: float = 9 / 16, shake: float = 0.0, seed: int = 0
) -> HitMotion:
    """A whole frame in steady motion (widths/s), with white shake if asked; limb far and still."""
    shaken = np.random.default_rng(seed).normal(0, 1, (2 * rate, 2)) * shake
    drift = np.tile([speed / rate, 0.0], (2 * rate, 1)) + shaken
    limb = channel("strike", np.zeros_like(drift), 0.01, (0.5, 0.25))
    return window((limb, channel("background", drift, area, (0.5, 0.28))), Fraction(rate), 50)


def judged(motion: HitMotion, firsts: list[int], count: int) -> Visibility:
    """Trims whose first frames are counted from the window's first frame."""
    hit, _ = staged(Staging())
    splices = Splices(np.array(firsts), np.full(len(firsts), count), motion.intervals + 1)
    return how_it_shows(hit, motion, splices, PARAMETERS)


def ratio(seen: Visibility, name: str, row: int = 0) -> float:
    return float(seen.ratios[seen.names.index(name), row])


def ratio_of_each(seen: Visibility, name: str) -> np.ndarray:
    return seen.ratios[seen.names.index(name)]


@pytest.mark.parametrize("rate", sorted(PEAKS))
def test_skip_in_steady_motion_that_is_just_seen(rate: int) -> None:
    # 30 % of speed (Snowden & Braddick 1991) through the filter of Werkhoven et al. 1992:
    # 33 to 34.1 ms.
    just_seen = brentq(lambda skip: skip_ratio(skip, rate, 60.0) - 1, 1, 100)
    assert just_seen == pytest.approx(300 / PEAKS[rate], rel=0.02)
    assert 33 * 0.9 < just_seen < 34.1 * 1.1


@pytest.mark.parametrize(("milliseconds", "pooled"), [(4, 0.81), (12, 2.44)])
def test_frame_time_jitter(milliseconds: float, pooled: float) -> None:
    # Klein et al. 2024: jitter of 4 ms goes unseen, of 12 ms is seen; 300 events pool with
    # exponent 3.
    found = skip_ratio(milliseconds, 60, 60.0) * 300 ** (1 / 3)
    assert found == pytest.approx(pooled, rel=0.03)
    assert (found < 1) == (milliseconds == 4)


def test_straight_cut_of_a_steady_arm_shows_least() -> None:
    # Langkjaer et al.: neither overlap nor ellipsis, within a frame; exact here by construction.
    shown = {skip: skip_ratio(1000 * skip / 24, 24) for skip in range(-5, 6)}
    assert min(shown, key=lambda skip: shown[skip]) == 0
    assert all(shown[skip] < shown[skip + 1] for skip in range(0, 5))
    assert all(shown[skip] < shown[skip - 1] for skip in range(0, -5, -1))


def test_long_skip_is_plainly_seen() -> None:
    # van Kester et al. 2011: 360 ms.
    assert 9.5 < skip_ratio(360, 25, 60.0) < 11.5


def test_even_pan_by_hand() -> None:
    # The formulas, worked out here for a tenth of a width per second at 24 frames a second.
    pan = 0.1 / 24 * PER_WIDTH * 60
    rise = math.sqrt(4 / (0.1 * PER_WIDTH))
    threshold = math.hypot(2.2, 0.30 * rise * 24 / 8.80 * pan)
    seen = judged(steady_window(), [20], 1)
    assert ratio(seen, "background") == pytest.approx(2 * pan / threshold, rel=2e-3)
    assert seen.excess[1, 0] == pytest.approx(0.1 / 24, rel=1e-5)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_same_picture_at_two_sizes(count: int) -> None:
    # Same angle, same R: positions read to a twentieth of a pixel at 1920 and at 3840.
    _, motion = staged(Staging(camera="handheld", noise=0.0))
    seen = []
    for width in (1920, 3840):
        rounded = [
            replace(one, displacement=np.round(one.displacement * width * 20) / (width * 20))
            for one in motion.channels
        ]
        sized = replace(motion, channels=tuple(rounded))
        seen.append(judged(sized, list(range(10, 18)), count).total)
    # A hundredth of a threshold is far below anything said of it.
    np.testing.assert_allclose(seen[0], seen[1], rtol=0.02, atol=0.01)


def test_more_frames_show_more() -> None:
    motion = steady_window()
    totals = [judged(motion, [20], count).total[0] for count in (0, 1, 2, 3)]
    assert totals[0] == 0
    assert np.all(np.diff(totals) > 0)


def test_more_area_shows_more() -> None:
    # Between a sixteenth of a square degree and sixteen, R doubles from 1 to 16.
    areas = [SQUARE_DEGREE * degrees for degrees in (0.01, 1 / 16, 1, 4, 16, 100)]
    shown = [ratio(judged(steady_window(area=area), [20], 1), "background") for area in areas]
    assert shown[0] == pytest.approx(shown[1])
    assert np.all(np.diff(shown[1:5]) > 0)
    assert shown[4] / shown[2] == pytest.approx(2, rel=1e-5)
    assert shown[5] == pytest.approx(shown[4])


def test_shake_hides_a_pan_splice() -> None:
    # Common practice, no source: a restless camera hides a splice.
    medians = []
    for shake in (0.0, 0.0005, 0.002, 0.006):
        seen = [
            judged(steady_window(shake=shake, seed=seed), list(range(14, 34)), 1)
            for seed in range(8)
        ]
        medians.append(np.median([one.ratios[1] for one in seen]))
    assert np.all(np.diff(medians) < 0)
    assert medians[-1] < 1 < medians[0]


def test_nothing_moves_nothing_shows() -> None:
    seen = judged(steady_window(speed=0.0), [20, 21], 3)
    assert np.all(seen.total == 0)


def test_a_larger_picture_shows_more() -> None:
    motion = steady_window(speed=0.03)
    hit, _ = staged(Staging())
    splices = Splices(np.array([20]), np.array([1]), motion.intervals + 1)
    near = how_it_shows(hit, motion, splices, Judge(60.0))
    assert near.total[0] > judged(motion, [20], 1).total[0]


def test_repeated_frames_cost_nothing_and_do_not_count() -> None:
    # 24 frames in 30: every fifth frame repeats the one before (2:3 pull-down, common practice).
    motion = steady_window(rate=30)
    repeated = np.arange(motion.intervals) % 5 == 2
    pan = np.where(repeated[:, None], 0.0, motion.channels[1].displacement)
    channels = (motion.channels[0], replace(motion.channels[1], displacement=pan))
    held = replace(motion, channels=channels, repeated=repeated)
    shown = judged(held, [22, 23, 20], 1)
    assert shown.unique.tolist() == [0, 0, 1]
    assert shown.total[:2].tolist() == [0, 0]
    both = judged(held, [22], 2)
    assert both.unique.tolist() == [1]
    assert both.total[0] == pytest.approx(shown.total[2], rel=1e-6)
    # Without the repeats it is a pan of 24 pictures a second.
    film = window((held.channels[0], held.channels[1]), Fraction(24), 50)
    film_pan = np.full_like(film.channels[1].displacement, [0.1 / 30, 0.0])
    film = replace(
        film, channels=(film.channels[0], replace(film.channels[1], displacement=film_pan))
    )
    assert shown.total[2] == pytest.approx(judged(film, [20], 1).total[0], rel=1e-6)


def test_a_recoil_that_starts_with_the_splice_is_explained() -> None:
    # The frame before the recoil goes: the viewer sees the very step that the film shows untrimmed.
    way = 0.05 * (1 - np.exp(-np.maximum(np.arange(49) - 20, 0) / 24 / 0.05))
    recoil = np.stack([np.diff(way), np.zeros(48)], axis=1)
    bodies = (
        channel("strike", np.zeros((48, 2)), 0.01, (0.5, 0.25)),
        channel("receiver", recoil, 0.03, (0.55, 0.27)),
    )
    motion = window(bodies, Fraction(24), CONTACT - 20)
    assert ratio(judged(motion, [20], 1), "receiver") == 0
    assert ratio(judged(motion, [21], 1), "receiver") > 0.5


def test_any_change_between_two_velocities_is_explained() -> None:
    shown = np.array([[0.0, 0.0], [0.1, 0.0], [0.1, 0.06]])
    for part in (0.0, 0.3, 1.0):
        between = np.array([0.1 * part, 0.06 * part])
        np.testing.assert_allclose(nearest_explained(between, shown), between, atol=1e-12)
    np.testing.assert_allclose(nearest_explained(np.array([0.2, 0.0]), shown), [0.1, 0.0])
    np.testing.assert_allclose(nearest_explained(np.array([-0.1, 0.0]), shown), [0.0, 0.0])


def test_a_jump_across_the_motion_shows_more_than_along_it() -> None:
    # Werkhoven et al. 1992: 9 % of direction against 17 % of speed.
    steady = np.array([0.05, 0.0])
    calm = Masking(np.array(0.0), np.array(SQUARE_DEGREE), np.array(0.0), np.array(False))
    along, across = (
        jump_ratio(steady + jump, steady, calm, 24.0, PARAMETERS)
        for jump in (np.array([0.02, 0.0]), np.array([0.0, 0.02]))
    )
    assert across / along == pytest.approx(17 / 9, rel=0.01)


def test_what_lies_away_from_the_contact_shows_less() -> None:
    # The threshold of a still thing doubles 2.5 degrees out (from memory).
    still = np.zeros(2)
    ratios = [
        jump_ratio(
            np.array([0.01, 0.0]),
            still,
            Masking(np.array(0.0), np.array(SQUARE_DEGREE), np.array(away), np.array(False)),
            24.0,
            PARAMETERS,
        )
        for away in (0.0, 2.5 / PER_WIDTH)
    ]
    assert ratios[0] / ratios[1] == pytest.approx(2)


def test_brightness_counts_beyond_what_the_film_shows() -> None:
    motion = steady_window(speed=0.0)
    steps = np.where(np.arange(49) >= 20, 0.06, 0.0) - 1
    jump = judged(replace(motion, luma=steps), [20], 1)
    assert ratio(jump, "brightness") == 0  # the film has this very step untrimmed
    darker = judged(replace(motion, luma=-2 - steps), [20], 1)
    assert ratio(darker, "brightness") == 0
    ramp = replace(motion, luma=0.01 * np.arange(49) - 2)
    assert ratio(judged(ramp, [20], 1), "brightness") == pytest.approx(0.01 / 0.02, rel=1e-6)
    assert ratio(judged(ramp, [20], 3), "brightness") == pytest.approx(0.03 / 0.02, rel=1e-6)
    fall = replace(motion, luma=-0.01 * np.arange(49) - 2)
    assert ratio(judged(fall, [20], 3), "brightness") == pytest.approx(0.03 / 0.02, rel=1e-6)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_contact_masks_what_steps_over_it(count: int) -> None:
    """The contact comes between the frame before it and its own; both may stay, or go."""
    limb = channel("strike", np.tile([0.12, 0.0], (48, 1)), 0.0064, (0.5, 0.25))
    still = channel("background", np.zeros((48, 2)), 9 / 16, (0.5, 0.28))
    motion = window((limb, still), Fraction(24), CONTACT - 24)
    firsts = list(range(18, 30))
    masked = ratio_of_each(judged(motion, firsts, count), "gap")
    plain = ratio_of_each(judged(replace(motion, first=CONTACT - 44), firsts, count), "gap")
    over = [first - 1 < 24 <= first + count for first in firsts]
    np.testing.assert_allclose(plain / masked, np.where(over, PARAMETERS.contact_mask, 1.0))


def test_gap_in_the_path_of_the_limb_by_hand() -> None:
    # 0.12 widths an interval, limb 0.08 wide, half the interval blurred; one frame out mid-swing.
    limb = channel("strike", np.tile([0.12, 0.0], (48, 1)), 0.0064, (0.5, 0.25))
    still = channel("background", np.zeros((48, 2)), 9 / 16, (0.5, 0.28))
    motion = window((limb, still), Fraction(24), CONTACT - 40)
    seen = judged(motion, [20], 1)
    assert seen.gap[0] == pytest.approx(0.24 - 0.08 - 0.06, rel=1e-5)
    assert ratio(seen, "gap") == pytest.approx(0.10 / 0.08, rel=1e-5)


def test_channels_pool_with_exponent_4() -> None:
    _, motion = staged(Staging(camera="handheld"))
    seen = judged(motion, [12, 13, 14], 2)
    np.testing.assert_allclose(seen.total**4, (seen.ratios**4).sum(0))


def test_picture_change_is_bounded_by_its_parts() -> None:
    # The triangle inequality: two changes of 0.02 make at most one of 0.04, four times the energy.
    motion = steady_window()
    assert judged(motion, [20], 1).difference[0] == pytest.approx(4, rel=1e-5)
    busy = motion.difference.copy()
    busy[14:19] = 0.1
    assert judged(replace(motion, difference=busy), [20], 1).difference[0] < 1


def test_a_splice_is_measured_against_the_loudest_interval_that_it_joins() -> None:
    """Energies by hand: 0.2 squared over the greater of 0.1 squared around and what is joined."""
    around = np.full((3, 12), 0.1)
    joined = np.array([[0.1, 0.2], [0.1, 0.05], [0.4, 0.1]])
    found = difference_ratio(np.array([0.2, 0.2, 0.2]), around, joined)
    np.testing.assert_allclose(found, [1, 4, 0.25])


def test_verdict_lines() -> None:
    # 1.5 and 3 are 9 % and 18 % over 6 %: de'Sperati & Baud-Bovy 2017, McKee & Nakayama 1984.
    lines = [verdict(r, PARAMETERS) for r in (0.0, 0.99, 1.0, 1.49, 1.5, 3.0, 3.01)]
    assert lines == [
        "clean",
        "clean",
        "frame-step",
        "frame-step",
        "attentive",
        "attentive",
        "obvious",
    ]


def test_splices_stay_inside_the_window() -> None:
    with pytest.raises(ValueError, match="either side"):
        Splices(np.array([0]), np.array([1]), 20)
    with pytest.raises(ValueError, match="either side"):
        Splices(np.array([18]), np.array([2]), 20)
