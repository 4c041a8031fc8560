"""Invented clips, trims and cut lists of the quay fight, and their frames spelled out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import opentimelineio as otio
from hypothesis import strategies as st

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal, Trim
from tests.helpers.projects.project_values import make_hit

DF30 = Timebase(Fraction(30000, 1001), True)
DF60 = Timebase(Fraction(60000, 1001), True)
TIMEBASES = (
    Timebase(Fraction(24000, 1001)),
    Timebase(Fraction(24)),
    Timebase(Fraction(25)),
    DF30,
    Timebase(Fraction(30000, 1001)),
    Timebase(Fraction(30)),
    Timebase(Fraction(50)),
    DF60,
)
ALL_TIMEBASES = (
    *TIMEBASES,
    Timebase(Fraction(48000, 1001)),
    Timebase(Fraction(48)),
    Timebase(DF60.rate),
    Timebase(Fraction(60)),
)


def make_clip(
    name: str = "A004C011_TAKE2.mov",
    *,
    reel: str | None = None,
    reel_source: str = "file",
    timebase: Timebase = TIMEBASES[1],
    frames: int = 200,
    start: int = 0,
    timecode_source: str = "file",
    folder: str = "/quay",
    section: str = "12",
    slate: str = "",
    circled: bool = False,
) -> Clip:
    return Clip(
        path=f"{folder}/{name}",
        name=name,
        reel=name.split(".")[0] if reel is None else reel,
        reel_source=reel_source,
        rate=timebase.rate,
        drop_frame=timebase.drop_frame,
        frames=frames,
        source_start=start,
        timecode_source=timecode_source,
        width=1920,
        height=1080,
        section=section,
        take="2",
        angle="A",
        slate=slate,
        circled=circled,
    )


def make_removal(
    clip: Clip, first: int, count: int, hit: int = 1, decision: Decision | None = None
) -> Removal:
    entry = replace(make_entry(clip, hit, first), decision=decision)
    return Removal(entry, Trim(first, count, 1.18, 0.7, "clean"))


def make_entry(
    clip: Clip, hit_id: int, contact: int, speed: float = 1.0, name: str = ""
) -> HitEntry:
    """A hit for which nothing is proposed; its speed in picture widths a second."""
    hit = make_hit(contact, peak_speed=speed)
    return HitEntry(hit_id, clip, hit, Proposal((), None, "none"), None, name=name)


def planned_frames(
    clips: Sequence[Clip], removals: Sequence[Removal], record_start: int
) -> list[tuple[Clip, int, int]]:
    """Clip, source count and record count of every frame of the programme, one by one."""
    gone = {
        (removal.clip, frame)
        for removal in removals
        for frame in range(removal.trim.first, removal.trim.first + removal.trim.count)
    }
    kept = [(clip, f) for clip in clips for f in range(clip.frames) if (clip, f) not in gone]
    day = clips[0].timebase.day
    return [
        (clip, (clip.source_start + frame) % day, (record_start + place) % day)
        for place, (clip, frame) in enumerate(kept)
    ]


def frame_of(label: str, timebase: Timebase) -> int:
    """Count of frames of a label, by OpenTimelineIO, which goes by the mark before the frames."""
    return otio.opentime.from_timecode(label, float(timebase.rate)).to_frames()


names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=40)


@st.composite
def cut_lists(draw: st.DrawFn) -> CutList:
    """Cut lists of a few clips at any rate, anywhere in the day, with trims that fit."""
    timebase = draw(st.sampled_from(ALL_TIMEBASES))
    clips, removals = [], []
    for number in range(draw(st.integers(1, 4))):
        clip = make_clip(
            draw(names),
            folder=f"/quay/{number}",
            reel=draw(names),
            reel_source=draw(st.sampled_from(["file", "user", "name"])),
            timebase=timebase,
            frames=draw(st.integers(1, 60)),
            start=draw(st.integers(0, timebase.day - 1)),
            timecode_source=draw(st.sampled_from(["file", "user", "assumed"])),
        )
        clips.append(clip)
        removals += draw(_trims(clip))
    start = draw(
        st.integers(0, timebase.day - 1) | st.integers(timebase.day - 99, timebase.day - 1)
    )
    return assemble(
        draw(names), clips, draw(st.permutations(removals)), record_start=start, version=3
    )


@st.composite
def _trims(draw: st.DrawFn, clip: Clip) -> list[Removal]:
    found, at = [], draw(st.integers(0, 20))
    while at < clip.frames:
        count = draw(st.integers(1, min(3, clip.frames - at)))
        if count < clip.frames:
            found.append(make_removal(clip, at, count, hit=at))
        at += count + draw(st.integers(1, 30))
    return found


def many_clips(count: int, frames: int = 10) -> list[Clip]:
    """Clips of one length, a thousand frames apart."""
    return [
        make_clip(f"S12_T{number}.mov", frames=frames, start=number * 1000)
        for number in range(count)
    ]


def with_sound(cut: CutList, silent: int) -> CutList:
    """The cut list with sound in all its clips but one."""
    heard = {
        clip: replace(clip, has_sound=at != silent % len(cut.clips))
        for at, clip in enumerate(cut.clips)
    }
    return replace(
        cut,
        events=tuple(replace(event, clip=heard[event.clip]) for event in cut.events),
        removals=tuple(
            replace(each, hit=replace(each.hit, clip=heard[each.clip])) for each in cut.removals
        ),
    )


HOUR = 86_400
# One source start each: 01:02:10:00 and midnight, at 24 frames a second.
FIRST = make_clip("A004C011_TAKE2.mov", reel="A004C011", frames=125, start=89_520)
SECOND = make_clip("A005C003.mov", frames=48, timecode_source="assumed")
CUT = assemble(
    "QUAY WAREHOUSE SC 12 TRIMS",
    [FIRST, SECOND],
    [make_removal(FIRST, 79, 2), make_removal(SECOND, 45, 3)],
    record_start=HOUR,
)
