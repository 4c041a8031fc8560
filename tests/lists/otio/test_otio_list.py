"""Timelines as OpenTimelineIO's own JSON reader sees them, and against the EDL of the same plan."""

from __future__ import annotations

import builtins
import csv
import io
from fractions import Fraction
from urllib.parse import unquote, urlsplit

import opentimelineio as otio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.programme_marks import marks_of
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.decision import Decision
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.write import SoundLines, render_edl
from impactcut.lists.otio.library import is_available
from impactcut.lists.otio.write import check_otio, render_otio
from impactcut.lists.reels import reel_names
from impactcut.lists.tables.marks_csv import render_marks_csv
from tests.helpers.lists.independent_readers import night_cut, shown_by_opentimelineio
from tests.helpers.lists.list_clips import (
    ALL_TIMEBASES,
    cut_lists,
    make_clip,
    make_entry,
    make_removal,
    planned_frames,
    with_sound,
)

CLIP = make_clip("S12_T2_A.mov", reel="A004C011", frames=200, start=89_520)
NAME = "夜 #7 50% Käi.mov"


def opened(text: str) -> otio.schema.Timeline:
    timeline = otio.adapters.read_from_string(text, "otio_json")
    assert isinstance(timeline, otio.schema.Timeline)
    return timeline


def frames_of(timeline: otio.schema.Timeline) -> list[tuple[str, int]]:
    """Address and source frame of every frame."""
    return [
        (clip.media_reference.target_url, clip.source_range.start_time.to_frames() + frame)
        for clip in timeline.find_clips()
        for frame in range(clip.source_range.duration.to_frames())
    ]


@pytest.mark.parametrize("timebase", ALL_TIMEBASES, ids=str)
def test_a_timeline_shows_the_frames_of_the_edl(timebase: Timebase) -> None:
    cut = night_cut(timebase)
    timeline = opened(render_otio(cut))
    (text,) = render_edl(cut)
    reels = {clip.reel: clip for clip in cut.clips}
    of_edl = [(reels[reel], source) for reel, source, _ in shown_by_opentimelineio(text, timebase)]
    by_path = {clip.path: clip for clip in cut.clips}
    of_otio = [
        (by_path[unquote(urlsplit(url).path)], source) for url, source in frames_of(timeline)
    ]
    assert of_otio == of_edl
    assert timeline.global_start_time.to_frames() == cut.record_start
    assert len(of_otio) == timeline.duration().to_frames()


@settings(max_examples=100)
@given(cut_lists())
def test_any_programme_opens_unchanged(cut: CutList) -> None:
    text = render_otio(cut)
    check_otio(text, cut)
    assert text == render_otio(cut)
    timeline = opened(text)
    assert timeline.to_json_string(indent=1) + "\n" == text
    planned = planned_frames(cut.clips, cut.removals, cut.record_start)
    day = cut.timebase.day
    assert [source % day for _, source in frames_of(timeline)] == [s for _, s, _ in planned]
    edl = [
        (event.source.start + frame) % day
        for part in render_edl(cut)
        for event in parse_edl(part, cut.timebase.rate).events
        for frame in range(len(event.source))
    ]
    assert [source % day for _, source in frames_of(timeline)] == edl


@pytest.mark.parametrize("timebase", ALL_TIMEBASES, ids=str)
def test_rates_are_exact(timebase: Timebase) -> None:
    clip = make_clip("A.mov", timebase=timebase, frames=100)
    timeline = opened(render_otio(assemble("Q", [clip], [], record_start=5)))
    (shown,) = timeline.find_clips()
    for time in (
        timeline.global_start_time,
        shown.source_range.start_time,
        shown.source_range.duration,
        shown.media_reference.available_range.duration,
    ):
        assert Fraction(time.rate).limit_denominator(1001) == timebase.rate
        assert time.rate == float(timebase.rate)
    metadata = timeline.metadata["impactcut"]
    assert Fraction(metadata["rate"]) == timebase.rate
    assert metadata["count_mode"] == ("drop-frame" if timebase.drop_frame else "non-drop")


def test_handles_are_the_whole_clip() -> None:
    cut = assemble("Q", [CLIP], [make_removal(CLIP, 40, 2)], record_start=0)
    for clip in opened(render_otio(cut)).find_clips():
        available = clip.available_range()
        assert (available.start_time.value, available.duration.value) == (89_520, 200)
        assert available.extended_by(clip.source_range) == available


def test_contacts_are_marked_where_they_are_seen() -> None:
    other = make_clip("S12_T3_B.mov", frames=50)
    cut = assemble("Q", [CLIP], [make_removal(CLIP, 40, 2)], record_start=0)
    hits = [
        make_entry(CLIP, 3, 41, 2.5),
        make_entry(CLIP, 1, 20, 1.5),
        make_entry(CLIP, 4, 42, 1.0),
        make_entry(other, 9, 5, 1.0),
    ]
    clips = list(opened(render_otio(cut, hits)).find_clips())
    told = [
        [(m.name, m.marked_range.start_time.value, m.marked_range.duration.value,
          m.metadata["impactcut"].get("contact_taken_out")) for m in clip.markers]
        for clip in clips
    ]  # fmt: skip
    assert told == [
        [("hit 1", 89_540, 1, False)],
        [("hit 3", 89_562, 1, True), ("hit 4", 89_562, 1, False),
         ("splice of hit 1", 89_562, 1, None)],
    ]  # fmt: skip
    splice = clips[1].markers[2].metadata["impactcut"]
    assert (splice["frames_out"], splice["speed_gain"], splice["verdict"]) == (
        2, 1.18, "shows to nobody"
    )  # fmt: skip


def test_a_contact_at_the_end_of_a_clip_that_went_is_marked_on_the_last_frame_left() -> None:
    cut = assemble("Q", [CLIP], [make_removal(CLIP, 197, 3)], record_start=100)
    found = [
        (m.kind, m.frame, m.record, m.moved) for m in marks_of(cut, [make_entry(CLIP, 1, 199, 2)])
    ]
    assert found == [("contact", 196, 296, True), ("splice", 196, 296, False)]


SOUNDS = st.builds(SoundLines, channels=st.integers(1, 4), apart=st.booleans())


@settings(max_examples=100)
@given(cut_lists(), SOUNDS, st.integers(0, 3))
def test_sound_lies_under_its_picture_on_tracks_of_its_own(
    cut: CutList, sound: SoundLines, silent: int
) -> None:
    cut = with_sound(cut, silent)
    hits = [make_entry(clip, at, at % clip.frames, 2.0) for at, clip in enumerate(cut.clips)]
    text = render_otio(cut, hits, sound=sound)
    check_otio(text, cut, hits, sound)
    timeline = opened(text)
    picture, *heard = timeline.tracks
    assert picture.kind == otio.schema.TrackKind.Video
    assert [track.name for track in heard] == [
        f"A{n}" for n in range(1, sound.channels + 1) if any(c.has_sound for c in cut.clips)
    ]
    for track in heard:
        assert track.kind == otio.schema.TrackKind.Audio
        assert track.duration() == picture.duration()
        for seen, sounding in zip(picture, track, strict=True):
            assert seen.duration() == sounding.duration()
            if isinstance(sounding, otio.schema.Clip):
                assert sounding.source_range == seen.source_range
                assert sounding.media_reference.target_url == seen.media_reference.target_url
                assert not sounding.markers
    ids = [clip.metadata["impactcut"]["id"] for clip in timeline.find_clips()]
    assert len(ids) == len(set(ids))
    reels = reel_names(cut.clips)
    by_url = {clip.media_reference.target_url: clip for clip in timeline.find_clips()}
    assert {clip.metadata["cmx_3600"]["reel"] for clip in by_url.values()} == set(reels.values())
    count = sum(len(clip.markers) for clip in picture.find_clips())
    assert count == len(cut.removals) + len(hits)
    with pytest.raises(ListMismatchError):
        check_otio(text, cut, hits[1:], sound)


@settings(max_examples=100)
@given(cut_lists())
def test_marks_lie_where_the_edl_shows_their_frames(cut: CutList) -> None:
    hits = [make_entry(clip, at, at % clip.frames, 2.0) for at, clip in enumerate(cut.clips)]
    marks = marks_of(cut, hits)
    text = render_marks_csv(marks, cut.timebase)
    day = cut.timebase.day
    shown = {
        record: (clip.name, source)
        for clip, source, record in planned_frames(cut.clips, cut.removals, cut.record_start)
    }
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert len(rows) == len(hits) + len(cut.removals)
    for row, mark in zip(rows, marks, strict=True):
        name, source = shown[int(row["record_frame"]) % day]
        assert (name, source) == (
            mark.hit.clip.name,
            (mark.hit.clip.source_start + int(row["frame"])) % day,
        )


def test_trims_stand_under_one_key_and_names_are_whole() -> None:
    clip = make_clip(NAME, reel="A1", frames=200, folder="/quay/nuit & jour")
    decision = Decision("approved", FrameRange(40, 42), "Inés", "2024-03-01T20:00:00Z", "härter")
    cut = assemble(
        "KAI «NACHT»", [clip], [make_removal(clip, 40, 2, hit=5, decision=decision)], record_start=0
    )
    timeline = opened(render_otio(cut))
    assert timeline.name == "KAI «NACHT»"
    assert list(timeline.metadata) == ["impactcut"]
    (trim,) = timeline.metadata["impactcut"]["trims"]
    assert (trim["hit"], trim["first_frame"], trim["last_frame"]) == ("5", 40, 41)
    assert (trim["decision"], trim["who"], trim["note"]) == ("approved", "Inés", "härter")
    for shown in timeline.find_clips():
        assert shown.name == NAME
        assert list(shown.media_reference.metadata) == ["cmx_3600", "impactcut"]
        # RFC 3986: reserved characters of a name are percent-encoded.
        address = urlsplit(shown.media_reference.target_url)
        assert (address.scheme, address.query, address.fragment) == ("file", "", "")
        assert unquote(address.path) == clip.path


@pytest.mark.parametrize("path", ["C:\\quay\\A 1.mov", "c:/quay/A 1.mov"])
def test_paths_with_a_drive_have_an_address(path: str) -> None:
    clip = make_clip("A 1.mov", frames=10)
    object.__setattr__(clip, "path", path)
    (shown,) = opened(render_otio(assemble("Q", [clip], [], record_start=0))).find_clips()
    assert shown.media_reference.target_url == f"file:///{path[0]}:/quay/A%201.mov"


def test_a_timeline_of_another_plan_is_not_handed_over() -> None:
    cut = assemble("Q", [CLIP], [make_removal(CLIP, 40, 2)], record_start=0)
    text = render_otio(cut)
    check_otio(text, cut)
    for other in (
        assemble("Q", [CLIP], [make_removal(CLIP, 41, 2)], record_start=0),
        assemble("Q", [CLIP], [make_removal(CLIP, 40, 2)], record_start=1),
        assemble("Q", [CLIP], [], record_start=0),
    ):
        with pytest.raises(ListMismatchError, match="is not the plan"):
            check_otio(text, other)


def test_without_the_extra_the_remedy_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    assert is_available()
    plain_import = builtins.__import__

    def refuse(name: str, *rest: object) -> object:
        if name.startswith("opentimelineio"):
            raise ImportError(name)
        return plain_import(name, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", refuse)
    cut = assemble("Q", [CLIP], [], record_start=0)
    with pytest.raises(ListFormatError, match=r"python -m pip install 'opentimelineio>=0\.17'"):
        render_otio(cut)
