"""Ranges of frames without others, and counts of them: against sets of single frames."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.time.frames import FrameRange, Gaps, without

FRAMES = st.integers(-20, 60)


@st.composite
def apart(draw: st.DrawFn) -> list[FrameRange]:
    """Ranges of which none meet, in any order; neighbours may touch."""
    ends = sorted(draw(st.lists(FRAMES, max_size=12)))
    pairs = zip(ends[::2], ends[1::2], strict=False)
    return list(draw(st.permutations([FrameRange(*pair) for pair in pairs])))


def frames_of(*ranges: FrameRange) -> list[int]:
    return [frame for each in ranges for frame in range(each.start, each.stop)]


@given(apart(), FRAMES, st.integers(0, 50))
def test_what_is_left_are_the_frames_in_no_gap(gaps: list[FrameRange], start: int, n: int) -> None:
    left = without(FrameRange(start, start + n), gaps)
    gone = set(frames_of(*gaps))
    assert frames_of(*left) == [frame for frame in range(start, start + n) if frame not in gone]
    assert all(len(each) for each in left)


@given(apart(), FRAMES)
def test_frames_before_are_counted(ranges: list[FrameRange], frame: int) -> None:
    assert Gaps(tuple(sorted(ranges))).before(frame) == sum(
        each < frame for each in frames_of(*ranges)
    )


@given(FRAMES, st.integers(0, 9), FRAMES, st.integers(0, 9))
def test_ranges_meet_where_they_share_a_frame(one: int, n: int, other: int, m: int) -> None:
    first, second = FrameRange(one, one + n), FrameRange(other, other + m)
    assert first.meets(second) == bool({*frames_of(first)} & {*frames_of(second)})


def test_a_gap_without_frames_parts_nothing() -> None:
    assert without(FrameRange(10, 20), [FrameRange(15, 15)]) == (FrameRange(10, 20),)


def test_a_range_between_gaps_that_touch_is_none() -> None:
    whole = FrameRange(10, 20)
    assert without(whole, [FrameRange(12, 14), FrameRange(14, 20)]) == (FrameRange(10, 12),)
    assert without(whole, []) == (whole,)
    assert without(whole, [whole]) == ()
