"""Timelines recut, read by OpenTimelineIO and spelled out frame by frame by the tests' own walk."""

from __future__ import annotations

import json
from fractions import Fraction
from random import Random
from typing import Any

import opentimelineio as otio
import pytest

from impactcut.core.programme.change_list import change_list
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.recut_marks import marks_of_recut
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.sequence import list_names
from impactcut.lists.otio.recut_check import check_timeline
from impactcut.lists.otio.reissue import reissue_timeline
from impactcut.lists.otio.sequence import matched_timeline, read_timeline
from tests.helpers.lists.list_clips import make_clip, make_entry, make_removal
from tests.helpers.lists.odd_timelines import marked, nests, odd_trial
from tests.helpers.lists.timeline_trials import WAYS, leaves, random_trial, run_timeline
from tests.helpers.lists.timelines import (
    FOREIGN,
    KNOWN,
    RATE,
    START,
    A,
    Audio,
    B,
    clip,
    fade,
    frames_of,
    gap,
    recut_made,
    rippled,
    sides,
    span,
    stack,
    text_of,
    timeline,
    told,
    track,
)

TRIM = make_removal(A, 50, 2)


def test_a_ripple_takes_the_frames_from_every_track() -> None:
    made = timeline(
        track(clip("X", 0, 10), clip("A", 40, 30), clip("B", 5, 20)),
        track(gap(15), clip("X", 100, 8), gap(40)),
        track(clip("A", 30, 60), kind=Audio),
        track(gap(19), clip("X", 300, 3), gap(5), kind=Audio),
    )
    new, done = recut_made(made, TRIM)
    assert [(use.record.start, use.record.stop) for use in done.made] == [(START + 20, START + 22)]
    assert frames_of(new.tracks) == rippled(made.tracks, done)
    assert len(frames_of(new.tracks)) == 61
    shot = [(c.name, int(c.source_range.start_time.value), int(c.source_range.duration.value))
            for c in new.tracks[0]]  # fmt: skip
    assert shot == [
        ("X", FOREIGN, 10), ("A", 1040, 10), ("A", 1052, 18), ("B", 172_805, 20)
    ]  # fmt: skip
    assert new.global_start_time == made.global_start_time and new.name == "Q2"


def test_a_nested_stack_is_cut_inside_and_its_window_shortened() -> None:
    nest = stack(
        track(clip("X", 0, 5), clip("A", 40, 30)),
        track(gap(4), clip("B", 0, 31)),
        shown=span(3, 25),
    )
    made = timeline(track(clip("X", 60, 10), nest, clip("X", 80, 10)), track(clip("X", 200, 45)))
    new, done = recut_made(made, TRIM)
    assert len(done.made) == 1 and not done.refused
    assert frames_of(new.tracks) == rippled(made.tracks, done)
    inner = new.tracks[0][1]
    assert inner.source_range == span(3, 23) and len(new.tracks[0]) == 3
    # What the window hides is still there: 35 frames but for the two.
    assert [len(frames_of(each)) for each in inner] == [33, 33]


def test_frames_that_a_window_hides_are_not_shown() -> None:
    nest = stack(track(clip("A", 40, 30)), shown=span(14, 10))
    made = timeline(track(nest), track(clip("X", 0, 30)))
    new, done = recut_made(made, TRIM)
    assert not done.made and not done.refused and done.absent == (TRIM,)
    assert frames_of(new.tracks) == frames_of(made.tracks)
    nest = stack(track(clip("A", 40, 30)), shown=span(11, 10))
    _, done = recut_made(timeline(track(nest), track(clip("X", 0, 30))), TRIM)
    assert told(done) == [(2, "it shows only 1 of the 2 frames, so there is no such splice in it")]


def test_a_transition_keeps_both_its_sides_and_what_it_covers_is_refused() -> None:
    def cut(at: int) -> tuple[otio.schema.Timeline, Recut, otio.schema.Timeline]:
        made = timeline(
            track(clip("X", 0, 20), fade(4, 5), clip("A", 30, 40), fade(6, 7), clip("B", 50, 20))
        )
        new, done = recut_made(made, make_removal(A, at, 2))
        return new, done, made

    for at, reason in [
        (25, "they come into sight under a transition"),
        (28, "they come into sight under a transition"),
        (30, "a transition covers them in event 2"),
        (34, "a transition covers them in event 2"),
        (63, "a transition covers them in event 2"),
        (68, "a transition covers them in event 2"),
        (70, "they go out of sight under a transition"),
    ]:
        new, done, made = cut(at)
        assert told(done) == [(2, reason)], at
        assert frames_of(new.tracks) == frames_of(made.tracks)
    for at in (35, 36, 62):
        new, done, made = cut(at)
        assert done.made and frames_of(new.tracks) == rippled(made.tracks, done), at
        assert sides(new) == sides(made), at
    assert cut(22)[1].absent and cut(77)[1].absent


@pytest.mark.parametrize("between", [gap(30), stack(track(clip("X", 0, 30)))])
def test_a_trim_under_a_fade_of_another_track_is_refused(between: Any) -> None:
    def cut(at: int) -> Recut:
        made = timeline(
            track(clip("A", 0, 80)),
            track(clip("X", 50, 20), fade(3, 4), between.deepcopy(), fade(5, 6), clip("X", 0, 30)),
        )
        return recut_made(made, make_removal(A, at, 2))[1]

    covered = [at for at in range(10, 70) if cut(at).refused]
    # The fades cover 17 to 23 and 45 to 55; a trim of two frames meets them from one before on.
    assert covered == [*range(16, 24), *range(44, 56)]


def test_time_effects_and_schemas_not_known_are_left_alone() -> None:
    slow = otio.schema.LinearTimeWarp("SLOW", time_scalar=0.5)
    for effect, why in [
        (slow, "it does not run at its own speed (LinearTimeWarp)"),
        (otio.schema.FreezeFrame("STILL"), ""),
    ]:
        made = timeline(track(clip("X", 0, 9), clip("A", 20, 70, effect)))
        new, done = recut_made(made, make_removal(A, 30, 2))
        assert not done.made and [reason for _, reason in told(done)] == [why] * bool(why)
        assert json.loads(text_of(new))["tracks"] == json.loads(text_of(made))["tracks"]
    plain = otio.schema.Effect("GRAIN", "grain", {"amount": 3})
    made = timeline(track(clip("A", 20, 70, plain)))
    new, done = recut_made(made, TRIM)
    assert done.made and [c.effects[0].metadata["amount"] for c in new.tracks[0]] == [3, 3]
    nest = stack(track(clip("A", 20, 70)))
    nest.effects.append(slow.deepcopy())
    made = timeline(track(nest), track(clip("A", 20, 70)))
    # The nested stack is looked at after the tracks around it.
    assert told(recut_made(made, TRIM)[1]) == [
        (1, "event 2 does not run at its own speed (LinearTimeWarp)")
    ]


def test_what_was_not_cut_is_carried_word_for_word() -> None:
    other = clip("X", 0, 20, metadata={"house": {"note": "Kuss, fünf", "n": 1.5, "l": [1, None]}})
    other.markers.append(otio.schema.Marker("door", span(FOREIGN + 3, 2)))
    hole = gap(10)
    hole.metadata["why"] = "rain"
    made = timeline(track(other, hole, clip("A", 40, 30), fade(2, 2), clip("B", 9, 9)))
    made.metadata["desk"] = {"v": 7}
    text = json.loads(text_of(made))
    text["metadata"]["odd"] = {"OTIO_SCHEMA": "Quayside.7", "tide": [1, 2, {"low": True}]}
    text["tracks"]["children"][0]["children"][0]["berth"] = {"of": "another program"}
    old = json.dumps(text)
    sequence = read_timeline(old)
    matches = matched_timeline(sequence, list_names((A, B)), {})
    done = recut([match.event for match in matches], [TRIM])
    new = json.loads(reissue_timeline(read_timeline(old), done, "QUAY"))
    text = json.loads(otio.adapters.read_from_string(old, "otio_json").to_json_string())
    children = new["tracks"]["children"][0].pop("children")
    wanted = text["tracks"]["children"][0].pop("children")
    assert new == text and new["metadata"]["odd"]["tide"] == [1, 2, {"low": True}]
    assert children[:2] == wanted[:2] and children[4:] == wanted[3:]
    assert children[0]["berth"] == {"of": "another program"}


def test_markers_stand_once_and_move_with_what_they_mark() -> None:
    shot = clip("A", 40, 30)
    for name, at in [("a", 45), ("b", 50), ("c", 51), ("d", 52), ("e", 60), ("f", 39), ("g", 99)]:
        shot.markers.append(otio.schema.Marker(name, span(1000 + at, 1)))
    made = timeline(track(clip("X", 0, 10), shot))
    for name, at in [("before", 12), ("gone", 21), ("after", 30), ("beyond", 44)]:
        made.tracks.markers.append(otio.schema.Marker(name, span(at, 1)))
        made.tracks[0].markers.append(otio.schema.Marker(name, span(at, 1)))
    new, _ = recut_made(made, TRIM)
    _, first, second = new.tracks[0]
    assert [(m.name, int(m.marked_range.start_time.value) - 1000) for m in first.markers] == [
        ("a", 45), ("f", 39)
    ]  # fmt: skip
    assert [(m.name, int(m.marked_range.start_time.value) - 1000) for m in second.markers] == [
        ("b", 52), ("c", 52), ("d", 52), ("e", 60), ("g", 99), ("splice of hit 1", 52)
    ]  # fmt: skip
    for holder in (new.tracks, new.tracks[0]):
        assert [(m.name, int(m.marked_range.start_time.value)) for m in holder.markers] == [
            ("before", 12), ("gone", 20), ("after", 28), ("beyond", 42)
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("hold", "shots"),
    [
        ("tail", [("X", 0, 10), ("A", 40, 10), ("A", 52, 20), ("B", 9, 9)]),
        ("head", [("X", 0, 10), ("A", 38, 12), ("A", 52, 18), ("B", 9, 9)]),
        ("next", [("X", 0, 10), ("A", 40, 10), ("A", 52, 18), ("B", 7, 11)]),
    ],
)
@pytest.mark.parametrize("nested", [False, True])
def test_length_is_held(hold: str, shots: list[tuple[str, int, int]], nested: bool) -> None:
    def tracks() -> list[Any]:
        picture = track(clip("X", 0, 10), clip("A", 40, 30), clip("B", 9, 9))
        sound = track(gap(10), clip("A", 40, 30), clip("B", 9, 9), kind=Audio)
        return [picture, sound]

    made = timeline(track(clip("X", 5, 5), stack(*tracks()))) if nested else timeline(*tracks())
    new, done = recut_made(made, TRIM, hold=hold)
    assert len(done.made) == 1 and not done.refused
    starts = {"X": FOREIGN, "A": 1000, "B": 172_800}
    picture, sound = new.tracks[0][1] if nested else new.tracks
    wanted = [(n, starts[n] + first, length) for n, first, length in shots]
    for found, expected in ((picture, wanted), (list(sound)[1:], wanted[1:])):
        assert [
            (c.name, int(c.source_range.start_time.value), int(c.source_range.duration.value))
            for c in found
        ] == expected
    assert new.duration() == made.duration()


@pytest.mark.parametrize("media", [None, span(0, 240), span(0, 90)])
def test_a_source_that_counts_from_0_is_known_by_its_files_name(media: Any) -> None:
    """Clip A's timecode begins at 1000; frames 50 and 51 go out of 40 to 69."""
    made = timeline(track(clip("X", 0, 10), clip("A", 40 - A.source_start, 30)))
    made.tracks[0][1].media_reference.available_range = media
    new, done = recut_made(made, TRIM)
    assert len(done.made) == 1 and not done.refused
    assert frames_of(new.tracks[0])[10:] == [("A", n) for n in range(40, 70) if n not in (50, 51)]


def test_what_says_where_its_media_begins_is_counted_so() -> None:
    """Of clip C, whose timecode begins at 20, a source of 40 to 69 is frames 20 to 49, or 40 on."""
    early = make_clip("S12_T2_A.mov", reel="A1", frames=240, start=20)
    for media, frame in ((span(20, 240), 20), (None, 20), (span(0, 240), 40)):
        made = timeline(track(clip("A", 40 - A.source_start, 30)))
        made.tracks[0][0].media_reference.available_range = media
        (match,) = matched_timeline(read_timeline(text_of(made)), list_names((early,)), {})
        assert match.event.shown.start == frame


def test_a_reel_alone_does_not_say_that_a_source_counts_from_0() -> None:
    made = timeline(track(clip("X", 40 - FOREIGN, 30)))
    made.tracks[0][0].metadata["cmx_3600"] = {"reel": "A1"}
    sequence = read_timeline(text_of(made))
    (match,) = matched_timeline(sequence, list_names((A, B)), {})
    assert match.event.clip is None and "say which clip it is with --reels" in match.doubt
    (match,) = matched_timeline(sequence, list_names((A, B)), {"a1": A})
    assert match.event.clip == A and match.event.from_zero


def test_length_cannot_be_held_beside_a_transition_or_without_handles() -> None:
    faded = timeline(track(clip("A", 40, 30), fade(3, 3), clip("B", 9, 30)))
    bare = timeline(track(clip("X", 0, 5), clip("A", 1, 239)))
    short = timeline(track(clip("X", 0, 5), clip("A", 40, 30)))
    short.tracks[0][1].media_reference.available_range = span(1039, 32)
    cut_off = timeline(track(stack(track(clip("A", 40, 30)), shown=span(2, 20))))
    for made, hold, reason in [
        (faded, "tail", "event 1, which would be lengthened, ends in a transition"),
        (faded, "next", "event 2, which would be lengthened, begins with a transition"),
        (bare, "tail", "event 2 has 0 spare frames after its out, and 2 are needed"),
        (bare, "head", "event 2 has 1 spare frames before its in, and 2 are needed"),
        (bare, "next", "no event follows event 2 at its out on all its tracks; hold the length "
                       "another way"),
        (short, "tail", "event 2 has 1 spare frames after its out, and 2 are needed"),
        (short, "head", "event 2 has 1 spare frames before its in, and 2 are needed"),
        (cut_off, "tail", "it reaches beyond the edge of what is shown of its nested stack"),
    ]:  # fmt: skip
        new, done = recut_made(made, TRIM, hold=hold)
        assert [why for _, why in told(done)] == [reason]
        assert frames_of(new.tracks) == frames_of(made.tracks)


def test_whole_sound_takes_room_from_gaps() -> None:
    made = timeline(
        track(clip("A", 40, 30), clip("X", 0, 20)),
        track(clip("A", 40, 30), gap(10), clip("X", 0, 10), kind=Audio),
        track(clip("X", 40, 30), gap(1), clip("X", 0, 10), kind=Audio),
    )
    new, done = recut_made(made, TRIM, whole=True)
    assert len(done.made) == 1
    assert [[len(frames_of(item)) for item in each] for each in new.tracks] == [
        [10, 18, 20], [30, 8, 10], [29, 10]
    ]  # fmt: skip
    made = timeline(
        track(clip("A", 40, 30)),
        track(clip("X", 0, 5), clip("A", 40, 30), clip("X", 0, 9), kind=Audio, shown=span(5, 30)),
    )
    new, done = recut_made(made, TRIM, whole=True)
    assert len(done.made) == 1 and frames_of(new.tracks[1]) == frames_of(made.tracks[1])


def test_what_is_switched_off_is_not_looked_at_and_names_are_tried_in_turn() -> None:
    off = clip("A", 40, 30)
    off.enabled = False
    made = timeline(track(off), track(clip("X", 0, 30)))
    assert read_timeline(text_of(made)).off == (1,)
    assert recut_made(made, TRIM)[1].absent
    reeled = clip("X", 0, 30, metadata={"cmx_3600": {"reel": "a1"}})
    reeled.source_range = span(1040, 30)
    named = otio.schema.Clip("s12_t2_a.mov", source_range=span(1040, 30))
    for each in (reeled, named):
        assert recut_made(timeline(track(each)), TRIM)[1].made


def test_errors_say_what_to_do() -> None:
    mixed = timeline(track(clip("A", 40, 30), gap(5)))
    mixed.tracks[0].append(otio.schema.Clip("Y", source_range=span(0, 25, 25.0)))
    half = timeline(track(otio.schema.Clip("Y", source_range=span(0, 25))))
    half.tracks[0][0].source_range = otio.opentime.TimeRange(
        otio.opentime.RationalTime(0.5, RATE), otio.opentime.RationalTime(5, RATE)
    )
    for text, told_so in [
        ("TITLE: QUAY", "cannot be read as OpenTimelineIO JSON"),
        ("[]", "not one timeline; write the timeline to a file alone"),
        (text_of(clip("A", 0, 5)), "holds Clip, not one timeline"),
        ('{"OTIO_SCHEMA": "Timeline.99"}', "is of a newer schema than the OpenTimelineIO"),
        (text_of(timeline(track(gap(5)))), "shows no clip, so there is nothing to recut"),
        (text_of(mixed), "clip 'Y' counts 25 frames a second and clips before it count 24"),
        (text_of(half), "clip 'Y' has a time between two frames"),
        (text_of(timeline(track(otio.schema.Clip("Z")))), "give it one"),
    ]:
        with pytest.raises(ListFormatError) as error:
            read_timeline(text)
        assert told_so in str(error.value)


def test_a_fault_of_any_kind_is_seen_before_it_is_handed_over() -> None:
    shot = clip("A", 40, 30, metadata={"desk": 1})
    shot.markers.append(otio.schema.Marker("hit", span(1060, 1)))
    made = timeline(track(clip("X", 0, 20), shot, fade(2, 2), clip("B", 9, 30)), track(gap(9)))
    old = read_timeline(text_of(made))
    matches = matched_timeline(old, list_names((A, B)), {})
    done = recut([match.event for match in matches], [TRIM])
    changes = change_list(("Q", "Q2"), Timebase(Fraction(24)), done.events, done.pieces)
    marks = marks_of_recut(done, [make_entry(A, 2, 60, 1.0)])
    good = reissue_timeline(read_timeline(text_of(made)), done, "Q2", marks)
    check_timeline(good, old, done, changes, "Q2", marks)

    def shift(new: Any) -> None:
        new.tracks[0][1].source_range = span(1041, 10)

    def shorten(new: Any) -> None:
        new.tracks[0][2].source_range = span(1052, 17)

    def fade_less(new: Any) -> None:
        new.tracks[0][3].in_offset = otio.opentime.RationalTime(1, RATE)

    def unfade(new: Any) -> None:
        del new.tracks[0][3]

    def forget(new: Any) -> None:
        del new.tracks[0][1].metadata["desk"]
        del new.tracks[0][2].metadata["desk"]

    def unmark(new: Any) -> None:
        del new.tracks[0][2].markers[0]

    def move_mark(new: Any) -> None:
        new.tracks[0][2].markers[-1].marked_range = span(1061, 1)

    def double_mark(new: Any) -> None:
        new.tracks[0][2].markers.append(new.tracks[0][2].markers[-1].deepcopy())

    def move_others_mark(new: Any) -> None:
        new.tracks[0][2].markers[0].marked_range = span(1061, 1)

    def lengthen_others_mark(new: Any) -> None:
        new.tracks[0][2].markers[0].marked_range = span(1060, 2)

    def unmark_splice(new: Any) -> None:
        del new.tracks[0][2].markers[1]

    def rename(new: Any) -> None:
        new.name = "Q3"

    def start_later(new: Any) -> None:
        new.global_start_time = otio.opentime.RationalTime(START + 1, RATE)

    def swap(new: Any) -> None:
        new.tracks[0][4].media_reference.target_url = "file:///quay/C.mov"

    def drop_track(new: Any) -> None:
        del new.tracks[1]

    for fault in (
        shift, shorten, fade_less, unfade, unmark, move_mark, move_others_mark,
        lengthen_others_mark, double_mark, unmark_splice, forget, rename, start_later, swap,
        drop_track,
    ):  # fmt: skip
        new = otio.adapters.read_from_string(good, "otio_json")
        fault(new)
        with pytest.raises(ListMismatchError):
            check_timeline(text_of(new), old, done, changes, "Q2", marks)


def test_a_nested_track_of_which_nothing_is_left_keeps_its_name() -> None:
    made = timeline(
        track(stack(track(gap(4), clip("X", 0, 9)), shown=span(1, 2)), gap(20)),
        track(clip("A", 50, 20), stack(track(clip("A", 60, 9)))),
    )
    new, done = recut_made(made, TRIM)
    assert [(use.record.start, use.record.stop) for use in done.made] == [(START, START + 2)]
    assert frames_of(new.tracks) == rippled(made.tracks, done)
    made = timeline(
        track(clip("A", 50, 20)),
        track(clip("X", 0, 9), fade(2, 2), clip("X", 20, 9), gap(9), shown=span(18, 2)),
    )
    new, done = recut_made(made, TRIM)
    assert len(done.made) == 1 and sides(new) == sides(made)


def test_a_gap_beyond_an_edge_is_under_no_transition() -> None:
    made = timeline(
        track(clip("A", 40, 30)),
        track(clip("X", 0, 5), gap(25), fade(9, 1), clip("X", 0, 9), shown=span(0, 15)),
    )
    new, done = recut_made(made, TRIM)
    assert len(done.made) == 1 and frames_of(new.tracks) == rippled(made.tracks, done)


def test_a_gap_under_a_fade_is_no_sound_to_leave_whole() -> None:
    made = timeline(
        track(clip("A", 40, 30)),
        track(clip("X", 0, 8), fade(2, 4), gap(4), clip("X", 60, 20), kind=Audio),
    )
    _, done = recut_made(made, TRIM, whole=True)
    assert told(done) == [(1, "event 3 lies under a transition; hold the length (--hold)")]


def test_whole_sound_ends_in_a_fade_at_the_edge_of_what_is_seen() -> None:
    made = timeline(
        track(clip("A", 40, 30)),
        track(clip("A", 40, 30), fade(2, 1), clip("X", 0, 7), kind=Audio, shown=span(0, 30)),
    )
    new, done = recut_made(made, TRIM, whole=True)
    assert len(done.made) == 1 and sides(new) == sides(made)
    assert [len(frames_of(each)) for each in new.tracks] == [28, 30]


@pytest.mark.parametrize("hold", ["tail", "head"])
def test_frames_that_two_trims_want_go_once(hold: str) -> None:
    made = timeline(track(clip("A", 40, 30)))
    new, done = recut_made(made, TRIM, make_removal(A, 51, 2), hold=hold)
    assert told(done) == [(1, "other frames have been taken out of event 1 there")]
    assert len(done.made) == 1 and len(frames_of(new.tracks)) == 30


@pytest.mark.parametrize(
    ("hold", "at", "numbers"), [("next", 58, (2, 1)), ("tail", 50, (1, 2)), ("head", 64, (2, 1))]
)
def test_a_shot_that_runs_on_is_not_shown_twice(
    hold: str, at: int, numbers: tuple[int, int]
) -> None:
    # An edit through a shot: its two events show one frame after the other.
    made = timeline(track(clip("A", 40, 20), clip("A", 60, 20)))
    new, done = recut_made(made, make_removal(A, at, 2), hold=hold)
    assert [reason for _, reason in told(done)] == [
        f"event {numbers[0]}, which would be lengthened, would show frames of event {numbers[1]} "
        "again; hold the length another way"
    ]
    assert frames_of(new.tracks) == frames_of(made.tracks)


def test_a_transition_that_nobody_sees_is_carried() -> None:
    hidden = track(clip("X", 0, 9), fade(2, 2), clip("X", 20, 9), shown=span(9, 2))
    made = timeline(
        track(clip("A", 40, 40)), track(clip("X", 60, 25), stack(hidden), shown=span(0, 20))
    )
    new, done = recut_made(made, make_removal(A, 62, 2))
    assert len(done.made) == 1 and sides(new) == sides(made)


@pytest.mark.parametrize("way", WAYS)
def test_random_timelines_come_out_as_planned(way: str) -> None:
    done = [run_timeline(random_trial(Random(f"{way} {seed}"), way)) for seed in range(100)]
    assert sum(len(each.made) for _, each in done) > 30


@pytest.mark.parametrize("way", WAYS)
def test_odd_timelines_come_out_as_planned(way: str) -> None:
    uses = 0
    for seed in range(30):
        trial = odd_trial(Random(f"odd {way} {seed}"), way)
        try:
            new, done = run_timeline(trial)
        except ListFormatError as error:
            assert "shows no clip" in str(error)
            continue
        uses += len(done.made)
        old_marks, new_marks = marked(trial.made), marked(new)
        assert old_marks.keys() == new_marks.keys()
        if trial.hold is None and not trial.whole_sound:
            names = {known: name for name, known in KNOWN.items()}
            lost = {
                (names[use.removal.clip], frame + use.removal.clip.source_start)
                for use in done.made
                for frame in range(use.removal.frames.start, use.removal.frames.stop)
            }
            for place, shown in old_marks.items():
                gone = lost & set(leaves(shown)) or shown not in frames_of(nests(new)[place[0]])
                assert new_marks[place] == shown or gone, place
    assert uses > 2


def test_odd_timelines_hold_every_form() -> None:
    made = [odd_trial(Random(f"odd ripple {seed}"), "ripple").made for seed in range(60)]
    text = "".join(map(text_of, made))
    for form in (
        "LinearTimeWarp", "FreezeFrame", '"Effect.1', "MissingReference", "Generator", "COPY.mov",
        '"OTHER"', '"enabled": false', '"kind": "Subtitle"',
    ):  # fmt: skip
        assert form in text, form


HITS = [make_entry(A, 1, 51, 2.0, "KICK"), make_entry(A, 2, 60, 1.0), make_entry(B, 3, 12, 1.0)]


def own_marks(item: Any) -> list[tuple[str, int]]:
    return [
        (marker.name, int(marker.marked_range.start_time.value))
        for marker in item.markers
        if "impactcut" in marker.metadata
    ]


def test_contacts_and_splices_are_marked_where_they_are_seen() -> None:
    made = timeline(
        track(clip("A", 40, 30), stack(track(clip("B", 5, 20)), shown=span(2, 5))),
        track(clip("A", 40, 12), gap(8)),
        track(clip("A", 40, 30), kind=Audio),
    )
    made.tracks[0][0].markers.append(otio.schema.Marker("door", span(1045, 1)))
    new, done = recut_made(made, TRIM, hits=HITS)
    assert len(done.made) == 2
    first, second, nest = new.tracks[0]
    assert own_marks(first) == [] and [m.name for m in first.markers] == ["door"]
    assert own_marks(second) == [
        ("hit KICK", 1052), ("splice of hit 1", 1052), ("hit 2", 1060)
    ]  # fmt: skip
    assert own_marks(nest[0][0]) == []  # frame 12 is hidden by the window
    # On the second track the trim is the end of the shot: marked on the last frame left.
    assert own_marks(new.tracks[1][0]) == [("hit KICK", 1049), ("splice of hit 1", 1049)]
    assert not any(map(own_marks, new.tracks[2]))
    contact, splice, _ = (m.metadata["impactcut"] for m in second.markers)
    assert contact["contact_taken_out"] is True
    assert (splice["frames_out"], splice["speed_gain"], splice["verdict"]) == (
        2, 1.18, "shows to nobody"
    )  # fmt: skip


def test_what_this_program_wrote_before_is_written_anew() -> None:
    made = timeline(track(clip("A", 40, 30), clip("X", 0, 20), clip("B", 5, 20)))
    made.metadata["impactcut"] = {"trims": [{"hit": "9"}]}
    for each in made.find_clips():
        each.metadata["impactcut"] = {"id": f"id of {each.name}"}
    once, _ = recut_made(made, TRIM, hits=HITS)
    assert dict(once.metadata["impactcut"]) == {
        "schema": 1, "rate": "24/1", "count_mode": "non-drop", "judging": ""
    }  # fmt: skip
    ids = [each.metadata["impactcut"]["id"] for each in once.find_clips()]
    assert len(set(ids)) == 4 and ids[2:] == ["id of X", "id of B"]
    assert "id of A" not in ids
    marks = [mark for each in once.find_clips() for mark in own_marks(each)]
    twice, done = recut_made(once, make_removal(A, 60, 1, hit=2), hits=HITS)
    assert len(done.made) == 1
    # Of KICK, which went before, the markers stand as they did.
    assert [mark for each in twice.find_clips() for mark in own_marks(each)] == [
        *marks[:2], ("hit 2", 1061), ("splice of hit 2", 1061), ("hit 3", 172_812)
    ]  # fmt: skip
    again, _ = recut_made(once, make_removal(B, 14, 1), hits=HITS[1:2])
    assert [mark for each in again.find_clips() for mark in own_marks(each)] == [
        *marks[:3], ("splice of hit 1", 172_815)
    ]  # fmt: skip
    assert marks == [
        ("hit KICK", 1052), ("splice of hit 1", 1052), ("hit 2", 1060), ("hit 3", 172_812)
    ]  # fmt: skip


def sampled(item: Any, rate: float = RATE) -> Any:
    """The item, with its range counted in samples at 48 kHz, rounded place by place."""
    was = item.source_range
    first, last = (
        round(time.value * 48_000 / rate) for time in (was.start_time, was.end_time_exclusive())
    )
    item.source_range = span(first, last - first, 48_000)
    return item


@pytest.mark.parametrize("hold", [None, "tail", "head"])
def test_sound_that_counts_samples_is_cut_beside_its_picture(hold: str | None) -> None:
    def made(of: Any) -> otio.schema.Timeline:
        sound = of(clip("A", 40, 30))
        sound.markers.append(otio.schema.Marker("step", span(1060 * 2000, 2000, 48_000)))
        return timeline(
            track(of(gap(3)), sound, of(clip("X", 0, 7)), kind=Audio),
            track(clip("X", 0, 3), clip("A", 40, 30), clip("X", 0, 7)),
        )

    plain, _ = recut_made(made(lambda item: item), TRIM, hold=hold)
    new, done = recut_made(made(sampled), TRIM, hold=hold)
    assert len(done.made) == 1
    for one, other in zip(plain.tracks[0], new.tracks[0], strict=True):
        assert other.source_range.start_time.rate == 48_000
        assert other.source_range == one.source_range  # OpenTimelineIO compares across rates
        assert [m.marked_range for m in other.markers] == [m.marked_range for m in one.markers]


def test_samples_are_rounded_place_by_place() -> None:
    # At 29.97 a frame is 1601.6 samples: seven frames from frame 3 are 11,211 and not 7 * 1602.
    rate, clock = 30_000 / 1001, Timebase(Fraction(30_000, 1001))
    known = make_clip("S12_T2_A.mov", timebase=clock, frames=240, start=0)
    sound = clip("A", 0, 30)
    sound.source_range = span(3, 30, rate)
    made = timeline(
        otio.schema.Track(children=[sampled(sound, rate)], kind=Audio),
        track(otio.schema.Clip("S12_T2_A.mov", source_range=span(3, 30, rate))),
    )
    made.global_start_time = None
    old = read_timeline(text_of(made))
    matches = matched_timeline(old, list_names([known]), {})
    done = recut([match.event for match in matches], [make_removal(known, 10, 3)])
    new = read_timeline(reissue_timeline(read_timeline(text_of(made)), done, "Q"))
    assert [
        (c.source_range.start_time.value, c.source_range.duration.value)
        for c in new.timeline.tracks[0]
    ] == [(4805, 11_211), (20_821, 32_032)]
    assert [e.source for e in new.events] == [FrameRange(3, 10), FrameRange(13, 33)] * 2


def test_media_that_counts_samples_bounds_what_may_be_lengthened() -> None:
    for spare, ways in [(0, []), (1, ["head"]), (2, ["tail", "head"])]:
        made = timeline(track(clip("X", 0, 5), clip("A", 40, 30)))
        first, stop = (1040 - spare - 1) * 2000, (1070 + spare) * 2000
        made.tracks[0][1].media_reference.available_range = span(first, stop - first, 48_000)
        for hold in ("tail", "head"):
            assert bool(recut_made(made, TRIM, hold=hold)[1].made) == (hold in ways), spare
    made.tracks[0][1].media_reference.available_range = span(first + 1, stop - first - 2, 48_000)
    assert recut_made(made, TRIM, hold="tail")[1].made  # a sample short, as rounding makes it
    made.tracks[0][1].media_reference.available_range = span(first, stop - first - 900, 48_000)
    assert not recut_made(made, TRIM, hold="tail")[1].made
    only = timeline(track(sampled(clip("A", 40, 30))))
    with pytest.raises(ListFormatError, match="no clip of the timeline counts frames"):
        read_timeline(text_of(only))
