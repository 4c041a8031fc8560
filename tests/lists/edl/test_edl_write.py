"""EDLs as they are written: columns, limits, notes, parts, and the check before hand-over."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError, RateError
from impactcut.lists.edl.check import check_edl
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.write import render_edl, split_events
from impactcut.lists.reels import reel_names
from tests.helpers.lists.list_clips import (
    CUT,
    DF30,
    FIRST,
    HOUR,
    cut_lists,
    make_clip,
    make_removal,
    many_clips,
    planned_frames,
)

WRITTEN = """\
TITLE: QUAY WAREHOUSE SC 12 TRIMS
FCM: NON-DROP FRAME
001  A004C011 V     C        01:02:10:00 01:02:13:07 01:00:00:00 01:00:03:07
* FROM CLIP NAME: A004C011_TAKE2.mov
* SOURCE FILE: A004C011_TAKE2.mov
002  A004C011 V     C        01:02:13:09 01:02:15:05 01:00:03:07 01:00:05:03
* FROM CLIP NAME: A004C011_TAKE2.mov
* SOURCE FILE: A004C011_TAKE2.mov
* COMMENT: 2 FRAMES REMOVED BEFORE THIS FROM 01:02:13:07, SPEED GAIN 1.18
003  A005C003 V     C        00:00:00:00 00:00:01:21 01:00:05:03 01:00:07:00
* FROM CLIP NAME: A005C003.mov
* SOURCE FILE: A005C003.mov
* COMMENT: TIMECODE ASSUMED 00:00:00:00
* COMMENT: 3 FRAMES REMOVED AFTER THIS FROM 00:00:01:21, SPEED GAIN 1.18
"""


def test_the_text_of_a_list() -> None:
    assert render_edl(CUT) == (WRITTEN.replace("\n", "\r\n"),)


def test_the_columns_of_an_event() -> None:
    line = render_edl(CUT)[0].split("\r\n")[2]
    # Columns of public CMX3600 readers and of lists in circulation (no standard's text at hand).
    columns = {(1, 3): "001", (6, 13): "A004C011", (15, 18): "V   ", (21, 24): "C   ",
               (26, 28): "   ", (30, 40): "01:02:10:00", (42, 52): "01:02:13:07",
               (54, 64): "01:00:00:00", (66, 76): "01:00:03:07"}  # fmt: skip
    assert {place: line[place[0] - 1 : place[1]] for place in columns} == columns
    assert len(line) == 76


@given(cut_lists())
def test_limits_of_the_form(cut: CutList) -> None:
    for text in render_edl(cut):
        assert text.endswith("\r\n")
        assert not re.search(r"[^\r]\n|\r[^\n]|[^\x20-\x7e\r\n]", text)
        lines = text.split("\r\n")[:-1]
        assert max(map(len, lines)) <= 80
        assert lines[0].startswith("TITLE: ")
        mode = "FCM: DROP FRAME" if cut.timebase.drop_frame else "FCM: NON-DROP FRAME"
        assert lines[1] == mode
        for line, below in zip(lines, [*lines[1:], ""], strict=True):
            if line[0].isdigit():
                assert below.startswith("* FROM CLIP NAME:")
                marks = {line[column - 1] for column in (38, 50, 62, 74)}
                assert marks == ({";"} if cut.timebase.drop_frame else {":"})


@given(cut_lists())
def test_every_frame_reads_back_where_it_was_planned(cut: CutList) -> None:
    texts = render_edl(cut)
    reels = reel_names(cut.clips)
    plan = [
        (reels[clip], source, record)
        for clip, source, record in planned_frames(cut.clips, cut.removals, cut.record_start)
    ]
    day = cut.timebase.day
    documents = [parse_edl(text, cut.timebase.rate) for text in texts]
    found = [
        (event.reel, source % day, record % day)
        for document in documents
        for event in document.events
        for source, record in zip(
            range(event.source.start, event.source.stop),
            range(event.record.start, event.record.stop),
            strict=True,
        )
    ]
    assert found == plan
    assert [document.written() for document in documents] == list(texts)
    odd = {w.message for document in documents for w in document.warnings}
    assert not {message for message in odd if "midnight" not in message}
    check_edl(texts, cut)


def test_drop_frame_marks_and_labels() -> None:
    clip = make_clip("A.mov", timebase=DF30, frames=20, start=1790)
    (text,) = render_edl(assemble("QUAY", [clip], [], record_start=107_892))
    assert "FCM: DROP FRAME\r\n" in text
    # SMPTE ST 12-1: frame 1800 is 00:01:00;02.
    assert "00:00:59;20 00:01:00;12 01:00:00;00 01:00:00;20" in text


def test_events_that_cross_midnight() -> None:
    clip = make_clip("A.mov", frames=48, start=24 * HOUR - 24)
    cut = assemble("QUAY", [clip], [make_removal(clip, 30, 2)], record_start=24 * HOUR - 10)
    (text,) = render_edl(cut)
    assert "23:59:59:00 00:00:00:06 23:59:59:14 00:00:00:20" in text
    assert "00:00:00:08 00:00:01:00 00:00:00:20 00:00:01:12" in text
    check_edl([text], cut)


@pytest.mark.parametrize(
    ("clips", "sizes"), [(999, [999]), (1000, [999, 1]), (2500, [999, 999, 502])]
)
def test_lists_hold_at_most_999_events(clips: int, sizes: list[int]) -> None:
    cut = assemble("QUAY", many_clips(clips), [], record_start=HOUR)
    texts = render_edl(cut)
    documents = [parse_edl(text, cut.timebase.rate) for text in texts]
    assert [len(document.events) for document in documents] == sizes
    events = [event for document in documents for event in document.events]
    assert [event.number for event in events] == [n for size in sizes for n in range(1, size + 1)]
    assert [event.record.start for event in events] == [HOUR + 10 * n for n in range(clips)]
    said = [re.findall(r"PART \d+ OF \d+", text) for text in texts]
    parts = [[f"PART {n} OF {len(sizes)}"] for n in range(1, len(sizes) + 1)]
    assert said == (parts if len(sizes) > 1 else [[]])
    check_edl(texts, cut)


def test_lists_hold_at_most_24_hours() -> None:
    cut = assemble("QUAY", many_clips(5, frames=10 * HOUR), [], record_start=HOUR)
    assert [len(part) for part in split_events(cut)] == [2, 2, 1]
    check_edl(render_edl(cut), cut)
    exact = assemble("QUAY", many_clips(2, frames=12 * HOUR), [], record_start=HOUR)
    assert [len(part) for part in split_events(exact)] == [2]
    check_edl(render_edl(exact), exact)


def test_one_event_is_shorter_than_24_hours() -> None:
    longest = make_clip("A.mov", frames=24 * HOUR - 1)
    cut = assemble("QUAY", [longest], [], record_start=0)
    check_edl(render_edl(cut), cut)
    over = assemble("QUAY", [replace(longest, frames=24 * HOUR)], [], record_start=0)
    with pytest.raises(ListFormatError, match=r"A\.mov runs for 24 hours"):
        render_edl(over)


def test_a_rate_of_three_digits_has_no_list() -> None:
    clip = make_clip(timebase=Timebase(Fraction(120)))
    with pytest.raises(RateError, match="120"):
        render_edl(assemble("QUAY", [clip], [], record_start=0))


def test_names_are_folded_and_fitted() -> None:
    name = "Kä\nde – 夜 " + "x" * 80 + "_T7.mov"
    clip = make_clip(name, reel="Käde_nacht_7")
    (text,) = render_edl(assemble("Kä\r\nde " * 20, [clip], [], record_start=0))
    lines = text.split("\r\n")
    assert lines[0].startswith("TITLE: Ka__de Ka__de")
    assert len(lines[0]) == len("TITLE: ") + 70
    assert lines[3].startswith("* FROM CLIP NAME: Ka_de - _ xxx")
    assert lines[3].endswith("xxx_T7.mov")
    assert "~" in lines[3]
    assert lines[5] == "* COMMENT: REEL KADE_NAC STANDS FOR Kade_nacht_7"
    assert len(lines) == 7


def tampered(old: str, new: str) -> str:
    text = render_edl(CUT)[0]
    assert old in text
    return text.replace(old, new)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("01:02:13:09 01:02:15:05", "01:02:13:08 01:02:15:04"),
        ("01:02:10:00 01:02:13:07 01:00:00:00", "01:02:10:01 01:02:13:08 01:00:00:00"),
        ("01:00:03:07 01:00:05:03", "01:00:03:08 01:00:05:04"),
        ("01:00:05:03 01:00:07:00", "01:00:05:03 01:00:07:01"),
        ("001  A004C011", "001  A004C012"),
        ("00:00:00:00 00:00:01:21 01:00:05:03 01:00:07:00",
         "00:00:00:00 00:00:01:22 01:00:05:03 01:00:07:01"),
        ("NON-DROP FRAME\r\n", "NON-DROP FRAME\r\n004  X V C 01:00:00:24 01:00:01:00\r\n"),
        ("\r\n003", "\r\n* 003"),
    ],
)  # fmt: skip
def test_a_list_that_is_not_the_plan_is_not_handed_over(old: str, new: str) -> None:
    with pytest.raises(ListMismatchError):
        check_edl([tampered(old, new)], CUT)


def test_missing_doubled_and_unreadable_lists_are_not_handed_over() -> None:
    texts = render_edl(CUT)
    check_edl(texts, CUT)
    for wrong in ([], [*texts, *texts], ["no list"]):
        with pytest.raises(ListMismatchError):
            check_edl(wrong, CUT)


def test_a_hole_in_the_record_between_frames_that_follow_one_another_is_not_handed_over() -> None:
    whole = assemble("QUAY", [FIRST], [], record_start=HOUR)
    (text,) = render_edl(whole)
    base, start, half = whole.timebase, FIRST.source_start, FIRST.frames // 2

    def event(number: int, first: int, stop: int, late: int) -> str:
        places = (start + first, start + stop, HOUR + first + late, HOUR + stop + late)
        return f"{number:03d}  {FIRST.reel:<8} V     C        {' '.join(map(base.label, places))}"

    (line,) = (each for each in text.splitlines() if each.startswith("001"))
    for late, fits in ((0, True), (1, False)):
        halves = (event(1, 0, half, 0), event(2, half, FIRST.frames, late))
        split = text.replace(line, "\r\n".join(halves))
        if fits:
            check_edl([split], whole)
        else:
            with pytest.raises(ListMismatchError):
                check_edl([split], whole)


def test_the_check_looks_at_the_plan_and_not_at_the_written_events() -> None:
    whole = assemble("QUAY", [FIRST], [], record_start=HOUR)
    forgotten = replace(whole, removals=(make_removal(FIRST, 79, 2),))
    with pytest.raises(ListMismatchError, match="125 frames of A004C011"):
        check_edl(render_edl(whole), forgotten)


def test_drop_frame_lists_are_told_from_non_drop_ones() -> None:
    clip = make_clip("A.mov", timebase=DF30, frames=20)
    cut = assemble("QUAY", [clip], [], record_start=0)
    (text,) = render_edl(cut)
    with pytest.raises(ListMismatchError, match=r"not 29\.97 drop-frame"):
        check_edl([text.replace("FCM: DROP", "FCM: NON-DROP")], cut)
