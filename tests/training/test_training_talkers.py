"""People who talk with their hands: arms that stay whole, strokes as people make them."""

from __future__ import annotations

import importlib

import numpy as np
import pytest

talkers = importlib.import_module("filming.talkers")


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
