"""What a recut cuts and what it leaves alone: small lists, each with its answer beside it.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

import pytest

from impactcut.core.programme.change_list import change_list
from impactcut.core.recut.sound_drift import sound_drifts
from impactcut.core.time.frames import FrameRange, Gaps
from tests.helpers.lists.edl_samples import SPLIT, TRANSITIONS
from tests.helpers.lists.list_clips import make_clip, make_removal
from tests.helpers.lists.recut_lists import FILM, HEAD, SHOTS, A, B, events_of, reasons, recut_text


def test_a_clip_used_twice_is_cut_at_each_use_that_holds_the_frames() -> None:
    lines, done = recut_text(SHOTS, make_removal(A, 30, 2), make_removal(A, 50, 1, hit=2))
    assert [(use.removal.hit.id, use.events[0].number) for use in done.made] == [
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
    assert [removal.hit.id for removal in done.absent] == [1]
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
    assert [use.removal.hit.id for use in done.made] == [24, 30]
    told = {each.removal.hit.id: (each.number, each.reason) for each in done.refused}
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
         "event 2 has no source timecode; leave sound whole (--whole-sound), or hold the length "
         "(--hold)"),
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
    told = [(each.event.number, each.record, each.late) for each in sound_drifts(done.pieces)]
    assert told == [(2, FrameRange(86_406, 86_422), 2)]


def test_record_frames_lie_where_those_that_are_left_put_them() -> None:
    gaps = (FrameRange(3, 5), FrameRange(9, 12), FrameRange(14, 15))
    kept = [frame for frame in range(20) if not any(frame in range(g.start, g.stop) for g in gaps)]
    clock = Gaps(gaps)
    for frame in range(20):
        after = next(place for place, each in enumerate(kept) if each >= frame)
        assert clock.moved(frame) == after


FAST_SOUND = (
    "001  A1       V     C        00:00:01:00 00:00:03:00 01:00:00:00 01:00:02:00\n"
    "002  RAIN     A     C        00:00:00:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "M2   RAIN           048.0                00:00:00:00\n"
    "003  B1       A     C        02:00:00:00 02:00:00:12 {next} 01:00:02:00\n"
)


def test_whole_sound_at_another_speed_stays_whole_where_there_is_just_room() -> None:
    text = HEAD + FAST_SOUND.format(next="01:00:01:01")
    lines, done = recut_text(text, make_removal(A, 30, 1), whole_sound=True)
    assert len(done.made) == 1
    sound = next(line for line in events_of(lines) if "RAIN" in line)
    assert sound[29:] == "00:00:00:00 00:00:02:00 01:00:00:00 01:00:01:00"


def test_whole_sound_at_another_speed_loses_not_even_one_frame() -> None:
    text = HEAD + FAST_SOUND.format(next="01:00:01:00")
    _, done = recut_text(text, make_removal(A, 30, 1), whole_sound=True)
    assert reasons(done) == [
        (1, "the end of event 2 would have to go, and it does not run at its own speed (M2)")
    ]


FOUR = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "002  A1       NONE  C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "AUD  3    4\n"
    "003  A1       AA    C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "004  B1       AA/V  C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    "AUD  3    4\n"
)


def test_none_with_an_aud_line_is_the_sound_that_the_line_names() -> None:
    lines, done = recut_text(FOUR, make_removal(A, 30, 2))
    assert [sorted(event.tracks) for event in done.events] == [
        ["V"], ["A3", "A4"], ["A1", "A2"], ["A1", "A2", "A3", "A4", "V"]
    ]  # fmt: skip
    assert not done.refused
    assert sorted(
        line[5:]
        for line in lines[2:]
        if line[14:18].strip() in ("NONE", "AA") and "A1" in line[5:13]
    ) == [
        "A1       AA    C        00:00:01:00 00:00:01:06 01:00:00:00 01:00:00:06",
        "A1       AA    C        00:00:01:08 00:00:02:00 01:00:00:06 01:00:00:22",
        "A1       NONE  C        00:00:01:00 00:00:01:06 01:00:00:00 01:00:00:06",
        "A1       NONE  C        00:00:01:08 00:00:02:00 01:00:00:06 01:00:00:22",
    ]
    assert lines.count("AUD  3    4") == 3


def test_none_without_an_aud_line_is_a_track_of_its_own() -> None:
    lines, done = recut_text(FOUR.replace("AUD  3    4\n", ""), make_removal(A, 30, 2))
    assert done.events[1].tracks == {"NONE"} and len(done.made) == 1
    assert sum("NONE" in line for line in lines) == 2


def test_whole_sound_of_four_channels_gives_way_only_on_the_track_that_is_crowded() -> None:
    text = FOUR.replace("004  B1       AA/V", "004  B1       A2/V").replace(
        "01:00:02:00\nAUD  3    4\n", "01:00:02:00\nAUD  4\n"
    )
    assert text.count("AUD  4\n") == 1
    lines, done = recut_text(text, make_removal(A, 30, 2), whole_sound=True)
    assert not done.refused
    sound = {(line[14:18].strip(), line[29:]) for line in lines if "A1  " in line[5:13]}
    whole, short = "00:00:02:00 01:00:00:00 01:00:01:00", "00:00:01:22 01:00:00:00 01:00:00:22"
    assert {each for each in sound if each[0] != "V"} == {
        ("NONE", f"00:00:01:00 {whole}"), ("NONE", f"00:00:01:00 {short}"),
        ("A", f"00:00:01:00 {whole}"), ("A2", f"00:00:01:00 {short}"),
    }  # fmt: skip
    at = lines.index("AUD  3")
    assert lines[at - 1].endswith(whole)
    assert lines[lines.index("AUD  4") - 1].endswith(short)


def test_sound_without_timecode_under_every_shot_gives_up_its_end_where_sound_stays_whole() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  AX       AA    C        00:00:00:00 00:00:00:00 01:00:00:00 01:00:01:00\n"
        "003  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
        "004  AX       AA    C        00:00:00:00 00:00:00:00 01:00:01:00 01:00:02:00\n"
    )
    trims = [make_removal(A, 30, 2), make_removal(B, 30, 1, hit=2)]
    lines, done = recut_text(text, *trims, whole_sound=True)
    assert not done.refused and len(done.made) == 2
    assert [line[5:] for line in events_of(lines) if "AX" in line] == [
        "AX       AA    C        00:00:00:00 00:00:00:00 01:00:00:00 01:00:00:22",
        "AX       AA    C        00:00:00:00 00:00:00:00 01:00:00:22 01:00:01:22",
    ]
    (change,) = [
        each
        for each in change_list(("", ""), FILM, done.events, done.pieces).adjustments
        if "A1" in each.tracks
    ]
    assert (change.operation, change.event, change.frames, change.source) == (
        "trim tail", 2, 2, None
    )  # fmt: skip
    told = [(each.event.number, each.record, each.late) for each in sound_drifts(done.pieces)]
    assert told == [(2, FrameRange(86_406, 86_422), 2), (4, FrameRange(86_428, 86_445), 1)]


def test_sound_without_timecode_that_shares_its_place_is_not_shortened() -> None:
    sound = "AX       A     C        00:00:00:00 00:00:00:00 01:00:00:00 01:00:01:00\n"
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        f"002  {sound}003  {sound}"
        "004  AX       A     C        00:00:00:00 00:00:00:00 01:00:01:00 01:00:02:00\n"
    )
    _, done = recut_text(text, make_removal(A, 30, 2), whole_sound=True)
    assert reasons(done) == [
        (1, "the end of event 2 would have to go, and it shares its place with another event on "
            "its track")
    ]  # fmt: skip
