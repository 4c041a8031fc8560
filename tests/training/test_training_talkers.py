"""People who talk with their hands: arms that stay whole, strokes as people make them."""

from __future__ import annotations

import importlib
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

talkers = importlib.import_module("talkers")

STANDING = {
    "hips": (0, 1, 0), "chest": (0, 1.4, 0), "head": (0, 1.75, 0),
    "l_shoulder": (0.2, 1.5, 0), "l_elbow": (0.22, 1.2, 0), "l_hand": (0.22, 0.95, 0.05),
    "r_shoulder": (-0.2, 1.5, 0), "r_elbow": (-0.22, 1.2, 0), "r_hand": (-0.22, 0.95, 0.05),
}  # fmt: skip
"""Somebody who looks along Z: metres, the left where X grows, up where Y does."""
AWAY = 0.8


class Standing:
    """A motion of somebody who does not move."""

    len = 5.0

    def k(self, joint: str) -> int:
        return list(STANDING).index(joint)

    def at(self, seconds: Any) -> NDArray[np.float64]:
        joints = np.array(list(STANDING.values()), float)
        return np.broadcast_to(joints, (*np.shape(seconds), *joints.shape)).copy()


@pytest.fixture(params=range(4))
def talker(request: pytest.FixtureRequest) -> Any:
    return talkers.Talker(Standing(), np.random.default_rng(request.param), AWAY)


def along(talker: Any, joint: str) -> NDArray[np.float64]:
    instants = np.arange(0, talker.len - 0.01, 1 / talkers.RATE)
    return np.asarray(talker.at(instants)[:, talker.k(joint)])


@pytest.mark.parametrize("side", ["l", "r"])
def test_bones_of_the_arms_stay_as_long_as_they_are(talker: Any, side: str) -> None:
    joints = [f"{side}_{joint}" for joint in ("shoulder", "elbow", "hand")]
    for near, far in pairwise(joints):
        bone = np.linalg.norm(along(talker, far) - along(talker, near), axis=1)
        length = np.linalg.norm(np.subtract(STANDING[far], STANDING[near]))
        np.testing.assert_allclose(bone, length, rtol=0.01)


def test_hands_keep_to_their_own_sides_and_move(talker: Any) -> None:
    assert along(talker, "l_hand")[:, 0].min() > -0.02
    assert along(talker, "r_hand")[:, 0].max() < 0.02
    for side in "lr":
        assert np.ptp(along(talker, f"{side}_hand"), axis=0).max() > 0.1


def test_the_camera_is_turned_to_where_a_talker_looks(talker: Any) -> None:
    aim, hips = along(talker, "aim"), along(talker, "hips")
    np.testing.assert_allclose((aim - hips)[0], (0, 0.75, AWAY), atol=0.1)
    ahead = aim[-1] - aim[0]
    assert ahead[2] > 0, "it has a direction, that of the look"
    assert abs(ahead[0]) < ahead[2] / 100


def test_a_stroke_is_fastest_as_least_jerk_has_it() -> None:
    """Peak speed is 1.875 times the mean: Flash & Hogan 1985, J. Neurosci. 5(7)."""
    instants = np.arange(0, 7, 1 / 2000)
    path = talkers.strokes(np.random.default_rng(5), instants)
    speed = np.linalg.norm(np.diff(path, axis=0), axis=1) * 2000
    moving = speed > 1e-9
    begins, ends = np.flatnonzero(np.diff(moving.astype(int))).reshape(-1)[:2]
    first = speed[: begins + 1] if moving[0] else speed[begins : ends + 1]
    assert first.max() / first.mean() == pytest.approx(1.875, rel=0.02)


def test_an_arm_that_cannot_reach_stays_bent_a_little() -> None:
    shoulder, elbow, hand = (np.array([[0.0, y, 0.0]]) for y in (1.5, 1.2, 0.95))
    bent, end = talkers.reached(shoulder, elbow, hand, np.array([[0.0, 1.5, 3.0]]), (1, 0, 0))
    assert np.linalg.norm(end - shoulder) == pytest.approx(0.98 * 0.55)
    assert bent[0, 0] > 0.01, "outward"


def test_nobody_is_far_below_the_floor() -> None:
    nobody = talkers.Nobody(Standing())
    assert nobody.at(np.array([0.0, 1.0]))[..., 1].max() < -100
