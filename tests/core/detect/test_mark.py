"""Marks: which frame is meant.

What that is worth on labelled footage: `scripts/bench/finding/snaps.py`.
"""

from __future__ import annotations

import numpy as np

from impactcut.core.detect.mark import SNAP, likeliest_near


def test_the_likeliest_frame_near_a_mark_counts_though_it_is_no_peak() -> None:
    frames = np.arange(100, 130)
    odds = np.full(30, -3.0, np.float32)
    odds[12:14] = -1.5, -1.0  # on the flank of what lies beyond
    odds[13 + SNAP] = 4.0
    assert likeliest_near(112, odds, frames) == 13


def test_of_frames_alike_the_nearest_counts_and_beyond_the_stretch_none() -> None:
    frames = np.arange(100, 130)
    odds = np.full(30, -3.0, np.float32)
    assert likeliest_near(115, odds, frames) == 15
    assert likeliest_near(99 - SNAP, odds, frames) is None
