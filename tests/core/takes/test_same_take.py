"""Clips that no list can tell apart: frames of one reel that bear one timecode."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.same_take import mistakable, why_not_same
from impactcut.core.time.timebase import Timebase
from tests.helpers.lists.list_clips import TIMEBASES, make_clip

DAY = TIMEBASES[1].day


def named(*clips: Clip) -> list[tuple[str, str]]:
    return [(one.name, other.name) for one, other in mistakable(clips)]


def of_reel(name: str, start: int, frames: int, reel: str = "A004") -> Clip:
    return make_clip(f"{name}.mov", reel=reel, frames=frames, start=start % DAY)


def test_a_long_clip_is_mistakable_for_every_one_that_it_overlaps() -> None:
    long, second, third = of_reel("a", 0, 500), of_reel("b", 100, 50), of_reel("c", 300, 50)
    assert named(third, long, second) == [("a.mov", "b.mov"), ("a.mov", "c.mov")]


def test_clips_that_only_touch_or_are_of_other_reels_are_not_mistakable() -> None:
    assert named(of_reel("a", 0, 100), of_reel("b", 100, 50)) == []
    assert named(of_reel("a", 0, 100), of_reel("b", 50, 50, reel="B001")) == []


def test_a_clip_across_midnight_is_mistakable_for_one_after_it() -> None:
    across = of_reel("a", -100, 200)
    assert named(across, of_reel("b", 50, 20), of_reel("c", 100, 20)) == [("a.mov", "b.mov")]
    assert named(across, of_reel("b", -50, 20)) == [("a.mov", "b.mov")]
    assert named(across) == []


def test_takes_above_a_hundred_frames_a_second_are_told_apart_by_their_first_frame() -> None:
    one, other = (
        make_clip("a.mov", timebase=Timebase(Fraction(120)), start=start) for start in (7, 432_007)
    )
    why = why_not_same(one, other)
    assert "starts at source frame 7 and a.mov at source frame 432007, so they are two takes" in why


@given(st.lists(st.tuples(st.integers(-60, 60), st.integers(1, 50)), max_size=6))
def test_every_clip_that_shares_a_timecode_is_named(places: list[tuple[int, int]]) -> None:
    clips = [of_reel(f"{n}", start, frames) for n, (start, frames) in enumerate(places)]
    shown = {clip: {(clip.source_start + n) % DAY for n in range(clip.frames)} for clip in clips}
    pairs = list(mistakable(clips))
    assert all(shown[one] & shown[other] for one, other in pairs)
    assert len({other for _, other in pairs}) == len(pairs)
    overlapping = {
        each for pair in combinations(clips, 2) if shown[pair[0]] & shown[pair[1]] for each in pair
    }
    assert overlapping == {each for pair in pairs for each in pair}
