"""Speeds in metres a second, where somebody has said how wide the picture is."""

import pytest

from impactcut.core.takes.scale import MOST_SEEN, SEEN_PART, Scale, limb_speed


def test_a_fist_in_metres_per_second_with_its_limits() -> None:
    # A boxer's 9.14 +/- 2.06 m/s (Walilko et al. 2005) across a scene 4 m wide is 2.285 widths/s.
    speed = limb_speed(2.285 * SEEN_PART, Scale(4.0, 0.4))
    assert speed.likely == pytest.approx(9.14)
    assert speed.low == pytest.approx(0.9 * 9.14 * SEEN_PART / MOST_SEEN)
