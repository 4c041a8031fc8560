"""Timelines, made by hand or at random, recut, and spelled out frame by frame by a walk of its own.

The walk goes by what OpenTimelineIO's documents say of time ranges (a track lays its children end
to end, a stack over one another from 0, a source range shows a part); it shares nothing with the
program's own reader.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any

import opentimelineio as otio

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.change_list import change_list
from impactcut.core.programme.cutlist import Removal
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.recut_marks import marks_of_recut
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.sequence import list_names
from impactcut.lists.otio.own import list_metadata
from impactcut.lists.otio.recut_check import check_timeline
from impactcut.lists.otio.reissue import reissue_timeline
from impactcut.lists.otio.sequence import matched_timeline, read_timeline
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from tests.helpers.lists.list_clips import make_clip

RATE = 24.0
START = 86_400
A = make_clip("S12_T2_A.mov", reel="A1", frames=240, start=1000)
B = make_clip("S12_T3_B.mov", reel="B1", frames=240, start=172_800)
KNOWN = {"A": A, "B": B}
FOREIGN = 50_000
"""First source frame of a clip that is not the project's."""
Video, Audio = otio.schema.TrackKind.Video, otio.schema.TrackKind.Audio


def span(start: int, length: int, rate: float = RATE) -> otio.opentime.TimeRange:
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(start, rate), otio.opentime.RationalTime(length, rate)
    )


def clip(which: str, first: int, length: int, *effects: Any, **more: Any) -> otio.schema.Clip:
    """Frames of a clip of the project, counted from its first, or of another."""
    known = KNOWN.get(which)
    start = FOREIGN if known is None else known.source_start
    name = f"{which}.mov" if known is None else known.name
    reference = otio.schema.ExternalReference(target_url=f"file:///quay/{name}")
    made = otio.schema.Clip(which, reference, span(start + first, length), **more)
    made.effects.extend(effects)
    return made


def gap(length: int) -> otio.schema.Gap:
    return otio.schema.Gap(source_range=span(0, length))


def fade(before: int, after: int) -> otio.schema.Transition:
    time = otio.opentime.RationalTime
    return otio.schema.Transition("FOG", "SMPTE_Dissolve", time(before, RATE), time(after, RATE))


def track(*children: Any, kind: str = Video, shown: Any = None) -> otio.schema.Track:
    return otio.schema.Track("", children, shown, kind)


def stack(*children: Any, shown: Any = None) -> otio.schema.Stack:
    return otio.schema.Stack("NEST", children, shown)


def timeline(*tracks: Any) -> otio.schema.Timeline:
    made = otio.schema.Timeline("QUAY", global_start_time=otio.opentime.RationalTime(START, RATE))
    made.tracks.extend(tracks)
    return made


def frames_of(item: Any) -> list[Any]:
    """What an item shows, frame by frame: nested tuples of names with source frames."""
    if isinstance(item, otio.schema.Clip):
        start, length = (int(t.value) for t in (item.trimmed_range().start_time, item.duration()))
        return [(item.name, start + at) for at in range(length)]
    if isinstance(item, otio.schema.Gap):
        return [None] * int(item.duration().value)
    if isinstance(item, otio.schema.Track):
        inner = [
            frame
            for child in item
            if not isinstance(child, otio.schema.Transition)
            for frame in frames_of(child)
        ]
    else:
        layers = [frames_of(child) for child in item]
        longest = max(map(len, layers), default=0)
        padded = [layer + [None] * (longest - len(layer)) for layer in layers]
        inner = list(zip(*padded, strict=True))
    if item.source_range is not None:
        start = int(item.source_range.start_time.value)
        inner = inner[start : start + int(item.source_range.duration.value)]
    return inner


def shows_a_clip(shown: Any) -> bool:
    """Whether there is a name anywhere in nested lists and tuples."""
    return isinstance(shown, str) or (
        isinstance(shown, list | tuple) and any(map(shows_a_clip, shown))
    )


def sides(made: otio.schema.Timeline) -> list[Any]:
    """Each transition with the last frame before its cut and the first after it, in tree order."""
    found = []
    waiting: list[Any] = [made.tracks]
    while waiting:
        item = waiting.pop(0)
        if isinstance(item, otio.core.Composition):
            waiting += list(item)
        if isinstance(item, otio.schema.Track):
            for before, between in pairwise(item):
                if isinstance(between, otio.schema.Transition):
                    after = item[item.index(between) + 1]
                    last = frames_of(before)[-1] if isinstance(before, otio.schema.Clip) else None
                    first = frames_of(after)[0] if isinstance(after, otio.schema.Clip) else None
                    found.append((between.to_json_string(), last, first))
    return found


def text_of(made: otio.schema.Timeline) -> str:
    return str(made.to_json_string())


def recut_made(
    made: otio.schema.Timeline,
    *removals: Removal,
    hold: Any = None,
    whole: bool = False,
    hits: Sequence[HitEntry] = (),
) -> tuple[otio.schema.Timeline, Recut]:
    """The new timeline, checked as it is before it is handed over."""
    text = text_of(made)
    old = read_timeline(text, hold is not None)
    matches = matched_timeline(old, list_names((A, B)), {})
    done = recut([match.event for match in matches], removals, hold, whole)
    changes = change_list(("Q", "Q2"), Timebase(Fraction(24)), done.events, done.pieces)
    if changes.adjustments:
        changes = parse_change_csv(render_change_csv(changes))
    marks = marks_of_recut(done, hits)
    own = list_metadata(Timebase(Fraction(24)), "")
    new = reissue_timeline(read_timeline(text), done, "Q2", marks, own)
    check_timeline(new, old, done, changes, "Q2", marks)
    return otio.adapters.read_from_string(new, "otio_json"), done


def told(done: Recut) -> list[tuple[int, str]]:
    return [(each.number, each.reason) for each in done.refused]


def rippled(item: Any, done: Recut) -> list[Any]:
    """The frames of all tracks, or of one, without those at which uses were made."""
    gone = {f - START for use in done.made for f in range(use.record.start, use.record.stop)}
    return [frame for at, frame in enumerate(frames_of(item)) if at not in gone]
