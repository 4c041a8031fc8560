"""Figures of other people's motions: joints where turns and bends put them."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

other_people = importlib.import_module("other_people")

TURNS = (4, 8, 12, 16, 21, 25, 30, 35, 39)
"""Columns of a frame where a turn begins."""
RIGHT_KNEE, RIGHT_SHOULDER = 20, 25
HIPS = 4


def frames(changes: Mapping[int, Any]) -> NDArray[np.float64]:
    """Five frames of somebody who stands with arms down, but for some numbers (by column)."""
    frame = np.zeros(44)
    frame[0] = 1 / 30
    frame[[*TURNS]] = 1
    for column, values in changes.items():
        frame[column : column + np.size(values)] = values
    return np.tile(frame, (5, 1))


def joints(changes: Mapping[int, Any] = MappingProxyType({})) -> dict[str, NDArray[np.float64]]:
    person = other_people.OtherPerson("somebody", frames(changes))
    return dict(zip(other_people.JOINTS, person.at(0.05), strict=True))


def test_a_standing_figure_is_upright_and_the_same_on_both_sides() -> None:
    at = joints()
    assert at["head"][1] - at["l_ankle"][1] == pytest.approx(other_people.TALL)
    assert at["head"][1] > at["chest"][1] > at["hips"][1] > at["l_knee"][1] > at["l_ankle"][1]
    for joint in ("shoulder", "elbow", "hand", "hip", "knee", "ankle", "toe"):
        left, right = at[f"l_{joint}"], at[f"r_{joint}"]
        np.testing.assert_allclose(left * (1, 1, -1), right, atol=1e-9)
        assert right[2] > 0, "the right is where Z grows"
    assert at["r_toe"][0] > at["r_ankle"][0], "it faces where X grows"


def test_a_knee_bent_at_a_right_angle_puts_the_shin_level_behind() -> None:
    at = joints({RIGHT_KNEE: -np.pi / 2})
    knee, ankle = at["r_knee"], at["r_ankle"]
    assert ankle[1] == pytest.approx(knee[1])
    assert ankle[0] < knee[0]
    straight = joints()
    assert np.linalg.norm(ankle - knee) == pytest.approx(
        np.linalg.norm(straight["r_ankle"] - straight["r_knee"])
    )


def test_an_arm_turned_about_its_shoulder_reaches_ahead_with_a_straight_elbow() -> None:
    quarter = (np.cos(np.pi / 4), 0, 0, np.sin(np.pi / 4))
    at = joints({RIGHT_SHOULDER: quarter})
    assert at["r_hand"][1] == pytest.approx(at["r_shoulder"][1])
    assert at["r_hand"][0] - at["r_shoulder"][0] == pytest.approx(
        np.linalg.norm(at["r_hand"] - at["r_elbow"])
        + np.linalg.norm(at["r_elbow"] - at["r_shoulder"])
    )


def test_hips_turned_round_turn_everything() -> None:
    half = (0, 0, 1, 0)
    at, before = joints({HIPS: half}), joints()
    for joint, place in at.items():
        np.testing.assert_allclose(place, before[joint] * (-1, 1, -1), atol=1e-9)
