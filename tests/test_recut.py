"""What a recut leaves alone, finds, keeps and writes: small lists, each with its answer beside it.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from edl_samples import SPLIT, TRANSITIONS
from impactcut.core.clip import Clip
from impactcut.core.cutlist import Removal
from impactcut.core.frames import FrameRange
from impactcut.core.midnight import unwrapped
from impactcut.core.recut import Recut, recut
from impactcut.core.reel_match import Match, match_events
from impactcut.core.sound_drift import sound_drifts
from impactcut.core.timebase import Timebase
from impactcut.errors import ListFormatError
from impactcut.lists.edl_document import EdlDocument
from impactcut.lists.edl_read import parse_edl
from impactcut.lists.edl_reissue import is_in_order, reissue, timecoded_notes
from impactcut.lists.edl_sequence import list_names, read_reel_map, sequence_of
from list_clips import DF30, make_clip, make_removal

FILM = Timebase(Fraction(24))
A = make_clip("S12_T2_A.mov", reel="A1", frames=240)
B = make_clip("S12_T3_B.mov", reel="B1", frames=240, start=172_800)
HEAD = "TITLE: QUAY\nFCM: NON-DROP FRAME\n"


def matched(
    text: str, *clips: Clip, rate: Fraction = FILM.rate, given: dict[str, Clip] | None = None
) -> tuple[EdlDocument, tuple[Match, ...]]:
    document = parse_edl(text, rate)
    return document, match_events(sequence_of(document), list_names(clips or (A, B)), given)


def recut_text(
    text: str, *removals: Removal, hold: str | None = None, whole_sound: bool = False
) -> tuple[list[str], Recut]:
    """Event and motion lines of the new list, and what was done."""
    clips = {removal.clip for removal in removals}
    clips |= {clip for clip in (A, B) if clip.reel not in {other.reel for other in clips}}
    rate = next(iter(removals)).clip.rate if removals else FILM.rate
    document, matches = matched(text, *clips, rate=rate)
    done = recut([match.event for match in matches], removals, hold, whole_sound)
    (new,) = reissue(document, done.pieces, "QUAY 2")
    return new.splitlines(), done


def events_of(lines: list[str]) -> list[str]:
    return [line for line in lines if line[:3].isdigit()]


def reasons(done: Recut) -> list[tuple[int, str]]:
    return [(each.number, each.reason) for each in done.refused]


SHOTS = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "* FROM CLIP NAME: S12_T2_A.mov\n"
    "002  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    "003  A1       V     C        00:00:00:12 00:00:02:12 01:00:02:00 01:00:04:00\n"
)


def test_a_clip_used_twice_is_cut_at_each_use_that_holds_the_frames() -> None:
    lines, done = recut_text(SHOTS, make_removal(A, 30, 2), make_removal(A, 50, 1, hit=2))
    assert [(use.removal.hit_id, use.events[0].number) for use in done.made] == [
        (1, 1), (1, 3), (2, 3)
    ]  # fmt: skip
    assert events_of(lines) == [
        "001  A1       V     C        00:00:01:00 00:00:01:06 01:00:00:00 01:00:00:06",
        "002  A1       V     C        00:00:01:08 00:00:02:00 01:00:00:06 01:00:00:22",
        "003  B1       V     C        02:00:01:00 02:00:02:00 01:00:00:22 01:00:01:22",
        "004  A1       V     C        00:00:00:12 00:00:01:06 01:00:01:22 01:00:02:16",
        "005  A1       V     C        00:00:01:08 00:00:02:02 01:00:02:16 01:00:03:10",
        "006  A1       V     C        00:00:02:03 00:00:02:12 01:00:03:10 01:00:03:19",
    ]


def test_a_trim_at_an_end_moves_the_in_or_the_out() -> None:
    lines, _ = recut_text(SHOTS, make_removal(A, 24, 2), make_removal(B, 45, 3))
    assert [line[29:] for line in events_of(lines)[:2]] == [
        "00:00:01:02 00:00:02:00 01:00:00:00 01:00:00:22",
        "02:00:01:00 02:00:01:21 01:00:00:22 01:00:01:19",
    ]


def test_an_event_that_shows_only_some_of_the_frames_is_left() -> None:
    lines, done = recut_text(SHOTS, make_removal(B, 47, 3), make_removal(A, 22, 3, hit=2))
    assert reasons(done) == [
        (2, "it shows only 1 of the 3 frames, so there is no such splice in it"),
        (1, "it shows only 1 of the 3 frames, so there is no such splice in it"),
    ]
    assert [use.events[0].number for use in done.made] == [3]
    assert events_of(lines)[0] == events_of(SHOTS.splitlines())[0]


def test_what_the_list_does_not_show_is_named() -> None:
    _, done = recut_text(SHOTS, make_removal(B, 200, 2))
    assert [removal.hit_id for removal in done.absent] == [1]
    assert not done.made and not done.refused


THROUGH = HEAD + (
    "001  A1       V     C        00:00:00:00 00:00:00:20 01:00:00:00 01:00:00:20\n"
    "002  A1       V     C        00:00:00:20 00:00:02:00 01:00:00:20 01:00:02:00\n"
)


def test_a_trim_across_an_edit_that_does_not_jump_is_made_by_a_ripple_only() -> None:
    lines, done = recut_text(THROUGH, make_removal(A, 19, 3))
    assert [line[29:] for line in events_of(lines)] == [
        "00:00:00:00 00:00:00:19 01:00:00:00 01:00:00:19",
        "00:00:00:22 00:00:02:00 01:00:00:19 01:00:01:21",
    ]
    assert len(done.made) == 1
    lines, done = recut_text(THROUGH, make_removal(A, 19, 3), hold="tail")
    assert "across the edit between events 1 and 2" in reasons(done)[0][1]
    assert events_of(lines) == events_of(THROUGH.splitlines())


# Transitions, keys, splits, motion, overlaps.


def test_a_trim_under_a_transition_is_left_and_one_beyond_it_is_made() -> None:
    a = make_clip("A1.mov", reel="A1", frames=24 * 3660)
    b = make_clip("B1.mov", reel="B1", frames=24 * 3600 * 3)
    wiped = 2 * 86_400
    trims = [make_removal(b, wiped + at, 2, hit=at) for at in (10, 23, 24, 30)]
    outgoing = 86_400 + 24
    trims.append(make_removal(a, outgoing + 5, 2, hit=99))
    lines, done = recut_text(TRANSITIONS, *trims)
    assert [use.removal.hit_id for use in done.made] == [24, 30]
    told = {each.removal.hit_id: (each.number, each.reason) for each in done.refused}
    assert told[99] == (2, "they go out of sight under a transition")
    assert told[10] == told[23] == (2, "a transition covers them in event 2")
    assert [line for line in events_of(lines) if line[:3] in ("002", "003", "004")] == [
        "002  A1       V     C        01:00:01:00 01:00:01:00 01:00:01:00 01:00:01:00",
        "002  B1       V     W001 024 02:00:00:00 02:00:01:00 01:00:01:00 01:00:02:00",
        "003  B1       V     C        02:00:01:02 02:00:01:06 01:00:02:00 01:00:02:04",
        "004  B1       V     C        02:00:01:08 02:00:02:00 01:00:02:04 01:00:02:20",
    ]


def test_the_shot_before_a_transition_can_lose_its_tail_but_not_gain_one() -> None:
    a = make_clip("A1.mov", reel="A1", frames=24 * 60 * 61)
    trim = make_removal(a, 86_400 + 22, 2)
    lines, done = recut_text(TRANSITIONS, trim)
    assert len(done.made) == 1
    assert events_of(lines)[0][29:] == "01:00:00:00 01:00:00:22 01:00:00:00 01:00:00:22"
    assert events_of(lines)[1][29:] == "01:00:01:00 01:00:01:00 01:00:00:22 01:00:00:22"
    assert events_of(lines)[2][29:] == "02:00:00:00 02:00:02:00 01:00:00:22 01:00:02:22"
    _, done = recut_text(TRANSITIONS, trim, hold="tail")
    assert reasons(done) == [(1, "event 1, which would be lengthened, ends in a transition")]


def test_a_key_is_left_alone() -> None:
    b = make_clip("B1.mov", reel="B1", frames=24 * 60 * 61 * 3)
    _, done = recut_text(TRANSITIONS, make_removal(b, 2 * 86_400 + 5 * 24 + 3, 2))
    assert {reason for _, reason in reasons(done)} == {"it is part of a key"}
    assert not done.made


def test_a_split_is_left_alone() -> None:
    a = make_clip("A1.mov", reel="A1", frames=24 * 60 * 61)
    lines, done = recut_text(SPLIT, make_removal(a, 86_400 + 3, 2), make_removal(a, 86_430, 1))
    assert {reason for _, reason in reasons(done)} == {"it is part of a SPLIT"}
    assert lines[2:] == SPLIT.splitlines()[2:]


MOVING = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:03:00 01:00:00:00 01:00:01:00\n"
    "M2   A1             048.0                00:00:01:00\n"
    "002  A1       V     C        00:00:01:00 00:00:02:00 01:00:01:00 01:00:02:00\n"
    "003  B1       V     C        02:00:00:00 02:00:01:12 01:00:02:00 01:00:03:00\n"
)


def test_events_that_do_not_run_at_their_own_speed_move_but_are_not_cut() -> None:
    lines, done = recut_text(MOVING, make_removal(A, 30, 2), make_removal(B, 5, 1, hit=2))
    assert reasons(done) == [
        (1, "it does not run at its own speed (M2)"),
        (3, "it takes 36 source frames for 24 of the programme"),
    ]
    assert lines[3] == MOVING.splitlines()[3]
    assert events_of(lines)[-1][29:] == "02:00:00:00 02:00:01:12 01:00:01:22 01:00:02:22"


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        ("002  WILD     A     C        00:00:00:00 00:00:00:00 01:00:00:00 01:00:01:00",
         "event 2 has no source timecode"),
        ("002  B1       V2    C        02:00:00:00 02:00:02:00 01:00:00:00 01:00:01:00\n"
         "M2   B1             048.0                02:00:00:00",
         "event 2 does not run at its own speed (M2)"),
        ("002  B1       V2    C        02:00:00:00 02:00:00:01 01:00:00:06 01:00:00:07",
         "nothing would be left of event 2"),
        ("002  B1       V2    D    012 02:00:00:00 02:00:01:00 01:00:00:00 01:00:01:00",
         "a transition covers them in event 2"),
        ("002  RAIN     A     C        00:00:00:00 00:00:01:00 01:00:00:00 01:00:01:00\n"
         "003  RAIN     A     C        00:00:05:00 00:00:05:12 01:00:00:12 01:00:01:00",
         "event 2 shares its place with another event on its track"),
    ],
)  # fmt: skip
def test_a_ripple_is_refused_where_another_channel_cannot_be_cut(other: str, reason: str) -> None:
    shot = "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    lines, done = recut_text(f"{HEAD}{shot}{other}\n", make_removal(A, 30, 2))
    assert reasons(done) == [(1, reason)]
    assert lines[2:] == f"{shot}{other}".splitlines()


def test_sound_without_timecode_is_no_obstacle_where_sound_stays_whole() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  WILD     A     C        00:00:00:00 00:00:00:00 01:00:00:00 01:00:01:00\n"
    )
    lines, done = recut_text(text, make_removal(A, 30, 2), whole_sound=True)
    assert len(done.made) == 1
    assert events_of(lines)[1][13:] == events_of(text.splitlines())[1][13:]


# Holding the length.


@pytest.mark.parametrize(
    ("hold", "frames", "spare"),
    [
        ("tail", 46, "event 1 has 0 spare frames after its out, and 2 are needed"),
        ("head", 240, "event 1 has 1 spare frames before its in, and 2 are needed"),
        ("next", 240, "event 2 has 1 spare frames before its in, and 2 are needed"),
    ],
)
def test_holding_needs_handles(hold: str, frames: int, spare: str) -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:00:01 00:00:01:22 01:00:00:00 01:00:01:21\n"
        "002  B1       V     C        02:00:00:01 02:00:01:00 01:00:01:21 01:00:02:20\n"
    )
    clip = replace(A, frames=frames)
    document, matches = matched(text, clip, B)
    done = recut([m.event for m in matches], [make_removal(clip, 10, 2)], hold)
    assert reasons(done) == [(1, spare)]
    assert reissue(document, done.pieces, "QUAY")[0].splitlines() == text.splitlines()


def test_the_next_shot_must_be_a_clip_of_known_length() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  X9       V     C        02:00:00:01 02:00:01:00 01:00:01:00 01:00:01:23\n"
    )
    _, done = recut_text(text, make_removal(A, 30, 2), hold="next")
    assert "event 2, which would be lengthened, is of no clip of the project" in reasons(done)[0][1]


def test_several_trims_of_a_shot_share_its_handle() -> None:
    clip = replace(A, frames=51)
    text = HEAD + ("001  A1       V     C        00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00\n")
    _, matches = matched(text, clip)
    trims = [make_removal(clip, 10, 2), make_removal(clip, 20, 1, hit=2),
             make_removal(clip, 30, 1, hit=3)]  # fmt: skip
    done = recut([m.event for m in matches], trims, "tail")
    assert [use.removal.hit_id for use in done.made] == [1, 2]
    assert reasons(done) == [(1, "event 1 has 3 spare frames after its out, and 4 are needed")]


def test_the_own_head_keeps_the_frames_after_the_splice_where_they_were() -> None:
    lines, _ = recut_text(SHOTS, make_removal(A, 30, 2), hold="head")
    assert [line[29:] for line in events_of(lines)[:2]] == [
        "00:00:00:22 00:00:01:06 01:00:00:00 01:00:00:08",
        "00:00:01:08 00:00:02:00 01:00:00:08 01:00:01:00",
    ]


SYNC = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "002  A1       A     C        00:00:00:12 00:00:02:12 00:59:59:12 01:00:01:12\n"
    "003  A1       A2    C        00:00:01:01 00:00:02:01 01:00:00:00 01:00:01:00\n"
    "004  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
)


def test_sound_in_sync_is_cut_with_the_picture_and_other_sound_is_reported() -> None:
    lines, done = recut_text(SYNC, make_removal(A, 30, 2), hold="tail")
    sound = [line[29:] for line in events_of(lines) if line[14:16] == "A "]
    assert sound == [
        "00:00:00:12 00:00:01:06 00:59:59:12 01:00:00:06",
        "00:00:01:08 00:00:02:14 01:00:00:06 01:00:01:12",
    ]
    # Event 3 lies a frame out of sync already; it stays, two frames later against the picture.
    told = [(d.event.number, d.record, d.late, d.same_clip) for d in sound_drifts(done.pieces)]
    assert told[-1] == (3, FrameRange(86_406, 86_424), 2, True)
    assert (2, FrameRange(86_424, 86_436), -2, False) in told


def test_the_own_head_makes_sound_that_stays_early_before_the_splice() -> None:
    _, done = recut_text(SYNC, make_removal(A, 30, 2), hold="head", whole_sound=True)
    told = [(d.event.number, d.record, d.late) for d in sound_drifts(done.pieces)]
    assert told == [(2, FrameRange(86_400, 86_408), -2), (3, FrameRange(86_400, 86_408), -2)]


# Matching.


def one_event(reel: str, name: str, source: str = "00:00:01:00 00:00:02:00") -> str:
    note = f"* FROM CLIP NAME: {name}\n" if name else ""
    return f"{HEAD}001  {reel:<8} V     C        {source} 01:00:00:00 01:00:01:00\n{note}"


@pytest.mark.parametrize(
    ("reel", "name"),
    [("A1", "S12_T2_A.mov"), ("A1", ""), ("AX", "s12_t2_a.MOV"), ("A1", "SLATE 12-2 TAKE 2")],
)
def test_a_clip_is_found_by_name_or_reel(reel: str, name: str) -> None:
    _, (match,) = matched(one_event(reel, name))
    assert match.event.clip == A and not match.doubt


def test_names_that_a_list_had_to_fold_or_shorten_are_known_again() -> None:
    long = make_clip("Käi_" + "x" * 90 + ".mov", frames=100)
    width = 80 - len("* FROM CLIP NAME: ")
    kept = (width - 1) // 2
    folded = "Kai_" + "x" * 90 + ".mov"
    whole = one_event("ZZ", folded[: width - 1 - kept] + "~" + folded[-kept:])
    _, (match,) = matched(whole, long)
    assert match.event.clip == long


def test_two_clips_of_one_name_are_told_apart_by_reel_and_timecode() -> None:
    other = make_clip("S12_T2_A.mov", reel="C1", frames=240, folder="/other")
    later = replace(A, path="/later/S12_T2_A.mov", source_start=86_400)
    _, (by_reel,) = matched(one_event("C1", A.name), A, other)
    assert by_reel.event.clip == other
    _, (by_time,) = matched(one_event("A1", A.name, "01:00:01:00 01:00:02:00"), A, later)
    assert by_time.event.clip == later
    _, (match,) = matched(one_event("XX", A.name), A, other)
    assert match.event.clip is None and match.rivals == (other, A)
    assert "could be of" in match.doubt and "--reels" in match.doubt


def test_a_name_alone_proves_nothing() -> None:
    _, (outside,) = matched(one_event("A1", A.name, "05:00:01:00 05:00:02:00"))
    assert outside.event.clip is None
    assert "names S12_T2_A.mov, but its source from 05:00:01:00 lies outside" in outside.doubt
    pal = replace(A, rate=Fraction(25))
    _, (rate,) = matched(one_event("A1", A.name), pal)
    assert "counts 25, while the list counts 24" in rate.doubt
    _, (stranger,) = matched(one_event("Q7", "OTHER.MOV"))
    assert stranger.event.clip is None and not stranger.doubt


def test_the_users_word_comes_first() -> None:
    text = one_event("A1", A.name)
    said = replace(A, path="/graded/S12_T2_A_G.mov", name="S12_T2_A_G.mov", reel="G1")
    _, (match,) = matched(text, A, said, given={"a1": said})
    assert match.event.clip == said


def test_a_reel_map_is_read() -> None:
    text = "reel_or_clip_name,project_clip\r\nSLATE 12-2,S12_T2_A.mov\r\nZ9,/quay/S12_T3_B.mov\r\n"
    assert read_reel_map(text) == {"slate 12-2": "S12_T2_A.mov", "z9": "/quay/S12_T3_B.mov"}
    for damaged, fault in [
        (text.replace("Z9", ""), "row 3 leaves a cell empty"),
        (text.replace("Z9", "slate 12-2"), "row 3 says of slate 12-2"),
        (text.replace("reel_or", "reel"), "first row must be reel_or_clip_name"),
    ]:
        with pytest.raises(ListFormatError, match=fault):
            read_reel_map(damaged)


def test_a_transitions_lines_have_a_name_each() -> None:
    text = HEAD + (
        "001  XX       V     C        00:00:01:00 00:00:01:00 01:00:00:00 01:00:00:00\n"
        "001  YY       V     D    012 02:00:01:00 02:00:02:00 01:00:00:00 01:00:01:00\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
        "* TO CLIP NAME: S12_T3_B.mov\n"
    )
    _, matches = matched(text)
    assert [match.event.clip for match in matches] == [A, B]
    assert [match.event.overhang for match in matches] == [12, 0]


# Writing.


def test_an_unread_line_stops_everything() -> None:
    text = SHOTS + "004  A1       V     C        00:00:01:30 00:00:02:00 01:00:04:00 01:00:05:00\n"
    with pytest.raises(ListFormatError, match=r"line 7 .*does not exist.*correct or take out"):
        sequence_of(parse_edl(text, FILM.rate))


def test_a_list_out_of_order_is_sorted_and_its_notes_go_along() -> None:
    lines = SHOTS.splitlines()
    shuffled = "\n".join([*lines[:2], lines[5], "* SAY: LAST", *lines[2:5]]) + "\n"
    document, matches = matched(shuffled)
    events = [match.event for match in matches]
    assert not is_in_order(document, events)
    assert is_in_order(*(lambda d, m: (d, [e.event for e in m]))(*matched(SHOTS)))
    new = reissue(document, recut(events, []).pieces, "QUAY 2")[0].splitlines()
    assert new == ["TITLE: QUAY 2", *lines[1:], "* SAY: LAST"]


def test_modes_follow_their_events_when_a_list_is_sorted() -> None:
    text = (
        "TITLE: DROP\nFCM: DROP FRAME\n"
        "001  A1       V     C        00:01:00;02 00:01:00;12 01:00:01;00 01:00:01;10\n"
        "FCM: NON-DROP FRAME\n"
        "002  A2       V     C        00:01:00:00 00:01:00:10 01:00:00;20 01:00:01;00\n"
        "FCM: DROP FRAME\n"
        "003  A3       V     C        00:02:00;02 00:02:00;12 01:00:02;00 01:00:02;10\n"
    )
    document, matches = matched(text, rate=DF30.rate)
    events = [match.event for match in matches]
    (new,) = reissue(document, recut(events, []).pieces, "DROP")
    again = sequence_of(parse_edl(new, DF30.rate))
    assert [(e.reel, e.source, e.source_clock) for e in again] == [
        (e.reel, e.source, e.source_clock) for e in (events[1], events[0], events[2])
    ]
    assert parse_edl(new, DF30.rate).record_clock == DF30


def test_drop_frame_events_are_cut_at_labels_that_exist() -> None:
    clip = make_clip("D.mov", reel="D1", timebase=DF30, frames=600, start=1500)
    text = (
        "TITLE: D\nFCM: DROP FRAME\n"
        "001  D1       V     C        00:00:50;00 00:01:01;00 01:00:00;00 01:00:10;28\n"
    )
    lines, _ = recut_text(text, make_removal(clip, 299, 2))
    # SMPTE ST 12-1: 00:01:00;02 follows 00:00:59;29. Source frame 1799 is 00:00:59;29, 1800 is
    # 00:01:00;02; both go.
    assert [line[29:52] for line in events_of(lines)] == [
        "00:00:50;00 00:00:59;29", "00:01:00;03 00:01:01;00"
    ]  # fmt: skip


def test_a_cut_that_runs_across_midnight() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 23:59:59:12 00:00:00:12\n"
        "002  A1       V     C        00:00:02:00 00:00:03:00 00:00:00:12 00:00:01:12\n"
    )
    lines, done = recut_text(text, make_removal(A, 30, 2), make_removal(A, 60, 2, hit=2))
    assert [line[53:] for line in events_of(lines)] == [
        "23:59:59:12 23:59:59:18", "23:59:59:18 00:00:00:10", "00:00:00:10 00:00:00:22",
        "00:00:00:22 00:00:01:08",
    ]  # fmt: skip
    assert len(done.made) == 2


def test_a_source_that_runs_across_midnight() -> None:
    clip = make_clip("N.mov", reel="N1", frames=96, start=FILM.day - 48)
    text = HEAD + (
        "001  N1       V     C        23:59:59:00 00:00:01:00 01:00:00:00 01:00:02:00\n"
        "002  N1       V     C        00:00:00:06 00:00:01:00 01:00:02:00 01:00:02:18\n"
    )
    lines, done = recut_text(text, make_removal(clip, 47, 2), make_removal(clip, 60, 1, hit=2))
    assert [line[29:52] for line in events_of(lines)] == [
        "23:59:59:00 23:59:59:23", "00:00:00:01 00:00:00:12", "00:00:00:13 00:00:01:00",
        "00:00:00:06 00:00:00:12", "00:00:00:13 00:00:01:00",
    ]  # fmt: skip
    assert [use.events[0].number for use in done.made] == [1, 1, 2]


def test_records_are_unwrapped_at_midnight_only_where_they_run_across_it() -> None:
    day, night = 100, [FrameRange(90, 95), FrameRange(95, 103), FrameRange(3, 9)]
    assert unwrapped(night, day)[2] == FrameRange(103, 109)
    assert unwrapped([night[2], *night[:2]], day)[0] == FrameRange(103, 109)
    touching = [FrameRange(90, 100), FrameRange(0, 9)]
    assert unwrapped(touching, day) == (touching[0], FrameRange(100, 109))
    torn = [FrameRange(90, 95), FrameRange(3, 9)]
    assert unwrapped(torn, day) == (torn[0], FrameRange(103, 109))
    for plain in ([FrameRange(20, 30), FrameRange(10, 20)], [FrameRange(3, 9), FrameRange(90, 95)]):
        assert unwrapped(plain, day) == tuple(plain)


def test_more_than_999_events_go_on_in_a_second_list() -> None:
    clip = make_clip("L.mov", reel="L1", frames=24_000)
    lines = [
        f"{n + 1:03d}  L1       V     C        {FILM.label(24 * n)} {FILM.label(24 * n + 24)} "
        f"{FILM.label(86_400 + 24 * n)} {FILM.label(86_424 + 24 * n)}"
        for n in range(999)
    ]
    document, matches = matched(HEAD + "\n".join(lines), clip)
    done = recut([match.event for match in matches], [make_removal(clip, 12, 1)])
    first, second = reissue(document, done.pieces, "QUAY")
    assert first.splitlines()[:2] == ["TITLE: QUAY PART 1 OF 2", "FCM: NON-DROP FRAME"]
    assert second.splitlines()[:2] == ["TITLE: QUAY PART 2 OF 2", "FCM: NON-DROP FRAME"]
    assert [len(events_of(text.splitlines())) for text in (first, second)] == [999, 1]
    out = events_of(first.splitlines())[-1][65:76]
    assert events_of(second.splitlines())[0].startswith("001  L1")
    assert events_of(second.splitlines())[0][53:64] == out


def test_long_event_numbers_and_reels_and_sound_tracks_stay() -> None:
    text = (
        "FCM: NON-DROP FRAME\n"
        "000001  A004C011_230915_R1AB V  C  00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
        "000002  A004C011_230915_R1AB AA/V C 00:00:02:00 00:00:03:00 01:00:01:00 01:00:02:00 X\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
        "AUD  3    4\n"
    )
    lines, done = recut_text(text, make_removal(A, 60, 2))
    assert done.made[0].events[0].tracks == {"V", "A1", "A2", "A3", "A4"}
    assert lines[1] == text.splitlines()[1]
    assert [line for line in lines if line.startswith(("000", "AUD"))][1:] == [
        "000002  A004C011_230915_R1AB AA/V  C        00:00:02:00 00:00:02:12 01:00:01:00 "
        "01:00:01:12 X",
        "AUD  3    4",
        "000003  A004C011_230915_R1AB AA/V  C        00:00:02:14 00:00:03:00 01:00:01:12 "
        "01:00:01:22 X",
        "AUD  3    4",
    ]


def test_notes_with_timecodes_are_pointed_out() -> None:
    document = parse_edl(SHOTS + "* LOC: 01:00:00:12 RED LANDS\n", FILM.rate)
    assert timecoded_notes(document) == (7,)
