"""The spotter: its planes, its networks, its peaks, and clips in stretches.

What the networks say is checked against ONNX Runtime, an implementation of the ONNX standard that
shares nothing with OpenCV's.
"""

from __future__ import annotations

import itertools
import sys
from fractions import Fraction
from unittest import mock

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import find_peaks
from skimage import data

from impactcut.core.arrays import FloatArray
from impactcut.core.detect.confidence import SURE, UNSURE, Calibration
from impactcut.core.detect.contact import APART_SECONDS, peaks
from impactcut.core.detect.planes import (
    CHANGE,
    COLUMNS,
    DIM,
    DOWN,
    LUMA,
    MOST_LIGHT,
    PLANES,
    RIGHT,
    ROWS,
    STILL,
    box_of,
    every,
    no_motion,
    scaled,
    shown_planes,
)
from impactcut.core.detect.spot import KINDS
from impactcut.core.detect.spotter import (
    AT_ONCE,
    HEAD,
    OTHER,
    PEOPLE,
    REACH,
    SCOUT,
    THINGS,
    TRUNK,
    Described,
    Net,
    Opinions,
    Said,
    Spotter,
    describe,
    opencv_net,
    spots_of,
)
from impactcut.core.detect.trace import Trace
from impactcut.media.decode.frames import LumaFrame
from impactcut.media.measure import stretches as measuring
from impactcut.media.measure.flow import flow_method, measure_interval
from impactcut.project.rows.arrays import pack_trace
from impactcut.weights import OTHERS, weights
from impactcut.workflow.scan import spotting
from impactcut.workflow.scan.finding import pictures_of
from impactcut.workflow.scan.onnx_runtime import runtime_net
from impactcut.workflow.scan.spotting import Spotting, fitted_spotter
from tests.helpers.footage.noise_planes import some_planes

OUTPUTS = {"trunk": TRUNK, "head": HEAD} | dict.fromkeys(OTHERS, OTHER)
Grey = NDArray[np.uint8]


@pytest.mark.parametrize("name", OUTPUTS)
def test_two_implementations_of_the_standard_say_the_same(name: str) -> None:
    model = weights().networks[name]
    inputs = scaled(some_planes(37))
    if name == "head":
        inputs = runtime_net(weights().networks["trunk"], TRUNK)(inputs)["rows"]
    ours = opencv_net(model, OUTPUTS[name])(inputs)
    theirs = runtime_net(model, OUTPUTS[name])(inputs)
    assert ours.keys() == theirs.keys() == set(OUTPUTS[name])
    for output, values in theirs.items():
        assert len(values) == 37
        assert np.ptp(values) > 0
        np.testing.assert_allclose(ours[output], values, rtol=1e-4, atol=1e-4)


def test_batches_say_what_one_look_at_everything_says() -> None:
    planes = some_planes(2 * AT_ONCE + 11)
    trunk = fitted_spotter().trunk
    whole = trunk(scaled(planes))
    parts = describe(planes, trunk)
    for name in TRUNK:
        np.testing.assert_allclose(getattr(parts, name), whole[name], rtol=1e-3, atol=1e-3)


def test_the_trunk_sees_no_further_than_it_says() -> None:
    planes = some_planes(40)
    other = planes.copy()
    other[20] = 255 - other[20]
    trunk = fitted_spotter().trunk
    differs = np.abs(trunk(scaled(planes))["rows"] - trunk(scaled(other))["rows"]).max(axis=1) > 0
    assert np.flatnonzero(differs).tolist() == list(range(20 - REACH, 20 + REACH + 1))


def moving_square(count: int) -> list[Grey]:
    """A square that bounces between two edges of a picture, 24 frames a second."""
    ground = cv2.resize(data.brick(), (320, 180), interpolation=cv2.INTER_AREA)
    frames = []
    for number in range(count):
        at = abs((number * 11) % 400 - 200)
        picture = ground.copy()
        picture[60:110, at : at + 50] = 240
        frames.append(picture.astype(np.uint8))
    return frames


def watched(
    frames: list[Grey], rate: Fraction, spotter: Spotter
) -> tuple[list[tuple[int, float]], Trace]:
    """Contact and chance of every spot of a clip, and its trace."""
    spots, found = Spotting(spotter), []
    for stretch in measuring.measure(
        (LumaFrame(number, number, frame) for number, frame in enumerate(frames)), rate
    ):
        first, last = stretch.cells.frames[[stretch.own.start, stretch.own.stop]]
        for spot in spots(stretch, pictures_of(stretch)):
            if first <= spot.contact < last:
                found.append((spot.contact, spot.chance))
    trace = spots.trace()
    assert trace is not None
    return found, trace


def test_without_onnx_runtime_the_same_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    frames = moving_square(100)
    usual, traced = watched(frames, Fraction(24), fitted_spotter())
    assert usual
    monkeypatch.setitem(sys.modules, "impactcut.workflow.scan.onnx_runtime", None)
    asked = mock.Mock(wraps=opencv_net)
    monkeypatch.setattr(spotting, "opencv_net", asked)
    found, left = watched(frames, Fraction(24), fitted_spotter.__wrapped__())
    assert asked.call_count > len(("trunk", "head"))
    assert [frame for frame, _ in found] == [frame for frame, _ in usual]
    np.testing.assert_allclose([c for _, c in found], [c for _, c in usual], atol=1e-4)
    np.testing.assert_allclose(left.odds, traced.odds, atol=1e-3)


@pytest.mark.parametrize(("rate", "stride"), [(Fraction(24), 1), (Fraction(60), 2)])
def test_stretches_change_no_spot_and_no_trace(
    monkeypatch: pytest.MonkeyPatch, rate: Fraction, stride: int
) -> None:
    frames = moving_square(230)
    for lit in (129, 189):  # at the end of a stretch, where what comes after is not known yet
        frames[lit] = np.clip(frames[lit].astype(int) + 90, 0, 255).astype(np.uint8)
    monkeypatch.setattr(measuring, "STRETCH", 1000)
    whole, traced = watched(frames, rate, fitted_spotter())
    assert whole
    monkeypatch.setattr(measuring, "STRETCH", 70)
    parts, pieces = watched(frames, rate, fitted_spotter())
    assert [frame for frame, _ in parts] == [frame for frame, _ in whole]
    np.testing.assert_allclose([c for _, c in parts], [c for _, c in whole], atol=1e-4)
    assert traced.frames.tolist() == pieces.frames.tolist() == list(range(0, 230, stride))
    np.testing.assert_allclose(traced.odds, pieces.odds, atol=1e-3)
    np.testing.assert_allclose(traced.rows, pieces.rows, atol=2 * traced.size.max())
    assert len(pack_trace(traced)) < 2000 * 230 / rate  # bytes a second


def test_pictures_are_fitted_whole_and_never_stretched() -> None:
    for width, height in ((1920, 1080), (320, 240), (1080, 1920), (2048, 858)):
        left, top, wide, high = box_of(width, height)
        assert wide / high == pytest.approx(width / height, rel=0.03)
        assert wide == COLUMNS or high == ROWS
        assert abs(2 * left + wide - COLUMNS) <= 1
        assert abs(2 * top + high - ROWS) <= 1
    white = shown_planes(np.full((90, 160), 255, np.uint8), None)[LUMA]
    _, top, _, high = box_of(160, 90)
    assert (white[top : top + high] == 255).all()
    assert white.sum() == 255 * high * COLUMNS


@pytest.mark.parametrize("exposure", [1.0, 0.5, 0.3, 0.1])
def test_a_dim_picture_is_lit_with_its_motion_and_no_other_is_touched(exposure: float) -> None:
    """Contrast between two shares of the pixels is told by NumPy's percentiles."""
    camera = data.camera()[:384]  # 512 by 384: 4 to 3, so that it fills the grid
    picture = np.rint(camera * exposure).astype(np.uint8)
    motion = np.full((PLANES - 1, ROWS, COLUMNS), STILL + 20, np.uint8)
    motion[CHANGE - 1] = 30
    shown = shown_planes(picture, motion)
    plain = cv2.resize(picture, (COLUMNS, ROWS), interpolation=cv2.INTER_AREA)
    dark, bright = np.percentile(plain, (3, 97))
    light = min(max(DIM / (bright - dark), 1.0), MOST_LIGHT)
    assert (light > 1) == (exposure < 0.5)
    assert (shown[RIGHT:] == STILL + 20).all()
    assert shown[CHANGE] == pytest.approx(30 * light, rel=0.08)
    if light == 1:
        assert (shown[LUMA] == plain).all()
    else:
        lit = np.subtract(*np.percentile(shown[LUMA], (97, 3)))
        assert lit == pytest.approx((bright - dark) * light, abs=2 * light)
        assert np.percentile(shown[LUMA], 3) == pytest.approx(dark, abs=1)


def test_what_the_camera_does_leaves_no_motion_and_what_moves_alone_does() -> None:
    wall = cv2.resize(data.brick(), (400, 225), interpolation=cv2.INTER_AREA).astype(np.uint8)
    before, panned = wall[20:200, 30:350].copy(), wall[20:200, 34:354].copy()
    still = measure_interval(flow_method(), before, panned).planes
    assert np.abs(still[RIGHT - 1].astype(int) - STILL)[24:72, 16:112].mean() < 4
    moved = panned.copy()
    before[70:120, 100:150] = 250
    moved[70:120, 106:156] = 250  # right by 6, where all else goes left by 4
    planes = measure_interval(flow_method(), before, moved).planes
    _, top, wide, _ = box_of(320, 180)
    inside = (slice(top + 32, top + 44), slice(int(108 * wide / 320), int(148 * wide / 320)))
    expected = np.tanh((6 + 4) / 320 / 0.04) * 127
    seen = planes[RIGHT - 1][inside].astype(float).mean() - STILL
    assert seen == pytest.approx(expected, rel=0.3)
    assert abs(planes[DOWN - 1][inside].astype(float).mean() - STILL) < 12
    assert planes[CHANGE - 1].max() > 100


def test_frames_left_out_hand_their_motion_on() -> None:
    planes = np.zeros((7, PLANES, ROWS, COLUMNS), np.uint8)
    planes[:, LUMA] = np.arange(7, dtype=np.uint8)[:, None, None]
    planes[:, RIGHT:] = STILL + 5
    planes[:, CHANGE] = 10
    fewer = np.array(every(planes, 2))
    assert fewer[:, LUMA, 0, 0].tolist() == [0, 2, 4, 6]
    assert fewer[1:, RIGHT].min() == fewer[1:, RIGHT].max() == STILL + 10
    assert fewer[1:, CHANGE, 0, 0].tolist() == [16, 16, 16]
    assert (every(planes, 1) == planes).all()
    assert (no_motion()[1:] == STILL).all()


@given(st.lists(st.floats(-8, 8, width=32), min_size=3, max_size=60, unique=True))
def test_peaks_are_those_of_scipy_but_none_near_a_likelier_one(values: list[float]) -> None:
    odds = np.array(values, np.float32)
    frames = np.arange(len(odds))
    rate = 25.0
    found = peaks(odds, frames, rate, -5.0)
    padded = np.concatenate([[-np.inf], odds, [-np.inf]])
    every_peak = find_peaks(padded)[0] - 1
    likely = [node for node in every_peak if odds[node] >= -5]
    assert {peak.node for peak in found} <= set(likely)
    for node in likely:
        near = [p for p in found if abs(p.instant - node) < APART_SECONDS * rate + 0.5]
        assert any(peak.odds >= odds[node] for peak in near)
    for one, two in itertools.pairwise(found):
        assert two.instant - one.instant >= APART_SECONDS * rate


@given(st.floats(-0.49, 0.49), st.floats(0.1, 3))
def test_an_instant_between_frames_is_the_top_of_a_parabola(top: float, width: float) -> None:
    nodes = np.arange(9)
    odds = (3 - width * (nodes - 4 - top) ** 2).astype(np.float32)
    (peak,) = peaks(odds, nodes * 2 + 100, 60.0, 0.0)
    assert peak.instant == pytest.approx(108 + 2 * top, abs=0.02)
    assert peak.contact == round(peak.instant)


def test_two_contacts_in_quick_succession_are_two_and_a_stutter_is_one() -> None:
    odds = np.full(60, -9, np.float32)
    odds[[10, 14, 40, 42]] = [2, 1, 1, 3]
    assert [p.contact for p in peaks(odds, np.arange(60), 24.0, 0)] == [10, 14, 42]


def test_about_things_others_are_asked_than_about_people() -> None:
    blow, thing = KINDS.index("blow"), KINDS.index("thing")
    odds, kinds = np.full(90, -9, np.float32), np.zeros((90, len(KINDS)), np.float32)
    odds[[20, 60]] = 1
    kinds[20, blow] = kinds[60, thing] = 5
    said = Said(odds, np.zeros((90, 1), np.float32), kinds, np.zeros((90, 21), np.float32))
    shown: dict[str, list[int]] = {"fighters": [], "props": []}

    def net(name: str, says: float) -> Net:
        def run(inputs: FloatArray) -> dict[str, FloatArray]:
            shown[name].append(len(inputs))
            return {"odds": np.full(len(inputs), says, np.float32)}

        return run

    spotter = Spotter(
        net("fighters", 0),
        net("fighters", 0),
        {"fighters": net("fighters", 3), "props": net("props", -1)},
        {PEOPLE: {SCOUT: 0.25, "fighters": 0.75}, THINGS: {SCOUT: 0.5, "props": 0.5}},
        Calibration(1.0, 0.0),
        "",
    )
    mean = Opinions(spotter).mean(said, some_planes(90), 24.0, (0, 90))
    assert mean[20] == pytest.approx(0.25 * 1 + 0.75 * 3)
    assert mean[60] == pytest.approx(0.5 * 1 - 0.5 * 1)
    assert mean[40] == -9, "nobody else is asked where the scout sees nothing"
    assert [len(frames) for frames in shown.values()] == [1, 1]


def test_places_are_told_in_widths_from_the_picture_and_not_the_grid() -> None:
    places = np.full((3, 12, 16), -5, np.float32)
    places[1, 6, 4] = 5
    zeros = np.zeros((3, 4), np.float32)
    described = Described(zeros, places, zeros[:, 0])
    odds = np.array([-9, 4, -9], np.float32)
    lags = np.zeros((3, 21), np.float32)
    lags[1, 7] = 9
    said = Said(odds, zeros, zeros, lags)
    (spot,) = spots_of(
        said, described, np.array([0, 2, 4]), 60.0, (1920, 1080), fitted_spotter(), 0.3
    )
    assert spot.contact == 2
    assert spot.place[0] == pytest.approx(4.5 / 16)
    # 16:9 fills rows 12 to 84 of 96, and the place is at row 52
    assert spot.place[1] == pytest.approx((52 - 12) / 72 * 1080 / 1920, abs=0.01)
    assert spot.lag == -6  # three of the frames looked at, every second of the clip's
    assert spot.chance == pytest.approx(fitted_spotter().calibration.confidence(4.0))


def test_confidence_rises_with_the_odds_and_the_thresholds_are_in_order() -> None:
    calibration = Calibration(1.3, -0.3)
    sure = [calibration.confidence(odds) for odds in np.linspace(-30, 30, 50)]
    assert all(0 <= one <= two <= 1 for one, two in itertools.pairwise(sure))
    assert calibration.confidence(0.3 / 1.3) == pytest.approx(0.5)
    assert 0 < UNSURE < SURE < 1
    with pytest.raises(ValueError, match="slope"):
        Calibration(-1.0, 0.0)


def test_the_manifest_says_what_was_not_seen_and_the_digest_covers_everything() -> None:
    shipped = weights()
    assert len(shipped.digest) == 16
    assert {"calibration", "out of fold", "sources", "inputs sha256", "versions"} <= set(
        shipped.manifest
    )
    assert all(len(model) > 100_000 for model in shipped.networks.values())
