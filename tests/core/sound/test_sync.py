"""Sound against picture: ITU-R BT.1359-1."""

from __future__ import annotations

from fractions import Fraction

import pytest

from impactcut.core.sound.sync import sync_shift, sync_verdict

FILM = Fraction(24)
NTSC_FILM = Fraction(24000, 1001)


@pytest.mark.parametrize(
    ("milliseconds", "verdict"),
    [
        (45, "in sync"),
        (46, "detectable"),
        (90, "detectable"),
        (91, "unacceptable"),
        (0, "in sync"),
        (-125, "in sync"),
        (-126, "detectable"),
        (-185, "detectable"),
        (-186, "unacceptable"),
    ],
)
def test_limits(milliseconds: int, verdict: str) -> None:
    # BT.1359-1: detectable at +45 / -125 ms, acceptable to +90 / -185 ms, positive early.
    assert sync_verdict(Fraction(milliseconds)) == verdict


@pytest.mark.parametrize(
    ("rate", "frames", "milliseconds", "early", "late"),
    [
        (FILM, 0, 0.0, "in sync", "in sync"),
        (FILM, 1, 41.7, "in sync", "in sync"),
        (FILM, 2, 83.3, "detectable", "in sync"),
        (FILM, 3, 125.0, "unacceptable", "in sync"),
        (NTSC_FILM, 3, 125.1, "unacceptable", "detectable"),
        (Fraction(25), 1, 40.0, "in sync", "in sync"),
        (Fraction(25), 3, 120.0, "unacceptable", "in sync"),
        (Fraction(60), 3, 50.0, "detectable", "in sync"),
    ],
)
def test_frames_out(
    rate: Fraction, frames: int, milliseconds: float, early: str, late: str
) -> None:
    # Lengths by hand, verdicts by the limits of BT.1359-1.
    shift = sync_shift(frames, rate)
    assert float(shift.milliseconds) == pytest.approx(milliseconds, abs=0.05)
    assert (shift.early, shift.late) == (early, late)


def test_a_length_needs_frames_and_a_rate() -> None:
    with pytest.raises(ValueError, match="no length"):
        sync_shift(-1, FILM)
    with pytest.raises(ValueError, match="no length"):
        sync_shift(1, Fraction(0))
