"""A night's programme, and what independent readers of EDLs see of it, frame by frame."""

from __future__ import annotations

import io

import opentimelineio as otio
import pycmx

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from tests.helpers.lists.list_clips import frame_of, make_clip, make_removal

Shown = list[tuple[str, int, int]]


def night_at_the_quay(timebase: Timebase) -> tuple[list[Clip], list[Removal]]:
    """Thirty clips of a few seconds from hours 1 to 22, each with up to three trims."""
    clips = [
        make_clip(
            f"S12_T{number:02d}_A.mov",
            reel=f"A{number:03d}C001",
            timebase=timebase,
            frames=97 + 31 * number,
            start=timebase.frame(f"{1 + number * 21 // 30:02d}:59:57:05") + number,
        )
        for number in range(30)
    ]
    removals = [
        make_removal(clip, first, count, hit=count)
        for number, clip in enumerate(clips)
        for first, count in [(number, 1), (40 + number, 2), (clip.frames - 3, 3)][: number % 4]
    ]
    return clips, removals


def night_cut(timebase: Timebase) -> CutList:
    clips, removals = night_at_the_quay(timebase)
    record_start = timebase.frame("09:59:50:00")
    return assemble("QUAY NIGHT", clips, removals, record_start=record_start)


def shown_by_opentimelineio(text: str, timebase: Timebase) -> Shown:
    """Reel, source frame and record frame of every frame."""
    timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=float(timebase.rate))
    (track,) = timeline.tracks
    shown: Shown = []
    record = -track.source_range.start_time.to_frames()
    for clip in track:
        start = clip.source_range.start_time.to_frames()
        reel = clip.metadata["cmx_3600"]["reel"]
        for frame in range(clip.source_range.duration.to_frames()):
            shown.append((reel, start + frame, record))
            record += 1
    return shown


def shown_by_pycmx(text: str, timebase: Timebase) -> Shown:
    """Reel, source frame and record frame of every frame."""
    edits = pycmx.parse_cmx3600(io.StringIO(text, newline=None))
    assert not list(edits.unrecognized_statements)
    shown: Shown = []
    for edit in (edit for event in edits.events for edit in event.edits):
        source_in, source_out, record_in, record_out = (
            frame_of(label, timebase)
            for label in (edit.source_in, edit.source_out, edit.record_in, edit.record_out)
        )
        assert source_out - source_in == record_out - record_in
        shown += [
            (edit.source, source_in + frame, record_in + frame)
            for frame in range(source_out - source_in)
        ]
    return shown
