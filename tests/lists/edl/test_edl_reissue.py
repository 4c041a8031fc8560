"""How a recut writes its list: order, modes, midnight, numbers, notes.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

import pytest

from impactcut.core.recut.cutting import recut
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.midnight import unwrapped
from impactcut.errors import ListFormatError
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.reissue import is_in_order, reissue
from impactcut.lists.edl.sequence import sequence_of
from impactcut.workflow.export.recut_words import recut_notes
from tests.helpers.lists.list_clips import DF30, make_clip, make_removal
from tests.helpers.lists.recut_lists import FILM, HEAD, SHOTS, A, events_of, matched, recut_text


def test_an_unread_line_stops_everything() -> None:
    text = SHOTS + "004  A1       V     C        00:00:01:30 00:00:02:00 01:00:04:00 01:00:05:00\n"
    with pytest.raises(ListFormatError, match=r"line 7 .*does not exist.*correct or take out"):
        sequence_of(parse_edl(text, FILM.rate))


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("#02  B1       V     C        02:00:01:00 02:00:02:00 01:00:04:00 01:00:05:00",
         "has four timecodes but is no event line"),
        ("* 002  B1     V     C        02:00:01:00 02:00:02:00 01:00:04:00 01:00:05:00",
         "has four timecodes but is no event line"),
        ("[2], B1, V, C, 02:00:01:00, 02:00:02:00, 01:00:04:00, 01:00:05:00",
         "has four timecodes but is no event line"),
        ("004  B1  V  C  02:00:01:00 02:00:02:00 01:00:04:00 01:00:05:00 01:00:05:00",
         "has more than four timecodes"),
        ("SPLIT:    AUDIO DELAY=  00:00:00:12", "is a SPLIT with no event after it"),
        ("DSM  V 01:00:02:00", "holds the record time 01:00:02:00 but is not understood"),
    ],
)  # fmt: skip
def test_a_line_with_times_that_is_not_understood_is_refused_by_number(
    line: str, reason: str
) -> None:
    with pytest.raises(ListFormatError, match=f"line 7 {reason}; .*correct or take out"):
        sequence_of(parse_edl(f"{SHOTS}{line}\n", FILM.rate))
    sequence_of(parse_edl(f"{SHOTS}DSM  V 05:00:02:00\n", FILM.rate))


def test_a_list_out_of_order_is_sorted_and_its_notes_go_along() -> None:
    lines = SHOTS.splitlines()
    shuffled = "\n".join([*lines[:2], lines[5], "* SAY: LAST", *lines[2:5]]) + "\n"
    document, matches = matched(shuffled)
    events = [match.event for match in matches]
    assert not is_in_order(document, events)
    assert is_in_order(*(lambda d, m: (d, [e.event for e in m]))(*matched(SHOTS)))
    new = reissue(document, recut(events, []), "QUAY 2")[0].splitlines()
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
    (new,) = reissue(document, recut(events, []), "DROP")
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
    first, second = reissue(document, done, "QUAY")
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
    assert lines[:3] == ["TITLE: QUAY 2", *text.splitlines()[:2]]
    assert [line for line in lines if line.startswith(("000", "AUD"))][1:] == [
        "000002  A004C011_230915_R1AB AA/V  C        00:00:02:00 00:00:02:12 01:00:01:00 "
        "01:00:01:12 X",
        "AUD  3    4",
        "000003  A004C011_230915_R1AB AA/V  C        00:00:02:14 00:00:03:00 01:00:01:12 "
        "01:00:01:22 X",
        "AUD  3    4",
    ]


MARKED = HEAD + (
    "* LOC: 01:00:00:12 RED     BEGINS\n"
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "* FROM CLIP NAME: S12_T2_A.mov\n"
    "* LOC: 01:00:00:05 RED     DRAWS\n"
    "* LOC: 01:00:00:07 RED     LANDS\n"
    "* LOC: 01:00:00:20 RED     FALLS\n"
    "* COMMENT: SEE 01:00:00:20 TO 01:00:01:12\n"
    "* COMMENT: SLATE AT 00:00:01:10\n"
    "* LOC: NOWHERE\n"
    "002  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    "* LOC: 01:00:01:12 GREEN   TURNS\n"
)


def test_marks_move_with_the_programme_and_are_written_once() -> None:
    lines, done = recut_text(MARKED, make_removal(A, 30, 2))
    # Record frames 6 and 7 of the hour go; what lay on frame 7 lies on the first kept after it.
    assert lines[1:] == [
        "FCM: NON-DROP FRAME",
        "* LOC: 01:00:00:10 RED     BEGINS",
        "001  A1       V     C        00:00:01:00 00:00:01:06 01:00:00:00 01:00:00:06",
        "* FROM CLIP NAME: S12_T2_A.mov",
        "* LOC: 01:00:00:05 RED     DRAWS",
        "* COMMENT: SLATE AT 00:00:01:10",
        "* LOC: NOWHERE",
        "002  A1       V     C        00:00:01:08 00:00:02:00 01:00:00:06 01:00:00:22",
        "* FROM CLIP NAME: S12_T2_A.mov",
        "* LOC: 01:00:00:06 RED     LANDS",
        "* LOC: 01:00:00:18 RED     FALLS",
        "* COMMENT: SEE 01:00:00:18 TO 01:00:01:10",
        "* COMMENT: SLATE AT 00:00:01:10",
        "003  B1       V     C        02:00:01:00 02:00:02:00 01:00:00:22 01:00:01:22",
        "* LOC: 01:00:01:10 GREEN   TURNS",
    ]
    notes = recut_notes(parse_edl(MARKED, FILM.rate), done, False, 1)
    assert "times of the programme in notes were moved with it: line 9" in notes
    assert "notes whose timecodes may be of a source are carried as they stand: line 10" in notes


@pytest.mark.parametrize(
    ("hold", "places"),
    [("tail", ["05", "06", "18"]), ("head", ["07", "08", "20"]), ("next", ["05", "06", "18"])],
)
def test_marks_lie_on_their_frames_where_the_length_is_held(hold: str, places: list[str]) -> None:
    lines, _ = recut_text(MARKED, make_removal(A, 30, 2), hold=hold)
    found = [line for line in lines if line.endswith(("DRAWS", "LANDS", "FALLS", "TURNS"))]
    assert [line[7:18] for line in found] == [f"01:00:00:{p}" for p in places] + ["01:00:01:12"]


def test_a_clip_whose_name_is_a_time_of_the_programme_keeps_it() -> None:
    text = SHOTS.replace("S12_T2_A.mov", "01:00:03:00.mov")
    lines, done = recut_text(text, make_removal(A, 30, 2))
    assert len(done.made) == 2
    assert lines.count("* FROM CLIP NAME: 01:00:03:00.mov") == 2


def test_a_mark_in_the_last_frame_that_goes_and_one_across_midnight() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 23:59:59:12 00:00:00:12\n"
        "* LOC: 23:59:59:14 RED     ONE\n"
        "* LOC: 00:00:00:11 RED     TWO\n"
        "002  A1       V     C        00:00:02:00 00:00:03:00 00:00:00:12 00:00:01:12\n"
        "* LOC: 00:00:01:12 RED     END\n"
    )
    lines, _ = recut_text(text, make_removal(A, 30, 2), make_removal(A, 47, 1, hit=2))
    assert [line[7:18] for line in lines if "LOC" in line] == [
        "23:59:59:14", "00:00:00:09", "00:00:01:09"
    ]  # fmt: skip


def test_a_programme_without_events_stays_empty() -> None:
    assert unwrapped([], 100) == ()
