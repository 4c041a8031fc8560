"""Apparent speed, against the vision research that it rests on."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import TransferFunction, lsim

from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import STANDARD_RATES
from impactcut.core.trims.speed import (
    SpeedGain,
    felt_by,
    just_noticeable_differences,
    speed_gain,
    strike_displacement,
    strike_window,
)
from impactcut.core.trims.splice_indices import Splices
from impactcut.core.trims.trim import lag_after
from impactcut.core.viewer.judge import ATTENTIVE, CASUAL, TRAINED, Judge, Observer, weber_rise
from impactcut.core.viewer.lowpass import low_pass, peak_step_response
from tests.helpers.projects.staged_motion import (
    CONTACT,
    Staging,
    channel,
    minimum_jerk,
    staged,
    window,
)

PARAMETERS = Judge()


def smoothed_by_scipy(velocity: np.ndarray, rate: float, fine: int = 400) -> np.ndarray:
    """The filter 1 / (1 + 0.04 s)**2 (Werkhoven et al. 1992), solved by scipy, at fine steps."""
    steps = np.append(np.repeat(velocity, fine), 0.0)
    seconds = np.arange(len(steps)) / (rate * fine)
    filtered = lsim(TransferFunction([1], [0.04**2, 0.08, 1]), steps, seconds, interp=False)
    return np.asarray(filtered[1])


@pytest.mark.parametrize(
    ("hertz", "threshold"), [(0.5, 0.244), (1, 0.256), (2, 0.301), (4, 0.483), (8, 1.21)]
)
def test_speed_modulation_thresholds(hertz: float, threshold: float) -> None:
    # Werkhoven, Snippe & Toet 1992: sqrt(2) * 0.17 at rest, over the gain of the filter.
    rate = 200.0
    middle = (np.arange(600) + 0.5) / rate
    wave = np.zeros((1, 600, 2))
    wave[0, :, 0] = np.sin(2 * np.pi * hertz * middle)
    tail = low_pass(wave, rate, PARAMETERS)[0, :, -1, 0][-round(rate * max(1, 1 / hertz)) :]
    amplitude = (tail.max() - tail.min()) / 2
    assert math.sqrt(2) * 0.17 / amplitude == pytest.approx(threshold, rel=0.01)


@pytest.mark.parametrize(
    ("rate", "peak"), [(24, 8.80), (25, 8.83), (30, 8.94), (48, 9.09), (60, 9.13)]
)
def test_peak_response_to_a_step_within_one_frame(rate: float, peak: float) -> None:
    # Derived by hand from the impulse response of Werkhoven et al. 1992.
    step = np.zeros((1, 20, 2))
    step[0, 3, 1] = rate
    assert low_pass(step, rate, PARAMETERS).max() == pytest.approx(peak, abs=0.006)
    assert peak_step_response(rate, PARAMETERS) == pytest.approx(peak, abs=0.005)


def test_low_pass_against_scipy() -> None:
    velocity = np.random.default_rng(1).normal(size=12)
    ours = low_pass(np.stack([velocity, 0 * velocity], 1)[None], 24.0, PARAMETERS)
    theirs = smoothed_by_scipy(velocity, 24.0)[400::400]
    np.testing.assert_allclose(ours[0, :, -1, 0], theirs, atol=1e-6)
    assert np.all(ours[..., 1] == 0)


def test_a_speed_jump_takes_five_times_a_speed_difference() -> None:
    # Snowden & Braddick 1991.
    assert PARAMETERS.speed_jump / TRAINED.weber == pytest.approx(5.0)


def test_speed_discrimination_is_flat_between_4_and_64_degrees_a_second() -> None:
    # De Bruyn & Orban 1988: at most 7 % inside, rising on both sides.
    inside = TRAINED.weber * weber_rise(np.geomspace(4, 64, 50), PARAMETERS)
    assert inside.max() <= 0.07
    below, above = np.geomspace(4, 0.25, 20), np.geomspace(64, 512, 20)
    assert np.all(np.diff(weber_rise(below, PARAMETERS)) > 0)
    assert np.all(np.diff(weber_rise(above, PARAMETERS)) > 0)


@pytest.mark.parametrize(
    ("gain", "observer", "differences"),
    [(1.12, CASUAL, 0.68), (1.12, ATTENTIVE, 1.32), (1.18, CASUAL, 1.00)],
)
def test_uniform_speed_up(gain: float, observer: Observer, differences: float) -> None:
    # de'Sperati & Baud-Bovy 2017, Sci Rep 7:15379; one picture width a second is 34 degrees.
    found = just_noticeable_differences(gain, observer, 1.0)
    assert found == pytest.approx(differences, abs=0.006)


def test_bands_follow_the_observers() -> None:
    # The bands are the Weber fractions of McKee & Nakayama 1984 and de'Sperati & Baud-Bovy 2017.
    gains = (1.05, 1.07, 1.10, 1.20, 1.70)
    assert [felt_by(gain, PARAMETERS) for gain in gains] == [
        "nobody",
        "side by side",
        "attentive",
        "anybody",
        "doubtful",
    ]


def test_viewing_distance_and_pans() -> None:
    # Chapiro et al. 2019: 16:9 at three heights; pans of 5, 7, 11 and 17 s a picture width.
    seen = math.degrees(2 * math.atan(16 / 9 / 2 / 3))
    assert Judge().fov_degrees == pytest.approx(seen, abs=0.05)
    speeds = [Judge().fov_degrees / seconds for seconds in (5, 7, 11, 17)]
    assert speeds == pytest.approx([6.6, 4.7, 3.0, 1.9], abs=0.05)


def test_small_angles_at_the_centre() -> None:
    # Geometry: a thousandth of the width, seen from the distance that makes 33 degrees of it.
    distance = 0.5 / math.tan(math.radians(16.5))
    angle = math.degrees(2 * math.atan(0.0005 / distance))
    assert Judge().degrees * 0.001 == pytest.approx(angle, rel=1e-4)
    assert Judge().arcmin * 0.001 == pytest.approx(60 * angle, rel=1e-4)


@pytest.mark.parametrize("rate", [24.0, 30.0, 60.0])
def test_minimum_jerk_strike_peak_over_mean_speed(rate: float) -> None:
    # Flash & Hogan 1985: 1.875. Sampled in frames, with the camera panning under it.
    frames = round(0.5 * rate)
    way = 0.6 * minimum_jerk(np.arange(-4, frames + 5) / frames)
    pan = np.tile([0.004, -0.001], (len(way) - 1, 1))
    limb = np.stack([0.8 * np.diff(way), 0.6 * np.diff(way)], axis=1)
    motion = window(
        (channel("strike", limb + pan, 0.01, (0.5, 0.3)), channel("background", pan, 0.6, (0, 0))),
        STANDARD_RATES[1],
    )
    speed = np.hypot(*strike_displacement(motion).T)
    assert speed.max() / (speed.sum() / frames) == pytest.approx(1.875, rel=0.02)


def test_contact_is_shorter_than_any_frame() -> None:
    # Walilko, Viano & Bir 2005: 2.9 kg at 9.14 m/s against 3427 N; a half sine of force takes
    # away m v = F * 2 T / pi. So a limb may stop at any instant within a frame.
    seconds = math.pi * 2.9 * 9.14 / (2 * 3427)
    assert seconds == pytest.approx(0.0121, abs=1e-4)
    assert all(seconds < 1 / rate for rate in STANDARD_RATES)


def even_strike(moving: int = 6, still: int = 12) -> np.ndarray:
    """A limb that moves 0.1 widths in each of a few intervals and rests before and after."""
    displacement = np.zeros((still + moving + still, 2))
    displacement[still : still + moving, 0] = 0.1
    return displacement


def gain_of(displacement: np.ndarray, strike: FrameRange, first: int, count: int) -> SpeedGain:
    splices = Splices(np.array([first]), np.array([count]), len(displacement) + 1)
    return speed_gain(displacement, 24.0, strike, splices, PARAMETERS)


@pytest.mark.parametrize(("first", "count"), [(15, 1), (14, 2), (14, 3), (17, 1), (18, 1), (12, 2)])
def test_gain_against_a_trim_made_by_hand(first: int, count: int) -> None:
    displacement = even_strike()[:, 0]
    joined = displacement[first - 1 : first + count].sum()
    trimmed = np.concatenate([displacement[: first - 1], [joined], displacement[first + count :]])
    before = smoothed_by_scipy(24 * displacement, 24.0)
    after = smoothed_by_scipy(24 * trimmed, 24.0)
    peak = after.max() / before.max()
    mean = np.count_nonzero(displacement) / np.count_nonzero(trimmed)
    crispness = np.diff(after).min() / np.diff(before).min()
    found = gain_of(even_strike(), FrameRange(12, 18), first, count)
    assert found.mean[0] == pytest.approx(mean)
    assert found.peak[0] == pytest.approx(peak, rel=2e-3)
    assert found.gain[0] == pytest.approx(math.sqrt(mean * peak), rel=2e-3)
    assert found.crispness[0] == pytest.approx(crispness, rel=0.02)


def test_no_frame_out_gains_nothing_exactly() -> None:
    found = gain_of(even_strike(), FrameRange(12, 18), 15, 0)
    assert (found.gain[0], found.mean[0], found.peak[0], found.crispness[0]) == (1, 1, 1, 1)


def test_frames_at_rest_gain_nothing() -> None:
    assert gain_of(even_strike(), FrameRange(12, 18), 22, 2).gain[0] == pytest.approx(1)


def test_a_pan_under_the_strike_changes_no_gain() -> None:
    splices = Splices(np.array([13, 14]), np.array([1, 1]), 29)
    gains = []
    for camera in ("locked", "panning"):
        hit, motion = staged(Staging(camera=camera, noise=0.0))
        strike = strike_window(hit, motion, PARAMETERS)
        moved = strike_displacement(motion)
        gains.append(speed_gain(moved, 24.0, strike, splices, PARAMETERS).gain)
    np.testing.assert_allclose(gains[0], gains[1], rtol=1e-5)


def test_strike_window_is_a_tenth_of_the_peak_within_the_hit() -> None:
    hit, motion = staged(Staging(stop="soft", noise=0.0))
    strike = strike_window(hit, motion, PARAMETERS)
    speed = np.abs(motion.channels[0].displacement[:, 0])
    fast = np.flatnonzero(speed >= 0.1 * speed.max())
    assert (strike.start, strike.stop) == (fast[0], fast[-1] + 1)
    late = replace(hit, onset=hit.onset + 2)
    assert strike_window(late, motion, PARAMETERS).start == strike.start + 2


def test_strike_window_goes_by_a_tenth_of_the_peak() -> None:
    """A tenth, as `Judge` has it; these intervals lie on both sides of it."""
    hit, motion = staged(Staging(stop="soft", noise=0.0))
    speed = np.zeros(motion.intervals)
    peak = CONTACT - motion.first - 1
    speed[peak - 3 : peak + 4] = (0.09, 0.11, 0.5, 1.0, 0.5, 0.11, 0.09)
    limb = replace(motion.channels[0], displacement=np.stack([speed, 0 * speed], axis=1))
    still = replace(motion, channels=(limb, *motion.channels[1:]))
    wide = replace(hit, onset=motion.first + 1, settle=motion.first + motion.intervals)
    assert strike_window(wide, still, PARAMETERS) == FrameRange(peak - 2, peak + 3)


def test_intervals_are_shown_where_the_frames_that_are_left_show_them() -> None:
    frames = 12
    splices = Splices(np.array([1, 4, 6]), np.array([1, 3, 2]), frames)
    for interval in range(frames - 1):
        found = []
        for first, count in zip(splices.first, splices.count, strict=True):
            kept = [frame for frame in range(frames) if not first <= frame < first + count]
            found.append(max(place for place, frame in enumerate(kept) if frame <= interval))
        assert splices.interval_after(interval).tolist() == found


def test_strike_window_reads_through_repeated_frames() -> None:
    hit, motion = staged(Staging(stop="soft", noise=0.0))
    plain = strike_window(hit, motion, PARAMETERS)
    inside = plain.start + 2
    moved = motion.channels[0].displacement.copy()
    moved[inside] = 0
    repeated = motion.repeated.copy()
    repeated[inside] = True
    limb = replace(motion.channels[0], displacement=moved)
    held = replace(motion, channels=(limb, *motion.channels[1:]), repeated=repeated)
    assert strike_window(hit, held, PARAMETERS) == plain


@pytest.mark.parametrize(
    ("lag", "first", "count", "after"),
    [(3, 1, 2, 1), (3, -2, 2, 3), (3, 0, 3, 0), (0, 0, 1, 0), (-2, -2, 2, 0), (-2, 0, 2, -2)],
)
def test_reaction_lag_after_a_trim(lag: int, first: int, count: int, after: int) -> None:
    hit, _ = staged(Staging())
    hit = replace(hit, reaction=CONTACT + lag)
    seen = [frame for frame in range(80, 120) if not first <= frame - CONTACT < first + count]
    contact = next(place for place, frame in enumerate(seen) if frame >= CONTACT)
    reaction = next(place for place, frame in enumerate(seen) if frame >= CONTACT + lag)
    assert reaction - contact == after
    assert lag_after(hit, CONTACT + first, count) == after
    assert lag_after(replace(hit, reaction=None), CONTACT + first, count) is None


def test_parameters_are_checked() -> None:
    with pytest.raises(ValueError, match="position_step"):
        Judge(position_step=0.0)
    with pytest.raises(ValueError, match="attentive viewer"):
        Judge(attentive_ratio=4.0)
    with pytest.raises(ValueError, match="180 degrees"):
        Judge(180.0)
