"""Random programmes recut, checked frame by frame against lists of frames that are plainly edited.

New lists are read by columns and counted by OpenTimelineIO; change lists are carried out on plain
Python lists. Neither uses the program's own reader or its own application of a change list.
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.programme.change_list import ChangeList, change_list
from impactcut.core.programme.spans import (
    apply_changes,
    merged_spans,
    spans_of_events,
    spans_of_pieces,
)
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.reel_match import match_events
from impactcut.errors import ListMismatchError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.sequence import list_names, sequence_of
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from tests.helpers.lists.recut_sequences import (
    Frames,
    Programme,
    changed,
    changed_back,
    frames_of_text,
    padded,
    programmes,
)

HOLDS = st.sampled_from([None, None, "tail", "head", "next"])


def recut_programme(
    programme: Programme, hold: str | None, whole_sound: bool
) -> tuple[EdlDocument, Recut]:
    document = parse_edl(programme.text, programme.timebase.rate)
    matches = match_events(sequence_of(document), list_names(programme.clips))
    events = [match.event for match in matches]
    return document, recut(events, programme.removals, hold, whole_sound)


def changes_of(programme: Programme, done: Recut) -> ChangeList:
    return change_list(("REEL 2", "REEL 2 B"), programme.timebase, done.events, done.pieces)


def old_frames(programme: Programme) -> Frames:
    return frames_of_text(
        programme.text, programme.timebase, programme.record_start, programme.length
    )


@settings(max_examples=500)
@given(programmes(), HOLDS, st.booleans())
def test_the_change_list_makes_the_new_list_of_the_old_and_the_old_of_the_new(
    programme: Programme, hold: str | None, whole_sound: bool
) -> None:
    document, done = recut_programme(programme, hold, whole_sound)
    (text,) = reissue(document, done, "REEL 2 B")
    changes = changes_of(programme, done)
    if changes.adjustments:
        changes = parse_change_csv(render_change_csv(changes))
    start, day = programme.record_start, programme.timebase.day
    old = old_frames(programme)
    new = frames_of_text(text, programme.timebase, start, programme.length)
    assert padded(changed(old, changes.adjustments, start, day)) == padded(new)
    assert padded(changed_back(padded(new), changes.adjustments, start, day)) == padded(old)
    check_recut((text,), document, done, changes)
    assert changes.old_length == programme.length
    assert changes.new_length == max(map(len, padded(new).values()))


@settings(max_examples=300)
@given(programmes())
def test_a_ripple_takes_the_same_record_frames_from_every_track(programme: Programme) -> None:
    document, done = recut_programme(programme, None, False)
    (text,) = reissue(document, done, "REEL 2 B")
    gone = {
        frame - programme.record_start
        for use in done.made
        for frame in range(use.record.start, use.record.stop)
    }
    wanted = {
        track: [shown for at, shown in enumerate(frames) if at not in gone]
        for track, frames in old_frames(programme).items()
    }
    new = frames_of_text(text, programme.timebase, programme.record_start, programme.length)
    assert padded(new) == padded(wanted)


@settings(max_examples=300)
@given(programmes(), st.sampled_from([None, "tail", "head", "next"]), st.booleans())
def test_what_goes_is_what_was_to_go(
    programme: Programme, hold: str | None, whole_sound: bool
) -> None:
    _, done = recut_programme(programme, hold, whole_sound)
    old = old_frames(programme)
    day = programme.timebase.day
    for use in done.made:
        clip, frames = use.removal.clip, use.removal.frames
        tracks = [t for t in use.events[0].tracks if t.startswith("V")]
        for place in range(len(frames)):
            source = (clip.source_start + frames.start + place) % day
            at = use.record.start + place - programme.record_start
            assert all((clip.reel, source) in old[track][at] for track in tracks)
    told = len(done.made) + len(done.refused) + len(done.absent)
    assert told >= len(programme.removals)
    named = {id(each.removal) for each in (*done.made, *done.refused)}
    named |= {id(removal) for removal in done.absent}
    assert named == {id(removal) for removal in programme.removals}


@settings(max_examples=300)
@given(programmes(), st.sampled_from(["tail", "head", "next"]), st.booleans())
def test_a_held_programme_keeps_its_length_and_every_other_sound(
    programme: Programme, hold: str, whole_sound: bool
) -> None:
    document, done = recut_programme(programme, hold, whole_sound)
    (text,) = reissue(document, done, "REEL 2 B")
    old = old_frames(programme)
    new = frames_of_text(text, programme.timebase, programme.record_start, programme.length)
    assert {t: len(each) for t, each in padded(new).items()} == {
        t: len(each) for t, each in padded(old).items()
    }
    assert [bool(each) for each in new["V"]] == [bool(each) for each in old["V"]]
    assert new["A4"] == old["A4"]
    if whole_sound:
        assert {t: new[t] for t in ("A1", "A2", "A3")} == {t: old[t] for t in ("A1", "A2", "A3")}


@settings(max_examples=200)
@given(programmes())
def test_a_list_recut_twice_does_not_change_again(programme: Programme) -> None:
    document, done = recut_programme(programme, None, False)
    (text,) = reissue(document, done, "REEL 2 B")
    _, twice = recut_programme(replace(programme, text=text), None, False)
    made = {(use.removal.clip.path, use.removal.frames) for use in done.made}
    repeated = [u for u in twice.made if (u.removal.clip.path, u.removal.frames) in made]
    left_before = {(u.removal.clip.path, u.removal.frames) for u in done.refused}
    assert all((u.removal.clip.path, u.removal.frames) in left_before for u in repeated)


@settings(max_examples=200)
@given(programmes(), HOLDS)
def test_the_spans_of_the_pieces_are_those_of_the_change_list(
    programme: Programme, hold: str | None
) -> None:
    _, done = recut_programme(programme, hold, False)
    changes = changes_of(programme, done)
    made = apply_changes(spans_of_events(done.events), changes.adjustments)
    day = programme.timebase.day
    assert merged_spans(made, day) == merged_spans(spans_of_pieces(done.pieces), day)


@settings(max_examples=100)
@given(programmes(), HOLDS, st.data())
def test_a_change_list_that_is_off_by_a_frame_is_not_handed_over(
    programme: Programme, hold: str | None, data: st.DataObject
) -> None:
    document, done = recut_programme(programme, hold, False)
    changes = changes_of(programme, done)
    if not changes.adjustments:
        return
    texts = reissue(document, done, "REEL 2 B")
    at = data.draw(st.integers(0, len(changes.adjustments) - 1))
    left_out = [each for n, each in enumerate(changes.adjustments) if n != at]
    try:
        check_recut(texts, document, done, replace(changes, adjustments=tuple(left_out)))
    except ListMismatchError:
        return
    raise AssertionError("a change list without one of its rows passed")
