"""EDLs as independent readers see them: OpenTimelineIO's CMX3600 adapter, and pycmx.

Both go by the mark before the frames, not by the frame-code mode, and neither checks limits:
test_edl_write does.
"""

from __future__ import annotations

import io
from collections import Counter

import opentimelineio as otio
import pycmx
import pytest

from impactcut.core.programme.assemble import assemble
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.write import render_edl
from tests.helpers.lists.independent_readers import (
    night_at_the_quay,
    night_cut,
    shown_by_opentimelineio,
    shown_by_pycmx,
)
from tests.helpers.lists.list_clips import (
    ALL_TIMEBASES,
    TIMEBASES,
    frame_of,
    make_clip,
    make_removal,
)


@pytest.mark.parametrize("reader", [shown_by_opentimelineio, shown_by_pycmx])
@pytest.mark.parametrize("timebase", ALL_TIMEBASES, ids=str)
def test_every_removed_frame_and_no_other_is_missing(timebase: Timebase, reader) -> None:
    clips, removals = night_at_the_quay(timebase)
    (text,) = render_edl(night_cut(timebase))
    shown = reader(text, timebase)
    there = Counter((reel, source) for reel, source, _ in shown)
    assert set(there.values()) == {1}
    everything = {(clip.reel, clip.source_start + f) for clip in clips for f in range(clip.frames)}
    removed = {
        (removal.clip.reel, removal.clip.source_start + removal.trim.first + frame)
        for removal in removals
        for frame in range(removal.trim.count)
    }
    assert len(removed) > 60
    assert everything - there.keys() == removed
    assert there.keys() <= everything
    start = frame_of("09:59:50;00" if timebase.drop_frame else "09:59:50:00", timebase)
    assert [record for _, _, record in shown] == list(range(start, start + len(shown)))


@pytest.mark.parametrize("timebase", ALL_TIMEBASES, ids=str)
def test_pycmx_sees_the_form_the_names_and_the_mode(timebase: Timebase) -> None:
    cut = night_cut(timebase)
    (text,) = render_edl(cut)
    edits = pycmx.parse_cmx3600(io.StringIO(text, newline=None))
    assert (edits.title, edits.format) == ("QUAY NIGHT", "3600")
    assert [event.number for event in edits.events] == list(range(1, len(cut.events) + 1))
    seen = [(edit.clip_name, edit.source_file) for event in edits.events for edit in event.edits]
    assert seen == [(event.clip.name, event.clip.name) for event in cut.events]


def test_opentimelineio_sees_clip_names_and_trim_notes() -> None:
    cut = night_cut(TIMEBASES[1])
    (text,) = render_edl(cut)
    (track,) = otio.adapters.read_from_string(text, "cmx_3600", rate=24).tracks
    assert [clip.name for clip in track] == [event.clip.name for event in cut.events]
    notes = [note for clip in track for note in clip.metadata["cmx_3600"].get("comments", [])]
    assert sum("REMOVED" in note for note in notes) == len(cut.removals)


def test_pycmx_reads_events_that_cross_midnight() -> None:
    clip = make_clip("A.mov", frames=48, start=24 * 86_400 - 24)
    cut = assemble("QUAY", [clip], [make_removal(clip, 30, 2)], record_start=24 * 86_400 - 10)
    edits = pycmx.parse_cmx3600(io.StringIO(render_edl(cut)[0], newline=None))
    lengths = [
        [(frame_of(last, clip.timebase) - frame_of(first, clip.timebase)) % (24 * 86_400)
         for first, last in ((e.source_in, e.source_out), (e.record_in, e.record_out))]
        for event in edits.events for e in event.edits
    ]  # fmt: skip
    assert lengths == [[30, 30], [16, 16]]
