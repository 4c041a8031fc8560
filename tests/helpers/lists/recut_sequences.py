"""Invented programmes of the quay fight as EDL text, and their frames spelled out one by one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from hypothesis import strategies as st

from impactcut.core.programme.change_list import Adjustment
from impactcut.core.programme.cutlist import Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from tests.helpers.lists.list_clips import ALL_TIMEBASES, frame_of, make_clip, make_removal

Frames = dict[str, list[frozenset[tuple[object, ...]]]]
"""For each track, what every frame of the programme shows, from its first frame on."""


@dataclass(frozen=True)
class Programme:
    """A list, the clips that it may show, and what is to go out of them."""

    text: str
    timebase: Timebase
    clips: tuple[Clip, ...]
    removals: tuple[Removal, ...]
    record_start: int
    length: int

    def __repr__(self) -> str:
        clips = [f"{c.name} {c.source_label(0)} {c.frames}" for c in self.clips]
        trims = [f"{each.clip.name} {each.frames}" for each in self.removals]
        return "\n".join([str(self.timebase), self.text, *clips, *trims])


@dataclass
class _Line:
    channels: str
    reel: str
    name: str
    source: FrameRange
    record: FrameRange
    dissolve: int = 0
    speed: str = ""


@st.composite
def programmes(draw: st.DrawFn) -> Programme:
    """Programmes of one to ten shots with sound beside and below them, at any rate and hour."""
    timebase = draw(st.sampled_from(ALL_TIMEBASES))
    clips = tuple(
        make_clip(
            f"S12_T{number}_A.mov",
            reel=f"A00{number}",
            timebase=timebase,
            frames=draw(st.integers(60, 120)),
            start=draw(st.sampled_from([0, 86_400, timebase.day - 50, timebase.day - 1])),
        )
        for number in range(1, 4)
    )
    shuffled = draw(st.integers(0, 4)) == 0
    starts = [0, 3600 * timebase.counted - 20]
    start = draw(st.sampled_from(starts if shuffled else [*starts, timebase.day - 40]))
    blocks = draw(_picture(clips, start))
    length = max(line.record.stop for block in blocks for line in block) - start
    blocks += draw(_elsewhere(clips, start, length))
    blocks.sort(key=lambda block: block[0].record)
    if shuffled:
        blocks = draw(st.permutations(blocks))
    end = max(line.record.stop for block in blocks for line in block)
    removals = draw(_removals(clips, blocks))
    text = _written(blocks, timebase)
    return Programme(text, timebase, clips, removals, start, end - start)


@st.composite
def _picture(draw: st.DrawFn, clips: Sequence[Clip], start: int) -> list[list[_Line]]:
    blocks: list[list[_Line]] = []
    at = start
    for _ in range(draw(st.integers(1, 10))):
        at += draw(st.sampled_from([0, 0, 0, 0, 1, 7])) if blocks else 0
        channels = draw(st.sampled_from(["V", "V", "B", "AA/V", "A2/V"]))
        line = draw(_shot(clips, at, channels))
        kind = draw(
            st.sampled_from(
                ["cut"] * 7
                + ["motion", "dissolve", "odd", "through", "through", "from shot", "alone"]
            )
        )
        if kind == "motion":
            line.speed = "048.0"
        elif kind == "odd":
            line.source = FrameRange(line.source.start, line.source.stop + 3)
        elif kind == "through" and blocks:
            _run_on(line, blocks[-1][-1], clips)
        block = [line]
        if kind == "dissolve" and blocks:
            before = blocks[-1][-1]
            stop = before.source.stop
            out = _Line(channels, before.reel, before.name, FrameRange(stop, stop),
                        FrameRange(at, at))  # fmt: skip
            line.dissolve = draw(st.integers(1, 12))
            block = [out, line]
        elif kind in ("from shot", "alone"):
            line.dissolve = draw(st.integers(1, 12))
            last = blocks[-1] if blocks else []
            if kind == "from shot" and len(last) == 1 and last[0].channels != "AA":
                block = [*blocks.pop(), line]
        blocks.append(block)
        if channels == "V" and draw(st.booleans()):
            early = draw(st.sampled_from([0, 0, 2])) if at > start + 2 else 0
            record = line.record.shifted(-early)
            blocks.append([_Line("AA", line.reel, line.name, line.source, record)])
        at = line.record.stop
    return blocks


def _run_on(line: _Line, before: _Line, clips: Sequence[Clip]) -> None:
    """Let a shot go on where the one before it ends, if its clip lasts."""
    stop = before.source.stop + len(line.source)
    if any(c.reel == before.reel and stop <= c.source_start + c.frames for c in clips):
        line.reel, line.name = before.reel, before.name
        line.source = FrameRange(before.source.stop, stop)


@st.composite
def _shot(draw: st.DrawFn, clips: Sequence[Clip], at: int, channels: str) -> _Line:
    clip = draw(st.sampled_from(clips))
    length = draw(st.integers(1, 50))
    first = draw(st.integers(0, clip.frames - length))
    source = FrameRange(clip.source_start + first, clip.source_start + first + length)
    known = draw(st.sampled_from([True] * 9 + [False]))
    reel, name = (clip.reel, clip.name) if known else ("WILD", "")
    return _Line(channels, reel, name, source, FrameRange(at, at + length))


@st.composite
def _elsewhere(
    draw: st.DrawFn, clips: Sequence[Clip], start: int, length: int
) -> list[list[_Line]]:
    """Overlays on a second picture track, and sound that runs under the cuts."""
    blocks = []
    for channels in ("V2", "A3", "A4"):
        at = start + draw(st.integers(0, length))
        while at < start + length and draw(st.booleans()):
            line = draw(_shot(clips, at, channels))
            if channels == "A4":
                stop = line.record.start + draw(st.integers(1, length))
                line = _Line("A4", "MUSIC", "", FrameRange(900, 900 + stop - at),
                             FrameRange(at, stop))  # fmt: skip
            blocks.append([line])
            at = line.record.stop + draw(st.integers(0, 9))
    return blocks


@st.composite
def _removals(
    draw: st.DrawFn, clips: Sequence[Clip], blocks: Sequence[Sequence[_Line]]
) -> tuple[Removal, ...]:
    """Trims of one to three frames in and around what the programme shows, none touching."""
    found = []
    for clip in clips:
        taken: list[FrameRange] = []
        for line in (line for block in blocks for line in block if line.reel == clip.reel):
            if draw(st.booleans()):
                first = line.source.start - clip.source_start
                last = len(line.source)
                at = first + draw(st.integers(-1, max(1, last)) | st.just(last - 1))
                frames = FrameRange(at, at + draw(st.integers(1, 3)))
                apart = all(
                    frames.stop < other.start or other.stop < frames.start for other in taken
                )
                if apart and frames.start >= 0 and frames.stop <= clip.frames:
                    taken.append(frames)
        found += [make_removal(clip, f.start, len(f), hit=n) for n, f in enumerate(taken, 1)]
    return tuple(found)


def _written(blocks: Iterable[Sequence[_Line]], timebase: Timebase) -> str:
    mode = "DROP FRAME" if timebase.drop_frame else "NON-DROP FRAME"
    lines = ["TITLE: QUAY REEL 2", f"FCM: {mode}"]
    for number, block in enumerate(blocks, 1):
        for line in block:
            transition = f"D    {line.dissolve:03d}" if line.dissolve else "C       "
            times = (line.source.start, line.source.stop, line.record.start, line.record.stop)
            labels = " ".join(map(timebase.label, times))
            lines.append(f"{number:03d}  {line.reel:<8} {line.channels:<4}  {transition} {labels}")
            if line.speed:
                label = timebase.label(line.source.start)
                lines.append(f"M2   {line.reel:<8}       {line.speed}                {label}")
        names = [line.name for line in block]
        if names[0]:
            lines.append(f"* FROM CLIP NAME: {names[0]}")
        if len(names) > 1 and names[1]:
            lines.append(f"* TO CLIP NAME: {names[1]}")
    return "".join(f"{line}\r\n" for line in lines)


_EVENT = re.compile(
    r"(\d{3})  (.{8}) (.{4})  (.{4}) (.{3}) (\S{11}) (\S{11}) (\S{11}) (\S{11})", re.ASCII
)
_TRACKS = {
    "V": ("V",), "V2": ("V2",), "B": ("V", "A1"), "AA/V": ("A1", "A2", "V"),
    "A2/V": ("A2", "V"), "AA": ("A1", "A2"), "A": ("A1",), "A2": ("A2",), "A3": ("A3",),
    "A4": ("A4",),
}  # fmt: skip


def frames_of_text(text: str, timebase: Timebase, start: int, length: int) -> Frames:
    """What each frame shows, read by columns and counted by OpenTimelineIO.

    A frame of a source at its own speed is its reel and source frame; of another, its reel, its
    source range and its place in it.
    """
    day = timebase.day
    shown = {track: [set() for _ in range(length)] for names in _TRACKS.values() for track in names}
    for match in filter(None, map(_EVENT.fullmatch, text.split("\r\n"))):
        reel, channels = match[2].strip(), match[3].strip()
        source_in, source_out, record_in, record_out = (
            frame_of(label, timebase) for label in match.group(6, 7, 8, 9)
        )
        taken, lasts = (source_out - source_in) % day, (record_out - record_in) % day
        for place in range(lasts):
            frame = (
                (reel, (source_in + place) % day)
                if taken == lasts
                else (reel, source_in, source_out, place)
            )
            for track in _TRACKS[channels]:
                shown[track][(record_in + place - start) % day].add(frame)
    return {track: [frozenset(each) for each in frames] for track, frames in shown.items()}


def changed(frames: Frames, adjustments: Sequence[Adjustment], start: int, day: int) -> Frames:
    """The frames after a change list, carried out on plain lists."""
    after = {track: list(each) for track, each in frames.items()}
    for change in reversed(adjustments):
        at = change.record.start - start
        for track in change.tracks:
            if change.extends:
                after[track][at:at] = list(_brought(change, day))
            else:
                del after[track][at : at + change.frames]
    return after


def changed_back(frames: Frames, adjustments: Sequence[Adjustment], start: int, day: int) -> Frames:
    """The frames before a change list, carried out backwards on plain lists."""
    before = {track: list(each) for track, each in frames.items()}
    for change in reversed(adjustments):
        at = change.new_record - start
        for track in change.tracks:
            if change.extends:
                del before[track][at : at + change.frames]
            else:
                before[track][at:at] = list(_brought(change, day))
    return before


def _brought(change: Adjustment, day: int) -> Iterator[frozenset[tuple[object, ...]]]:
    for place in range(change.frames):
        if change.source is None:
            yield frozenset()
        else:
            yield frozenset({(change.reel, (change.source.start + place) % day)})


def padded(frames: Frames) -> Frames:
    """Without the empty frames at the end of each track."""
    result = {}
    for track, each in frames.items():
        last = max((at for at, shown in enumerate(each) if shown), default=-1)
        result[track] = each[: last + 1]
    return result
