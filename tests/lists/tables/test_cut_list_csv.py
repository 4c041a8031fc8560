"""The CSV cut list: RFC 4180 text that spreadsheets cannot turn against its reader."""

from __future__ import annotations

import csv
import io
import re
from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Trim
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.csv_text import read_csv, write_csv
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.write import render_edl
from impactcut.lists.tables.cells import check_table
from impactcut.lists.tables.cut_list_csv import COLUMNS, cut_rows, render_cut_csv
from tests.helpers.lists.list_clips import (
    DF30,
    cut_lists,
    frame_of,
    make_clip,
    make_entry,
    make_removal,
    planned_frames,
)

FIRST = make_clip(
    "A004C011_TAKE2.mov", reel="A004C011", frames=125, start=89_520, slate="27", circled=True
)
SECOND = make_clip('夜, "quay".mov', reel="夜", frames=48, timecode_source="assumed", section="=12")
APPROVED = Decision("approved", FrameRange(79, 81), "Ines", "2024-05-01T20:00:00Z", "@harder\r\n!")
CUT = assemble(
    "QUAY",
    [FIRST, SECOND],
    [
        Removal(make_entry(SECOND, 8, 46), Trim(45, 3, 1.4142, 3.2, "obvious")),
        Removal(
            replace(make_entry(FIRST, 7, 80), decision=APPROVED), Trim(79, 2, 1.18, 0.7, "clean")
        ),
    ],
    record_start=86_400,
    version=4,
)

# Old and new record places by hand: the second trim begins at clip frame 45, 125 + 45 = 170 frames
# on in the untrimmed programme and two less in the trimmed one.
EXPECTED = [
    {"version": "4", "part": "1", "event": "2", "section": "12", "slate": "27",
     "take": "2", "angle": "A", "circled": "yes",
     "reel": "A004C011", "clip": "A004C011_TAKE2.mov", "hit": "7", "first_frame": "79",
     "last_frame": "80", "source_in": "01:02:13:07", "source_in_frame": "89599",
     "source_out": "01:02:13:09", "source_out_frame": "89601", "record_old": "01:00:03:07",
     "record_old_frame": "86479", "record_new": "01:00:03:07", "record_new_frame": "86479",
     "frames": "2", "running_offset": "2", "speed_gain": "1.180", "visibility": "0.700",
     "verdict": "shows to nobody", "decision": "approved", "who": "Ines",
     "note": "'@harder\r\n!", "rate": "24/1", "count_mode": "non-drop", "timecode_source": "file",
     "sync_early": "detectable", "sync_late": "in sync"},
    {"version": "4", "part": "1", "event": "3", "section": "'=12", "slate": "",
     "take": "2", "angle": "A", "circled": "no",
     "clip": "夜, \"quay\".mov", "hit": "8", "first_frame": "45", "last_frame": "47",
     "source_in": "00:00:01:21", "source_in_frame": "45", "source_out": "00:00:02:00",
     "source_out_frame": "48", "record_old": "01:00:07:02", "record_old_frame": "86570",
     "record_new": "01:00:07:00", "record_new_frame": "86568", "frames": "3",
     "running_offset": "5", "speed_gain": "1.414", "visibility": "3.200",
     "verdict": "shows to everybody", "decision": "proposed", "who": "", "note": "",
     "rate": "24/1", "count_mode": "non-drop", "timecode_source": "assumed",
     "sync_early": "unacceptable", "sync_late": "in sync"},
]  # fmt: skip


def test_every_column_of_a_row() -> None:
    rows = list(csv.DictReader(io.StringIO(render_cut_csv(CUT), newline="")))
    assert re.fullmatch("[A-Z0-9_]{1,8}", rows[1].pop("reel"))
    assert rows == EXPECTED


def test_the_text_keeps_to_rfc_4180() -> None:
    text = render_cut_csv(CUT)
    # RFC 4180, section 2: CR LF ends every record; commas, quotes and line ends only in quotes.
    records = re.findall(r'(?:"(?:[^"]|"")*"|[^",\r\n]*)(?:,|\r\n)', text)
    assert "".join(records) == text
    assert sum(record.endswith("\r\n") for record in records) == 3
    assert text.startswith("version,part,event,section,slate,take,angle,circled,reel,clip,")


def test_a_list_without_trims_is_its_header() -> None:
    text = render_cut_csv(assemble("QUAY", [FIRST], [], record_start=0))
    assert text.count("\r\n") == 1


def check(text: str, cut: CutList) -> None:
    """As the text of a cut list is checked before it is handed over."""
    check_table(text, COLUMNS, [[row[each] for each in COLUMNS] for row in cut_rows(cut)], "it")


def read(cut: CutList) -> list[dict[str, Any]]:
    """The rows of a cut list, what counts frames and events as whole numbers."""
    words = {"clip", "reel", "hit", "section", "take", "who", "note"}
    return [
        {
            name: int(cell) if cell.isdigit() and name not in words else cell
            for name, cell in zip(COLUMNS, cells, strict=True)
        }
        for cells in read_csv(render_cut_csv(cut), COLUMNS)
    ]


@given(cut_lists())
def test_rows_name_the_removed_frames_and_where_they_were(cut: CutList) -> None:
    rows = read(cut)
    day = cut.timebase.day
    old = planned_frames(cut.clips, [], cut.record_start)
    new = planned_frames(cut.clips, cut.removals, cut.record_start)
    removed = [place for place in old if place[:2] not in {(clip, at) for clip, at, _ in new}]
    found = [
        (removal.clip, (row["source_in_frame"] + n) % day, (row["record_old_frame"] + n) % day)
        for row, removal in zip(rows, cut.removals, strict=True)
        for n in range(row["frames"])
    ]
    assert found == removed
    assert sum(row["frames"] for row in rows) == len(old) - len(new)
    so_far = 0
    for row, removal in zip(rows, cut.removals, strict=True):
        assert row["record_old_frame"] - row["record_new_frame"] == so_far
        so_far += row["frames"]
        assert row["running_offset"] == so_far
        assert row["last_frame"] - row["first_frame"] + 1 == row["frames"]
        assert row["source_out_frame"] - row["source_in_frame"] == row["frames"]
        for label in ("source_in", "source_out", "record_old", "record_new"):
            beside = row[f"{label}_frame"]
            assert frame_of(row[label], cut.timebase) == beside % day
        assert row["clip"] == removal.clip.name


@given(cut_lists())
def test_rows_name_the_event_of_the_edl_at_the_splice(cut: CutList) -> None:
    documents = [parse_edl(text, cut.timebase.rate) for text in render_edl(cut)]
    for row in read(cut):
        event = documents[row["part"] - 1].events[row["event"] - 1]
        assert (event.number, event.reel) == (row["event"], row["reel"])
        splice = row["record_new_frame"] % cut.timebase.day
        assert splice in (event.record.start, event.record.stop % cut.timebase.day)


def test_rows_of_a_list_in_parts_name_their_part() -> None:
    clips = [make_clip(f"{n}.mov", frames=20) for n in range(600)]
    cut = assemble("QUAY", clips, [make_removal(clip, 9, 1) for clip in clips], record_start=0)
    rows = cut_rows(cut)
    assert [(row["part"], row["event"]) for row in rows[498:501]] == [(1, 998), (2, 1), (2, 3)]


def test_drop_frame_is_named_and_counted() -> None:
    clip = make_clip("A.mov", timebase=DF30, frames=90, start=1790)
    cut = assemble("QUAY", [clip], [make_removal(clip, 9, 2)], record_start=107_892)
    (row,) = read(cut)
    # SMPTE ST 12-1: 00:01:00;02 follows 00:00:59;29.
    assert (row["source_in"], row["source_out"]) == ("00:00:59;29", "00:01:00;03")
    assert (row["rate"], row["count_mode"]) == ("30000/1001", "drop-frame")


# OWASP, "CSV Injection": what a cell must not begin with.
DANGEROUS = tuple("=+-@\t\r\n＝＋－＠")


@given(st.lists(st.lists(st.sampled_from(["", "'", "''", "a", ",", '"', *DANGEROUS]), max_size=5)))
def test_no_cell_begins_like_a_formula_and_all_come_back(scraps: list[list[str]]) -> None:
    rows = [["".join(row), str(number)] for number, row in enumerate(scraps)]
    text = write_csv(["note", "number"], rows)
    cells = list(csv.reader(io.StringIO(text, newline="")))
    assert not any(cell.startswith(DANGEROUS) for row in cells for cell in row)
    assert [list(row) for row in read_csv(text, ["note", "number"])] == rows


def test_numbers_stay_numbers() -> None:
    assert write_csv(["a"], [[-3]]) == "a\r\n-3\r\n"


def test_names_that_are_no_text_can_be_stored_as_utf_8() -> None:
    clip = make_clip("quay\udcff.mov", frames=20)
    cut = assemble("QUAY", [clip], [make_removal(clip, 9, 2)], record_start=0)
    text = render_cut_csv(cut).encode("utf-8").decode("utf-8")
    assert "quay\ufffd.mov" in text


def test_a_byte_order_mark_and_the_quotes_of_a_spreadsheet_are_read() -> None:
    text = render_cut_csv(CUT)
    out = io.StringIO(newline="")
    csv.writer(out, quoting=csv.QUOTE_ALL).writerows(csv.reader(io.StringIO(text, newline="")))
    check("\ufeff" + out.getvalue(), CUT)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("version,", "list,", "first row must be version,"),
        ("01:02:13:07,89599", "01:02:13:08,89599", "is not the plan"),
        ("86479,2,2", "86479,two,2", "is not the plan"),
        ("24/1", "24/0", "is not the plan"),
        ("shows to nobody", "shows to, nobody", "row 2 has 35 cells, not 34"),
        ("夜, ", '夜"x, ', "not CSV"),
        ("4,1,2,", '"' + "x" * 1_000_000, "not CSV"),
    ],
)
def test_a_damaged_list_is_not_handed_over(old: str, new: str, fault: str) -> None:
    text = render_cut_csv(CUT)
    assert old in text
    with pytest.raises(ListMismatchError, match=fault):
        check(text.replace(old, new, 1), CUT)


@given(st.text())
def test_any_text_is_read_or_refused(text: str) -> None:
    for damaged in (text, render_cut_csv(CUT) + text):
        with suppress(ListFormatError):
            read_csv(damaged, COLUMNS)


def test_a_list_of_another_plan_is_not_handed_over() -> None:
    check(render_cut_csv(CUT), CUT)
    for other in (replace(CUT, version=5), replace(CUT, removals=CUT.removals[:1])):
        with pytest.raises(ListMismatchError, match="is not the plan"):
            check(render_cut_csv(CUT), other)
