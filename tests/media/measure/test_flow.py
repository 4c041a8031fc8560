"""Flow and the camera fit, against movements put into the pictures."""

import math

import cv2
import numpy as np
import pytest

from impactcut.core.motion.cells import camera_displacement, cell_centres
from impactcut.media.measure.flow import (
    fit_camera,
    flow_method,
    flow_picture,
    flow_size,
    measure_interval,
)
from tests.helpers.footage.moving_pictures import moved, texture


@pytest.mark.parametrize(
    ("right", "down", "turn", "zoom"),
    [
        (0, 0, 0, 1),
        (3.3, 0, 0, 1),
        (-6.5, 2.25, 0, 1),
        (0, 0, math.radians(1.0), 1),
        (0, 0, 0, 1.02),
        (2.0, -1.5, math.radians(-0.5), 0.985),
    ],
)
def test_the_camera_fit_returns_the_movement_put_in(right, down, turn, zoom):
    earlier = texture()
    later = moved(earlier, right, down, turn, zoom)
    camera = measure_interval(flow_method(), earlier, later).camera
    assert camera[0] * 320 == pytest.approx(right, abs=0.12)
    assert camera[1] * 320 == pytest.approx(down, abs=0.12)
    assert camera[2] == pytest.approx(turn, abs=math.radians(0.05))
    assert camera[3] == pytest.approx(math.log(zoom), abs=0.0015)


def test_a_fighter_who_fills_two_fifths_of_the_frame_does_not_pull_the_camera():
    earlier = texture()
    later = moved(earlier, right=2.0)
    body = texture(512, 512)[200:380, 100:228]
    earlier[:, 96:224] = body
    later[:, 96:224] = moved(body, right=-7.0, down=3.0)
    interval = measure_interval(flow_method(), earlier, later)
    assert interval.camera[0] * 320 == pytest.approx(2.0, abs=0.15)
    assert interval.camera[1] * 320 == pytest.approx(0.0, abs=0.15)
    middle = interval.residual[10:24, 25:36].reshape(-1, 2).mean(axis=0) * 320
    assert middle[0] == pytest.approx(-9.0, abs=1.0)
    assert middle[1] == pytest.approx(3.0, abs=1.0)


def test_what_the_camera_explains_leaves_no_residual_and_no_change():
    earlier = texture()
    interval = measure_interval(flow_method(), earlier, moved(earlier, right=4.0))
    inner = (slice(4, -4), slice(4, -4))
    assert np.abs(interval.residual[inner]).max() * 320 < 0.25
    assert interval.change[inner].mean() < 0.01
    assert interval.difference > 5 * interval.change[inner].mean()


def test_equal_frames_differ_by_nothing():
    picture = texture()
    interval = measure_interval(flow_method(), picture, picture.copy())
    assert interval.difference == 0
    assert np.abs(interval.residual).max() == pytest.approx(0, abs=1e-6)
    assert np.abs(interval.camera).max() == pytest.approx(0, abs=1e-6)


def test_a_turn_about_the_centre_moves_a_corner_as_geometry_says():
    camera = np.array([[0.01, -0.02, math.radians(2), math.log(1.03)]], np.float32)
    field = camera_displacement(camera, (34, 60))[0]
    x, y = (0 + 0.5) / 60 - 0.5, (0 + 0.5) / 60 - 34 / 120
    cos, sin = 1.03 * math.cos(math.radians(2)), 1.03 * math.sin(math.radians(2))
    assert field[0, 0, 0] == pytest.approx(cos * x - sin * y - x + 0.01, abs=1e-6)
    assert field[0, 0, 1] == pytest.approx(sin * x + cos * y - y - 0.02, abs=1e-6)


def test_the_fit_is_that_of_lapack_on_the_cells_that_agree():
    """NumPy's (LAPACK's) least squares, on a noisy field of which a third belongs to a body."""
    rng = np.random.default_rng(4)
    camera = np.array([[0.012, -0.006, math.radians(0.8), math.log(1.015)]], np.float32)
    field = camera_displacement(camera, (34, 60))[0]
    field += rng.normal(0, 0.1 / 320, field.shape).astype(np.float32)
    body = np.zeros((34, 60), bool)
    body[:, 20:40] = True
    field[body] += np.float32([0.03, 0.01])
    place = cell_centres((34, 60)) - np.float32([0.5, 34 / 120])
    (x, y), one, none = place[~body].T.astype(float), np.ones(1360), np.zeros(1360)
    system = np.concatenate([np.stack([x, -y, one, none], 1), np.stack([y, x, none, one], 1)])
    goal = (place + field)[~body].T.ravel()
    along, across, right, down = np.linalg.lstsq(system, goal)[0]
    found = fit_camera(field)
    assert found[:2] == pytest.approx([right, down], abs=1e-5)
    assert found[2] == pytest.approx(math.atan2(across, along), abs=2e-5)
    assert found[3] == pytest.approx(math.log(math.hypot(along, across)), abs=2e-5)


def test_a_field_without_agreement_gives_a_camera_all_the_same():
    noise = np.random.default_rng(5).normal(0, 0.2, (34, 60, 2)).astype(np.float32)
    assert np.isfinite(fit_camera(noise)).all()


@pytest.mark.parametrize("size", [(480, 270), (270, 480), (480, 200), (1920, 1080), (64, 48)])
def test_flow_pictures_keep_their_shape_and_bound_their_size(size):
    width, height = flow_size(*size)
    assert width / height == pytest.approx(size[0] / size[1], rel=0.02)
    assert width * height <= 320 * 180 * 1.01
    picture = flow_picture(np.zeros((size[1], size[0]), np.uint8))
    assert picture.shape == (height, width)


def test_flow_agrees_with_an_independent_method():
    """Farneback's flow, another algorithm, on the same moved texture."""
    earlier = texture()
    later = moved(earlier, right=2.4, down=-1.1)
    other = cv2.calcOpticalFlowFarneback(earlier, later, None, 0.5, 3, 15, 3, 5, 1.2, 0)
    camera = measure_interval(flow_method(), earlier, later).camera
    assert camera[:2] * 320 == pytest.approx(np.median(other.reshape(-1, 2), axis=0), abs=0.15)
