"""Assembly of the programme, checked frame by frame against plain counting."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given

from impactcut.core.programme.assemble import (
    assemble,
    group_by_timebase,
    place_clips,
    splice_events,
)
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.decision import Decision
from impactcut.errors import ListFormatError, RateError, TimecodeError, TrimError
from tests.helpers.lists.list_clips import DF30, cut_lists, make_clip, make_removal, planned_frames

FIRST = make_clip("S12_T2_A.mov", frames=100)
SECOND = make_clip("S12_T2_B.mov", frames=50, start=86_400)


def assembled(*removals: Removal) -> CutList:
    return assemble("QUAY", [FIRST, SECOND], removals, record_start=1000)


@given(cut_lists())
def test_events_show_every_frame_but_the_removed_ones(cut: CutList) -> None:
    shown = [
        (
            event.clip,
            (event.clip.source_start + frame) % cut.timebase.day,
            record % cut.timebase.day,
        )
        for event in cut.events
        for frame, record in zip(
            range(event.source.start, event.source.stop),
            range(event.record.start, event.record.stop),
            strict=True,
        )
    ]
    assert shown == planned_frames(cut.clips, cut.removals, cut.record_start)
    assert len(shown) == len(cut.record)
    assert all(len(event.source) for event in cut.events)


@given(cut_lists())
def test_places_of_frames_in_the_old_and_the_new_programme(cut: CutList) -> None:
    old, new = cut.record_start, cut.record_start
    for clip, place in place_clips(cut).items():
        gone = {
            f for r in cut.removals if r.clip == clip for f in range(clip.frames) if f in r.frames
        }
        first_new = new
        for frame in range(clip.frames + 1):
            assert place.old_record(frame) == old + frame
            assert place.new_record(frame) == new
            assert place.gone.before(frame) == first_new + frame - new
            new += frame < clip.frames and frame not in gone
        old += clip.frames


@given(cut_lists())
def test_each_removal_finds_the_event_at_its_splice(cut: CutList) -> None:
    for removal, index in zip(cut.removals, splice_events(cut), strict=True):
        event = cut.events[index]
        assert event.clip == removal.clip
        if removal.frames.stop < removal.clip.frames:
            assert event.source.start == removal.frames.stop
        else:
            assert event.source.stop == removal.frames.start


def test_trims_split_a_clip_and_close_the_gap() -> None:
    cut = assembled(make_removal(SECOND, 10, 1), make_removal(FIRST, 40, 2))
    assert [(event.clip, event.source, event.record_in) for event in cut.events] == [
        (FIRST, FrameRange(0, 40), 1000),
        (FIRST, FrameRange(42, 100), 1040),
        (SECOND, FrameRange(0, 10), 1098),
        (SECOND, FrameRange(11, 50), 1108),
    ]
    assert [removal.clip for removal in cut.removals] == [FIRST, SECOND]
    assert cut.record == FrameRange(1000, 1147)
    assert cut.clips == (FIRST, SECOND)


def test_trims_at_both_ends_leave_one_event() -> None:
    cut = assembled(make_removal(FIRST, 0, 3), make_removal(FIRST, 98, 2))
    assert [event.source for event in cut.events] == [FrameRange(3, 98), FrameRange(0, 50)]


def test_a_clip_without_trims_stays_whole() -> None:
    assert [event.source for event in assembled().events] == [FrameRange(0, 100), FrameRange(0, 50)]


@pytest.mark.parametrize(("first", "count"), [(-1, 2), (99, 2), (100, 1), (500, 3), (5, 0)])
def test_a_trim_outside_its_clip_is_refused(first: int, count: int) -> None:
    with pytest.raises(TrimError, match=r"S12_T2_A\.mov.*frames 0 to 99"):
        assembled(make_removal(FIRST, first, count))


@pytest.mark.parametrize("second", [40, 41, 42])
def test_trims_with_no_frame_between_them_are_refused(second: int) -> None:
    with pytest.raises(TrimError, match=r"hits 1 and 2 .* at least one frame must stay"):
        assembled(make_removal(FIRST, 40, 2, hit=1), make_removal(FIRST, second, 2, hit=2))


def test_trims_one_frame_apart_are_made() -> None:
    cut = assembled(make_removal(FIRST, 40, 2), make_removal(FIRST, 43, 2))
    assert FrameRange(42, 43) in [event.source for event in cut.events]


def test_a_clip_is_never_removed_whole() -> None:
    short = make_clip("S12_T9_A.mov", frames=3)
    with pytest.raises(TrimError, match="nothing of its 3 frames would be left"):
        assemble("QUAY", [short], [make_removal(short, 0, 3)], record_start=0)


def test_a_clip_without_frames_is_refused() -> None:
    with pytest.raises(TrimError, match="nothing of its 0 frames"):
        assemble("QUAY", [make_clip(frames=0)], [], record_start=0)


def test_a_trim_of_a_clip_outside_the_list_is_refused() -> None:
    stray = make_clip("S13_T1_A.mov")
    with pytest.raises(TrimError, match=r"S13_T1_A\.mov.*not in the list"):
        assembled(make_removal(stray, 5, 1))


def test_a_list_needs_clips_each_once() -> None:
    with pytest.raises(ListFormatError, match="no clip"):
        assemble("QUAY", [], [], record_start=0)
    with pytest.raises(ListFormatError, match="given twice"):
        assemble("QUAY", [FIRST, SECOND, FIRST], [], record_start=0)


@pytest.mark.parametrize("other", [Timebase(Fraction(25)), Timebase(Fraction(24000, 1001))])
def test_clips_of_two_rates_share_no_list(other: Timebase) -> None:
    with pytest.raises(RateError, match="one list for each"):
        assemble("QUAY", [FIRST, make_clip("B.mov", timebase=other)], [], record_start=0)


def test_clips_of_two_count_modes_share_no_list() -> None:
    drop = make_clip("A.mov", timebase=DF30)
    plain = make_clip("B.mov", timebase=Timebase(DF30.rate))
    with pytest.raises(RateError, match="count mode"):
        assemble("QUAY", [drop, plain], [], record_start=0)
    groups = group_by_timebase([drop, plain, FIRST, replace(drop, path="/quay/C.mov")])
    assert {base: [clip.path for clip in group] for base, group in groups.items()} == {
        DF30: ["/quay/A.mov", "/quay/C.mov"],
        Timebase(DF30.rate): ["/quay/B.mov"],
        FIRST.timebase: ["/quay/S12_T2_A.mov"],
    }


@pytest.mark.parametrize("start", [-1, 24 * 86_400])
def test_the_record_start_is_a_time_of_day(start: int) -> None:
    with pytest.raises(TimecodeError, match="24 hours"):
        assemble("QUAY", [FIRST], [], record_start=start)


def test_only_the_approved_frames_are_removed() -> None:
    approved = Decision("approved", FrameRange(40, 42), who="Ines")
    assert make_removal(FIRST, 40, 2, decision=approved).frames == FrameRange(40, 42)
    noted = make_removal(FIRST, 40, 2, decision=Decision("open", note="ask"))
    assert noted.standing == "proposed"
    others = (Decision(answer) for answer in ("declined", "later", "not-a-hit"))
    for decision in (*others, Decision("approved", FrameRange(41, 43))):
        with pytest.raises(TrimError, match="hit 1"):
            make_removal(FIRST, 40, 2, decision=decision)


def test_a_cut_list_has_no_gaps() -> None:
    cut = assembled()
    late = replace(cut.events[1], record_in=cut.events[1].record_in + 1)
    with pytest.raises(ValueError, match="begins at record frame 1101, not 1100"):
        replace(cut, events=(cut.events[0], late))
