"""Varied captures: turns keep lengths, lengths scale, the pace never runs backwards."""

from __future__ import annotations

import importlib
from typing import Any

import numpy as np
import pytest
from scipy.spatial.distance import pdist

varied_motion = importlib.import_module("filming.varied_motion")
JOINTS = [f"{side}_{name}" for side in "lr" for name in ("shoulder", "elbow", "hand", "hip")]
JOINTS += [f"{side}_{name}" for side in "lr" for name in ("ankle", "toe", "knee")] + ["hips"]
START = np.random.default_rng(1).normal(0, 1, (len(JOINTS), 3))


class Walk:
    """Joints that go along at a steady metre a second."""

    source, len = "walk", 20.0
    start = START

    def k(self, joint: str) -> int:
        return JOINTS.index(joint)

    def at(self, seconds: Any) -> Any:
        return self.start + np.asarray(seconds, float)[..., None, None] * [1.0, 0, 0]


def varied(seed: int = 3) -> Any:
    return varied_motion.VariedMotion(Walk(), np.random.default_rng(seed))


def test_the_pace_swells_but_never_turns_back() -> None:
    seconds = np.linspace(0, 19, 20_000)
    for seed in range(20):
        instants = varied(seed).instant(seconds)
        pace = np.diff(instants) / np.diff(seconds)
        most = 1 + 3 * np.sqrt(3) * varied_motion.SWELL
        assert instants[0] == 0
        assert 2 - most <= pace.min() < 1 < pace.max() <= most


def test_each_limb_is_turned_and_scaled_as_a_whole() -> None:
    """Distances within a limb all change by one factor, and those of other joints not at all."""
    motion = varied()
    seconds = motion.instant(2.0)
    before, after = Walk().at(seconds), motion.at(2.0)
    for side in "lr":
        for root, joints in varied_motion.LIMBS.items():
            rows = [motion.k(f"{side}_{joint}") for joint in (root, *joints)]
            factors = pdist(after[rows]) / pdist(before[rows])
            assert factors == pytest.approx(motion.limbs[side, root][1])
    assert after[motion.k("hips")] == pytest.approx(before[motion.k("hips")])


def test_many_instants_at_once_are_each_of_them() -> None:
    motion = varied()
    seconds = np.array([0.5, 1.5, 7.0])
    assert motion.at(seconds) == pytest.approx(np.stack([motion.at(each) for each in seconds]))
