"""The change list as CSV: out and back, damaged, and for an assembled programme.

Lists are plain counting: what is checked against is a list of frames that is edited by hand.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.change_list import Adjustment, ChangeList
from impactcut.core.programme.cutlist import CutList
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.decision import Decision
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.tables.change_list_csv import COLUMNS, parse_change_csv, render_change_csv
from impactcut.lists.tables.change_list_of_cut import changes_of_cut, check_cut_changes
from tests.helpers.lists.list_clips import cut_lists, make_clip, make_removal, planned_frames

FILM = Timebase(Fraction(24))
CLIP = make_clip('=夜, "quay".mov', reel="A1", frames=100, start=89_520)
CUT = assemble(
    "QUAY",
    [CLIP],
    [
        make_removal(CLIP, 40, 2, hit=1, decision=Decision("approved", FrameRange(40, 42), "Ines")),
        make_removal(CLIP, 60, 3, hit=2),
        make_removal(CLIP, 97, 3, hit=3),
    ],
    record_start=86_400,
)


def test_rows_of_an_assembled_programme() -> None:
    rows = list(csv.DictReader(io.StringIO(render_change_csv(changes_of_cut(CUT)), newline="")))
    names = ("operation", "record_old_in", "record_old_out", "record_new", "frames",
             "running_offset", "source_first", "source_last", "note")  # fmt: skip
    assert [tuple(row[name] for name in names) for row in rows] == [
        ("remove inside", "01:00:01:16", "01:00:01:18", "01:00:01:16", "2", "2", "01:02:11:16",
         "01:02:11:17", "hit 1, approved by Ines"),
        ("remove inside", "01:00:02:12", "01:00:02:15", "01:00:02:10", "3", "5", "01:02:12:12",
         "01:02:12:14", "hit 2, proposed"),
        ("trim tail", "01:00:04:01", "01:00:04:04", "01:00:03:20", "3", "8", "01:02:14:01",
         "01:02:14:03", "hit 3, proposed"),
    ]  # fmt: skip
    whole = {"version_old": "QUAY, untrimmed", "version_new": "QUAY, version 1", "rate": "24/1",
             "count_mode": "non-drop", "start": "01:00:00:00", "start_frame": "86400",
             "length_old": "100", "length_new": "92", "tracks": "V", "reel": "A1",
             "clip": "'=夜, \"quay\".mov"}  # fmt: skip
    assert all(whole.items() <= row.items() for row in rows)
    assert tuple(rows[0]) == COLUMNS


def test_assumed_timecode_is_marked() -> None:
    clip = replace(CLIP, timecode_source="assumed", source_start=0)
    cut = assemble("QUAY", [clip], [make_removal(clip, 40, 2)], record_start=0)
    assert "source timecode assumed" in changes_of_cut(cut).adjustments[0].note


@settings(max_examples=300)
@given(cut_lists())
def test_a_change_list_makes_the_trimmed_programme(cut: CutList) -> None:
    changes = changes_of_cut(cut)
    old = planned_frames(cut.clips, [], cut.record_start)
    frames = [place[:2] for place in old]
    if changes.adjustments:
        text = render_change_csv(changes)
        check_cut_changes(text, cut)
        changes = parse_change_csv(text)
    for change in reversed(changes.adjustments):
        at = change.record.start - cut.record_start
        del frames[at : at + change.frames]
    planned = planned_frames(cut.clips, cut.removals, cut.record_start)
    assert frames == [place[:2] for place in planned]
    assert (changes.old_length, changes.new_length) == (len(old), len(frames))


def adjustments() -> st.SearchStrategy[Adjustment]:
    @st.composite
    def one(draw: st.DrawFn) -> Adjustment:
        frames = draw(st.integers(1, 9))
        at = draw(st.integers(0, 5_000_000))
        operation = draw(st.sampled_from(["trim head", "extend head", "extend tail", "close gap"]))
        gone = 0 if operation.startswith("extend") else frames
        gap = operation == "close gap"
        first = draw(st.integers(-5, 5_000_000))
        text = st.text(st.characters(codec="utf-8"), max_size=8)
        return Adjustment(
            operation,
            frozenset(draw(st.lists(st.sampled_from(["V", "A1", "A10"]), min_size=1))),
            FrameRange(at, at + gone),
            draw(st.integers(0, 5_000_000)),
            frames,
            draw(st.integers(-9, 9)),
            0 if gap else draw(st.integers(1, 9999)),
            "" if gap else draw(text),
            "" if gap else draw(text),
            None if gap else FrameRange(first, first + frames),
            None if gap else FILM,
            draw(text),
        )

    return one()


@given(st.lists(adjustments(), min_size=1, max_size=5), st.text(st.characters(codec="utf-8")))
def test_any_change_list_comes_back(found: list[Adjustment], title: str) -> None:
    changes = ChangeList(title, title[::-1], FILM, 86_400, 100, 92, tuple(found))
    assert parse_change_csv(render_change_csv(changes)) == changes


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("number,", "row,", "first row must be number,"),
        ("01:00:01:16,86440", "01:00:01:17,86440", "row 2: record_old_in is 01:00:01:17"),
        ("2,remove inside", "3,remove inside", "row 3: number is 3, and must be 2"),
        ("trim tail", "trim", "row 4: 'trim'"),
        (",2,2,01", ",3,2,01", "row 2: record_old_out is"),
        ("01:02:11:17,89561", "01:02:11:18,89562", "row 2: source_last is"),
        ("100,92\r\n2,", "100,93\r\n2,", "row 3: length_new is 92, and must be 93"),
        ("24/1", "24/0", "row 2"),
        ('"hit 1, approved by Ines",', "", "row 2 has 27 cells, not 28"),
    ],
)
def test_a_damaged_list_is_refused_with_its_row(old: str, new: str, fault: str) -> None:
    text = render_change_csv(changes_of_cut(CUT))
    assert old in text
    with pytest.raises(ListFormatError, match=fault):
        parse_change_csv(text.replace(old, new, 1))
    with pytest.raises(ListMismatchError):
        check_cut_changes(text.replace(old, new, 1), CUT)


def test_a_list_without_rows_is_refused() -> None:
    with pytest.raises(ListFormatError, match="no row"):
        parse_change_csv(",".join(COLUMNS) + "\r\n")


def test_a_change_list_of_another_plan_is_not_handed_over() -> None:
    text = render_change_csv(changes_of_cut(CUT))
    other = assemble("QUAY", [CLIP], CUT.removals[:2], record_start=86_400)
    with pytest.raises(ListMismatchError, match="does not make the new version"):
        check_cut_changes(text, other)


@given(st.text())
def test_any_text_is_read_or_refused(text: str) -> None:
    for damaged in (text, render_change_csv(changes_of_cut(CUT)) + text):
        try:
            parse_change_csv(damaged)
        except ListFormatError as error:
            assert str(error)
