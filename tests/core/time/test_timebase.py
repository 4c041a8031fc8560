"""Timecode against SMPTE ST 12-1 and against OpenTimelineIO."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.time.timebase import USUAL_RATES, Timebase, nearest_rate, parse_timebase
from impactcut.errors import RateError, TimecodeError
from tests.helpers.lists.list_clips import DF30, DF60, TIMEBASES


def labels_of_a_day(timebase: Timebase) -> np.ndarray:
    """Hours, minutes, seconds and frames of every label of a day, counted off one by one.

    SMPTE ST 12-1: drop frame leaves out the first two labels (at 59.94 the first four) of every
    minute but those divisible by ten.
    """
    shape = (24, 60, 60, timebase.counted)
    hours, minutes, seconds, frames = (axis.ravel() for axis in np.indices(shape, dtype=np.int8))
    if not timebase.drop_frame:
        return np.stack([hours, minutes, seconds, frames])
    dropped = {30: 2, 60: 4}[timebase.counted]
    left_out = (minutes % 10 != 0) & (seconds == 0) & (frames < dropped)
    return np.stack([hours, minutes, seconds, frames])[:, ~left_out]


@pytest.mark.parametrize("timebase", TIMEBASES, ids=str)
def test_every_frame_of_a_day_has_its_smpte_label(timebase: Timebase) -> None:
    expected = labels_of_a_day(timebase)
    assert expected.shape[1] == timebase.day
    for start in range(0, timebase.day, 500_000):
        frames = np.arange(start, min(start + 500_000, timebase.day))
        for found, wanted in zip(timebase.fields(frames), expected[:, frames], strict=True):
            assert np.array_equal(found, wanted)


def sampled_frames(timebase: Timebase) -> np.ndarray:
    """The first and last frame of every minute of the day, and eleven whole minutes at each end."""
    _, _, seconds, _ = labels_of_a_day(timebase)
    changes = np.flatnonzero(np.diff(seconds) < 0)
    ends = np.arange(11 * 60 * timebase.counted)
    return np.unique(np.concatenate([changes, changes + 1, ends, timebase.day - 1 - ends]))


@pytest.mark.parametrize("timebase", TIMEBASES, ids=str)
def test_labels_are_those_of_opentimelineio(timebase: Timebase) -> None:
    # Asked for 29.97 non-drop it starts the day again after the drop-frame count, so 30 is asked.
    rate = 30.0 if timebase == Timebase(DF30.rate) else float(timebase.rate)
    wrong = [
        frame
        for frame in sampled_frames(timebase).tolist()
        if timebase.label(frame)
        != otio.opentime.RationalTime(frame, rate).to_timecode(rate, timebase.drop_frame)
        or timebase.frame(timebase.label(frame)) != frame
    ]
    assert not wrong


@pytest.mark.parametrize(
    ("timebase", "ten_minutes", "hour", "day", "last", "next_label"),
    [
        (DF30, 17_982, 107_892, 2_589_408, "00:00:59;29", "00:01:00;02"),
        (DF60, 35_964, 215_784, 5_178_816, "00:00:59;59", "00:01:00;04"),
    ],
    ids=str,
)
def test_drop_frame_counts_of_smpte_st_12_1(
    timebase: Timebase, ten_minutes: int, hour: int, day: int, last: str, next_label: str
) -> None:
    assert timebase.frame("00:10:00;00") == ten_minutes
    assert timebase.frame("01:00:00;00") == hour
    assert timebase.day == day
    assert timebase.label(timebase.frame(last) + 1) == next_label


def test_non_drop_hour_lasts_3_6_seconds_longer() -> None:
    # SMPTE ST 12-1: 108 000 frames at 30/1.001 a second.
    timebase = Timebase(Fraction(30000, 1001))
    assert timebase.frame("01:00:00:00") / timebase.rate - 3600 == Fraction(36, 10)


@pytest.mark.parametrize("timebase", [DF30, DF60], ids=str)
def test_labels_that_drop_frame_leaves_out_are_errors(timebase: Timebase) -> None:
    refused = 0
    for minute in range(24 * 60):
        for frame in range(timebase.counted // 15):
            label = f"{minute // 60:02d}:{minute % 60:02d}:00;{frame:02d}"
            if minute % 10:
                with pytest.raises(TimecodeError, match="drop frame leaves it out"):
                    timebase.frame(label)
                refused += 1
            else:
                assert timebase.label(timebase.frame(label)) == label
    assert refused == 24 * 54 * timebase.counted // 15


@pytest.mark.parametrize(
    "label",
    ["24:00:00:00", "00:60:00:00", "00:00:60:00", "00:00:00:24", "1:00:00:00", "", "00:00:00",
     "00:00:00:00:00", "-1:00:00:00", "٠١:٠٠:٠٠:٠٠", "00:00:00:000"],
)  # fmt: skip
def test_labels_that_do_not_exist_at_24(label: str) -> None:
    with pytest.raises(TimecodeError):
        TIMEBASES[1].frame(label)


@given(st.sampled_from(TIMEBASES), st.integers(-(10**9), 10**9))
def test_labels_start_again_at_midnight(timebase: Timebase, frame: int) -> None:
    assert timebase.label(frame) == timebase.label(frame + timebase.day)
    assert timebase.frame(timebase.label(frame)) == frame % timebase.day


@pytest.mark.parametrize("label", ["01:00:00:00", "01:00:00;00", "01:00:00.00", " 01:00:00,00 "])
def test_the_mark_before_the_frames_is_not_judged(label: str) -> None:
    assert DF30.frame(label) == 107_892


def test_two_digits_are_too_few_above_100() -> None:
    assert Timebase(Fraction(100)).label(99) == "00:00:00:99"
    for rate in (Fraction("100.5"), Fraction(101), Fraction(120)):
        with pytest.raises(RateError, match="--rate"):
            Timebase(rate).label(0)
        with pytest.raises(RateError, match="--rate"):
            Timebase(rate).frame("00:00:00:00")


@pytest.mark.parametrize(
    ("text", "timebase"),
    [
        ("24", TIMEBASES[1]),
        ("23.976", TIMEBASES[0]),
        ("23.98", TIMEBASES[0]),
        ("24000/1001", TIMEBASES[0]),
        ("29.97df", DF30),
        (" 29.97 DF ", DF30),
        ("29.97ndf", TIMEBASES[4]),
        ("59.94df", DF60),
        ("12", Timebase(Fraction(12))),
    ],
)
def test_rates_that_people_write(text: str, timebase: Timebase) -> None:
    assert parse_timebase(text) == timebase


@pytest.mark.parametrize("text", ["", "0", "-24", "24df", "25 df", "1/0", "fast", "nan", "1e3"])
def test_rates_that_are_none(text: str) -> None:
    with pytest.raises(RateError):
        parse_timebase(text)


def test_only_rates_close_to_a_standard_one_are_taken_for_it() -> None:
    assert nearest_rate(Fraction("29.9701")) == DF30.rate
    assert nearest_rate(Fraction("29.5")) == Fraction("29.5")
    # Rates of SMPTE ST 12-1 lie 1 in 1001 apart; what is farther off than half of that is none.
    for off in (Fraction("24.02"), Fraction("23.96"), Fraction("59.9")):
        assert nearest_rate(off) == off
    assert nearest_rate(Fraction(24)) == 24
    assert parse_timebase("119.88").rate == Fraction(120000, 1001)
    assert parse_timebase("95.904").rate == Fraction(96000, 1001)
    assert parse_timebase("120").rate == 120
    assert nearest_rate(Fraction(24000, 1001)) == Fraction(24000, 1001)


def test_rates_are_named_as_people_write_them() -> None:
    assert [str(timebase) for timebase in (TIMEBASES[0], TIMEBASES[2], DF60)] == [
        "23.976",
        "25",
        "59.94 drop-frame",
    ]
    names = [str(Timebase(rate)) for rate in USUAL_RATES]
    assert names == [
        "23.976", "24", "25", "29.97", "30", "47.952", "48", "50", "59.94", "60",
        "95.904", "96", "100", "119.88", "120", "239.76", "240",
    ]  # fmt: skip
    assert [parse_timebase(name).rate for name in names] == list(USUAL_RATES)
