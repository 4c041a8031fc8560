"""Change lists between versions: carried out on one version, they make the next.

A version is spelled out as lists of frames, a list a track, which the rows of the CSV, read by the
standard library, are carried out on by hand.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.delivery import DeliveredClip, DeliveredHit, DeliveredList
from impactcut.core.programme.spans import merged_spans, spans_of_events, undo_changes
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListMismatchError
from impactcut.lists.edl.write import SoundLines
from impactcut.lists.reels import reel_names
from impactcut.lists.tables import change_list_of_cut
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from impactcut.lists.tables.change_list_of_cut import changes_of_cut, check_cut_changes
from tests.helpers.lists.list_clips import ALL_TIMEBASES, make_clip, make_removal

FILM = Timebase(Fraction(24))
START = 86_400
Frame = tuple[str, int] | None
"""Reel and source frame; None where a track holds nothing."""


def handed_over(cut: CutList) -> DeliveredList:
    """What the project keeps of a cut."""
    reels = reel_names(cut.clips)
    numbers = {clip: int(clip.path.split("/")[2]) for clip in cut.clips}
    clips = tuple(
        DeliveredClip(
            numbers[c], c.path, c.name, reels[c], c.frames, c.source_start, c.has_sound,
            c.section, c.take, c.angle, c.slate, c.circled, "aa",
        )
        for c in cut.clips
    )  # fmt: skip
    hits = tuple(
        DeliveredHit(
            r.hit.id, numbers[r.clip], r.called, r.hit.impact.contact, r.trim.first, r.trim.count,
            r.standing, f"hit {r.called}",
        )
        for r in cut.removals
    )  # fmt: skip
    return DeliveredList(
        "q", cut.title, cut.timebase.rate, cut.timebase.drop_frame, cut.record_start, clips, hits
    )


def tracks_of(cut: CutList, channels: int) -> dict[str, list[Frame]]:
    """What a cut shows, frame by frame."""
    reels, tracks = reel_names(cut.clips), ["V", *(f"A{n + 1}" for n in range(channels))]
    gone = {(r.clip, f) for r in cut.removals for f in range(r.frames.start, r.frames.stop)}
    kept = [(c, f) for c in cut.clips for f in range(c.frames) if (c, f) not in gone]
    return {
        track: [
            (reels[c], (c.source_start + f) % cut.timebase.day)
            if track == "V" or c.has_sound
            else None
            for c, f in kept
        ]
        for track in tracks
    }


def carried_out(
    text: str, shown: dict[str, list[Frame]], start: int, day: int
) -> dict[str, list[Frame]]:
    """The rows of a change list done one after the other, the last first."""
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    for row in reversed(rows):
        at, count = int(row["record_old_in_frame"]) - start, int(row["frames"])
        for track in row["tracks"].split():
            if row["record_old_in"] != row["record_old_out"]:
                del shown[track][at : at + count]
                continue
            comes: list[Frame] = [None] * count
            if row["source_first"]:
                first = int(row["source_first_frame"])
                comes = [(row["reel"], (first + n) % day) for n in range(count)]
            shown[track][at:at] = comes
    return shown


@st.composite
def _cut(draw: st.DrawFn, clips: Sequence[Clip], version: int) -> CutList:
    """Some of the clips, mostly in their order, with trims of their own."""
    chosen = [clip for clip in clips if draw(st.integers(0, 4))] or [clips[0]]
    if draw(st.integers(0, 4)) == 0:
        chosen = draw(st.permutations(chosen))
    removals: list[Removal] = []
    for clip in chosen:
        at = draw(st.integers(0, 12))
        while at < clip.frames - 1:
            count = draw(st.integers(1, min(3, clip.frames - at)))
            if count < clip.frames:
                removals.append(make_removal(clip, at, count, hit=at))
            at += count + draw(st.integers(1, 9))
    return assemble("QUAY", chosen, removals, record_start=START, version=version)


@st.composite
def versions(draw: st.DrawFn) -> tuple[CutList, CutList]:
    """Two versions of clips that partly come, go, change places, and have sound or none."""
    timebase = draw(st.sampled_from(ALL_TIMEBASES))
    clips = [
        replace(
            make_clip(
                f"S1_T{number}.mov", folder=f"/quay/{number}", reel=f"A00{number}",
                timebase=timebase, frames=draw(st.integers(2, 30)),
                start=draw(st.integers(0, timebase.day - 1)),
            ),
            has_sound=draw(st.booleans()),
        )
        for number in range(draw(st.integers(1, 4)))
    ]  # fmt: skip
    return draw(_cut(clips, 1)), draw(_cut(clips, 2))


@settings(max_examples=120)
@given(versions(), st.sampled_from([None, SoundLines(2), SoundLines(1, apart=True)]))
def test_applied_to_one_version_it_makes_the_next(
    both: tuple[CutList, CutList], sound: SoundLines | None
) -> None:
    old, new = both
    channels, day = 0 if sound is None else sound.channels, new.timebase.day
    since = (1, handed_over(old))
    changes = changes_of_cut(new, sound, since)
    wanted = tracks_of(new, channels)
    if not changes.adjustments:
        assert tracks_of(old, channels) == wanted
        return
    text = render_change_csv(changes)
    check_cut_changes(text, new, sound, since)
    made = carried_out(text, tracks_of(old, channels), START, day)
    for track, frames in wanted.items():
        assert made[track] == frames or not any(made[track] + frames), track
    assert (changes.old_length, changes.new_length) == (
        len(tracks_of(old, 0)["V"]),
        len(wanted["V"]),
    )


@settings(max_examples=80)
@given(versions())
def test_taken_back_it_makes_the_old_version_again(both: tuple[CutList, CutList]) -> None:
    old, new = both
    changes = changes_of_cut(new, None, (1, handed_over(old)))
    day = new.timebase.day
    before = spans_of_events(change_list_of_cut._pictured(old, None))
    after = spans_of_events(change_list_of_cut._pictured(new, None))
    undone = undo_changes(after, changes.adjustments)
    assert merged_spans(undone, day) == merged_spans(before, day)


def test_rows_say_what_to_do_and_on_whose_word() -> None:
    one, two, three = (
        make_clip(f"S1_T{n}.mov", folder=f"/quay/{n}", reel=f"A00{n}", frames=100, start=n * 1000)
        for n in (1, 2, 3)
    )
    old = assemble(
        "QUAY", [one, two], [make_removal(one, 40, 2, hit=1), make_removal(one, 60, 1, hit=2)],
        record_start=START,
    )  # fmt: skip
    new = assemble(
        "QUAY", [one, three], [make_removal(one, 41, 2, hit=1)], record_start=START, version=2
    )
    text = render_change_csv(changes_of_cut(new, None, (1, handed_over(old))))
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    names = ("operation", "event", "reel", "record_old_in", "record_old_out", "record_new",
             "frames", "running_offset", "note")  # fmt: skip
    assert [tuple(row[name] for name in names) for row in rows] == [
        ("put back", "1", "A001", "01:00:01:16", "01:00:01:16", "01:00:01:16", "1", "-1",
         "back in; it was out: hit 1"),
        ("remove inside", "2", "A001", "01:00:01:16", "01:00:01:17", "01:00:01:17", "1", "0",
         "hit 1, proposed"),
        ("put back", "2", "A001", "01:00:02:10", "01:00:02:10", "01:00:02:10", "1", "-1",
         "back in; it was out: hit 2"),
        ("remove clip", "4", "A002", "01:00:04:01", "01:00:08:05", "01:00:04:02", "100", "99",
         "no longer in the programme"),
        ("add clip", "", "A003", "01:00:08:05", "01:00:08:05", "01:00:04:02", "100", "-1",
         "not in the old version"),
    ]  # fmt: skip
    assert {(row["version_old"], row["version_new"]) for row in rows} == {
        ("QUAY, version 1", "QUAY, version 2")
    }


def test_a_damaged_list_is_noticed() -> None:
    clip = make_clip("S1_T1.mov", folder="/quay/1", frames=100)
    old = assemble("QUAY", [clip], [make_removal(clip, 40, 2)], record_start=START)
    new = assemble("QUAY", [clip], [make_removal(clip, 40, 3)], record_start=START, version=2)
    since = (1, handed_over(old))
    changes = changes_of_cut(new, None, since)
    (row,) = changes.adjustments
    assert (row.operation, row.frames, row.record.start) == ("remove inside", 1, START + 40)
    elsewhere = replace(changes, adjustments=(replace(row, record=row.record.shifted(1)),))
    with pytest.raises(ListMismatchError, match="does not make the new version"):
        check_cut_changes(render_change_csv(elsewhere), new, None, since)
    assert parse_change_csv(render_change_csv(changes)) == changes
