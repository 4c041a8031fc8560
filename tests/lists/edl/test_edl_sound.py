"""Production sound beside picture in exported EDLs, as the second reader sees it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.check import check_edl
from impactcut.lists.edl.write import SoundLines, render_edl
from impactcut.lists.tables.change_list_csv import render_change_csv
from impactcut.lists.tables.change_list_of_cut import changes_of_cut, check_cut_changes
from impactcut.lists.tables.cut_list_csv import cut_rows
from tests.helpers.lists.list_clips import CUT, cut_lists, many_clips, planned_frames, with_sound
from tests.helpers.lists.second_reader import read_list
from tests.helpers.projects.quay_project import make_quay_project
from tests.helpers.running.commands import run_command

SOUNDS = st.builds(SoundLines, channels=st.integers(1, 6), apart=st.booleans())


@given(cut_lists(), SOUNDS, st.integers(0, 3))
def test_sound_lies_frame_by_frame_under_its_picture(
    cut: CutList, sound: SoundLines, silent: int
) -> None:
    cut = with_sound(cut, silent)
    texts = render_edl(cut, sound)
    check_edl(texts, cut, sound)
    tracks = {f"A{number}" for number in range(1, sound.channels + 1)}
    day = cut.timebase.day
    heard = {
        record
        for clip, _, record in planned_frames(cut.clips, cut.removals, cut.record_start)
        if clip.has_sound
    }
    shown: dict[tuple[str, int], object] = {}
    for text in texts:
        shown |= read_list(text, cut.timebase.counted).frames()
    picture = {at: what for (track, at), what in shown.items() if track == "V"}
    for (track, at), what in shown.items():
        assert what == picture[at] and (track == "V" or (at % day in heard and track in tracks))
    for track in tracks:
        assert {at for name, at in shown if name == track} == heard
    changes = render_change_csv(changes_of_cut(cut, sound))
    if cut.removals:
        check_cut_changes(changes, cut, sound)


def test_the_lines_of_both_ways() -> None:
    cut = with_sound(CUT, 1)
    together = render_edl(cut, SoundLines(4))[0].split("\r\n")
    assert together[2:5] == [
        "001  A004C011 AA/V  C        01:02:10:00 01:02:13:07 01:00:00:00 01:00:03:07",
        "* FROM CLIP NAME: A004C011_TAKE2.mov",
        "* SOURCE FILE: A004C011_TAKE2.mov",
    ]
    assert together[5] == "AUD  3    4"
    apart = [row for row in render_edl(cut, SoundLines(3, apart=True))[0].split("\r\n")[2:]
             if row[:3].isdigit() or row.startswith("AUD")]  # fmt: skip
    assert [row[:19].rstrip() for row in apart] == [
        "001  A004C011 V", "002  A004C011 AA", "AUD  3", "003  A004C011 V", "004  A004C011 AA",
        "AUD  3", "005  A005C003 V",
    ]  # fmt: skip
    (one,) = {row[14:18] for row in render_edl(cut, SoundLines(1))[0].split("\r\n")[2:6:4]}
    assert one == "B   "


def test_no_list_has_more_than_999_lines() -> None:
    clips = [replace(clip, has_sound=True) for clip in many_clips(700)]
    cut = assemble("QUAY", clips, [], record_start=86_400)
    sound = SoundLines(2, apart=True)
    texts = render_edl(cut, sound)
    check_edl(texts, cut, sound)
    lines = [len(read_list(text, 24).lines) for text in texts]
    assert lines == [998, 402]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("002  A004C011 AA ", "002  A004C011 A  "),
        ("AUD  3", "AUD  4"),
        ("002  A004C011 AA    C        01:02:10:00 01:02:13:07",
         "002  A004C011 AA    C        01:02:10:01 01:02:13:08"),
    ],
)  # fmt: skip
def test_sound_that_is_not_as_planned_is_not_handed_over(old: str, new: str) -> None:
    cut, sound = with_sound(CUT, 1), SoundLines(3, apart=True)
    (text,) = render_edl(cut, sound)
    assert old in text
    with pytest.raises(ListMismatchError):
        check_edl([text.replace(old, new, 1)], cut, sound)
    with pytest.raises(ListMismatchError):
        check_edl(render_edl(cut), cut, sound)


def test_channels_are_limited() -> None:
    for channels in (0, 25):
        with pytest.raises(ListFormatError, match="from 1 to 24"):
            SoundLines(channels)


def test_export_writes_sound_when_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    make_quay_project(tmp_path / "night.db")
    command = ("export", "--project", "night.db", "--only", "edl,changes", "--title", "Q")
    for way, channels in (("together", "AA/V"), ("apart", "AA")):
        assert run_command(*command, way, "--sound", way).exit_code == 0
        text = (tmp_path / way / "Q_24.edl").read_text("ascii")
        assert f" {channels:<4}  C" in text
        assert ",V A1 A2," in (tmp_path / way / "Q_24_changes.csv").read_text("utf-8")
    assert run_command(*command, "silent").exit_code == 0
    assert "AA" not in (tmp_path / "silent" / "Q_24.edl").read_text("ascii")
    result = run_command(*command, "many", "--sound", "apart", "--channels", "99")
    assert result.exit_code == 2


def test_a_clip_without_sound_stays_picture_only() -> None:
    assert not SoundLines(2).tracks(has_sound=False)


@given(cut_lists(), SOUNDS)
def test_the_csv_numbers_events_as_the_edl_does(cut: CutList, sound: SoundLines) -> None:
    cut = with_sound(cut, 1)
    texts, rows = render_edl(cut, sound), cut_rows(cut, sound)
    for row in rows:
        numbered = read_list(texts[row["part"] - 1], cut.timebase.counted).lines
        (line,) = [each for each in numbered if int(each.number) == row["event"]]
        assert "V" in line.tracks and line.reel == row["reel"]
        # The picture begins at the splice, or ends there where the end of the clip went.
        assert row["record_new_frame"] % cut.timebase.day in (
            line.record_in % cut.timebase.day, line.record_out % cut.timebase.day
        )  # fmt: skip
