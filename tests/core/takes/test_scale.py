"""Speeds in metres a second, where somebody has said how wide the picture is."""

import pytest

from impactcut.core.takes.scale import metres_per_second


def test_metres_per_second_with_error() -> None:
    # A boxer's 9.14 +/- 2.06 m/s (Walilko et al. 2005) across a scene 4 m wide is 2.285 widths/s.
    speed, error = metres_per_second(2.285, 4.0, 0.4)
    assert speed == pytest.approx(9.14)
    assert error == pytest.approx(0.914)
