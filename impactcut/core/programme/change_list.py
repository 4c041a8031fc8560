"""The change list: ordered adjustments that turn one version of a programme into the next.

It is taken from what both versions show, whatever made the one into the other. Record places are
those of the old version, unless they are called new.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from operator import itemgetter
from typing import Literal

from impactcut.core.grouping import grouped
from impactcut.core.programme.sequence import Piece, SequenceEvent
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.meeting import Meeting
from impactcut.core.time.timebase import Timebase

Operation = Literal[
    "add clip", "close gap", "extend head", "extend tail", "open gap", "put back", "remove clip",
    "remove inside", "trim head", "trim tail",
]  # fmt: skip
EXTENSIONS: tuple[Operation, ...] = (
    "add clip", "extend head", "extend tail", "open gap", "put back",
)  # fmt: skip


@dataclass(frozen=True)
class Adjustment:
    """Frames that go, or come in, at one place on some tracks; what is later moves by as many.

    Parameters
    ----------
    operation : str
        ``remove inside``, ``trim head``, ``trim tail``: frames of an event go. ``close gap``:
        frames go on which the tracks hold nothing. ``extend head``, ``extend tail``: frames of
        an event come in. Between versions that were handed over also ``put back``: frames come
        back inside an event; ``add clip``, ``remove clip``; and ``open gap``: nothing comes in.
    record : FrameRange
        Frames that go; where frames come in, the empty range before which they do.
    new_record : int
        Where that is in the new version.
    frames : int
        How many.
    running_offset : int
        Frames by which the tracks are shorter up to here, these included.
    event : int
        Number of the event in the old version; 0 for a gap.
    reel, clip : str
        Empty for a gap.
    source : FrameRange or None
        Source frames that go or come in; None for a gap, and for sound without timecode.
    """

    operation: Operation
    tracks: frozenset[str]
    record: FrameRange
    new_record: int
    frames: int
    running_offset: int
    event: int = 0
    reel: str = ""
    clip: str = ""
    source: FrameRange | None = None
    source_clock: Timebase | None = None
    note: str = ""

    @property
    def extends(self) -> bool:
        """Whether frames come in."""
        return self.operation in EXTENSIONS


@dataclass(frozen=True)
class ChangeList:
    """What turns the old version of a programme into the new one.

    Parameters
    ----------
    timebase : Timebase
        Of the record clock.
    record_start : int
        Record frame at which both versions start.
    old_length, new_length : int
        Frames from there to the last out.
    adjustments : tuple of Adjustment
        In record order.
    """

    old_title: str
    new_title: str
    timebase: Timebase
    record_start: int
    old_length: int
    new_length: int
    adjustments: tuple[Adjustment, ...]


@dataclass(frozen=True)
class Cause:
    """Why the frames of a place go: a few words."""

    record: FrameRange
    words: str


def change_list(
    titles: tuple[str, str],
    timebase: Timebase,
    events: Sequence[SequenceEvent],
    pieces: Sequence[Piece],
    causes: Sequence[Cause] = (),
) -> ChangeList:
    """Compare two versions of a programme.

    Parameters
    ----------
    titles : tuple of str
        Of the old version, and of the new.
    events : sequence of SequenceEvent
        The old version; at least one.
    pieces : sequence of Piece
        The new version: what is left of every event, each with a piece at least.
    causes : sequence of Cause
        For the notes, and for where in a gap frames went.
    """
    start = min(event.record.start for event in events)
    tracks = sorted({track for event in events for track in event.tracks})
    merged: dict[Adjustment, frozenset[str]] = {}
    meeting = Meeting((cause.record, (at, cause)) for at, cause in enumerate(causes))
    for track in tracks:
        for adjustment in _of_track(track, start, events, pieces, meeting):
            merged[adjustment] = merged.get(adjustment, frozenset()) | {track}
    rows = [replace(each, tracks=named) for each, named in merged.items()]
    return ChangeList(
        *titles,
        timebase,
        start,
        max(event.record.stop for event in events) - start,
        max(piece.record.stop for piece in pieces) - start,
        tuple(sorted(rows, key=_order)),
    )


_Causes = Meeting[tuple[int, Cause]]
"""Why frames go, each with its place among the causes."""


def _order(adjustment: Adjustment) -> tuple[FrameRange, bool]:
    return adjustment.record, adjustment.operation == "extend head"


def _of_track(
    track: str,
    start: int,
    events: Iterable[SequenceEvent],
    pieces: Iterable[Piece],
    causes: _Causes,
) -> Iterator[Adjustment]:
    """The adjustments of one track, without its name: the same on other tracks are equal.

    An event of no length shows nothing and bounds no gap.
    """
    left = grouped((piece.event.index, piece) for piece in pieces if track in piece.tracks)
    on_track = (event for event in events if track in event.tracks and event.record)
    old_stop = new_stop = start
    for event in sorted(on_track, key=lambda each: (each.record, each.index)):
        kept = sorted(left[event.index], key=lambda piece: piece.record)
        gap = FrameRange(min(old_stop, event.record.start), event.record.start)
        closed = event.record.start - old_stop - (kept[0].record.start - new_stop)
        offset = old_stop - new_stop
        for adjustment in (*_closed(gap, closed, causes), *_of_event(event, kept)):
            new_record = adjustment.record.start - offset
            offset += -adjustment.frames if adjustment.extends else adjustment.frames
            yield replace(
                adjustment,
                new_record=new_record,
                running_offset=offset,
                note=_note(adjustment, causes),
            )
        old_stop, new_stop = event.record.stop, kept[-1].record.stop


def _closed(gap: FrameRange, frames: int, causes: _Causes) -> Iterator[Adjustment]:
    """The parts of a gap that go: where frames went on other tracks, if those are all."""
    if frames < 0 or frames > len(gap):
        raise ValueError(f"{frames} frames cannot go from a gap of {len(gap)}")
    parts = sorted({gap.shared(cause.record) for _, cause in causes.of(gap)})
    if sum(map(len, parts)) != frames:
        parts = [FrameRange(gap.stop - frames, gap.stop)] if frames else []
    for part in parts:
        yield Adjustment("close gap", frozenset(), part, 0, len(part), 0)


def _of_event(event: SequenceEvent, kept: Sequence[Piece]) -> Iterator[Adjustment]:
    if event.untimed:
        yield from _of_untimed(event, kept[-1])
        return
    source = event.source
    head, tail = kept[0].source.start, kept[-1].source.stop
    if head < source.start:
        yield _of_frames("extend head", event, FrameRange(head, source.start))
    elif head > source.start:
        yield _of_frames("trim head", event, FrameRange(source.start, head))
    for before, after in pairwise(kept):
        gone = FrameRange(before.source.stop, after.source.start)
        yield _of_frames("remove inside", event, gone)
    if tail < source.stop:
        yield _of_frames("trim tail", event, FrameRange(tail, source.stop))
    elif tail > source.stop:
        yield _of_frames("extend tail", event, FrameRange(source.stop, tail))


def _of_untimed(event: SequenceEvent, kept: Piece) -> Iterator[Adjustment]:
    """Sound of which nobody knows the source frames can give up its end, and nothing else."""
    gone = len(event.record) - len(kept.record)
    if gone:
        tail = FrameRange(event.record.stop - gone, event.record.stop)
        named = event.name if event.clip is None else event.clip.name
        yield Adjustment(
            "trim tail", frozenset(), tail, 0, gone, 0, event.number, event.reel, named
        )


def _of_frames(operation: Operation, event: SequenceEvent, source: FrameRange) -> Adjustment:
    record = source.shifted(event.record.start - event.source.start)
    if operation == "extend head":
        record = FrameRange(record.stop, record.stop)
    elif operation == "extend tail":
        record = FrameRange(record.start, record.start)
    return Adjustment(
        operation=operation,
        tracks=frozenset(),
        record=record,
        new_record=0,
        frames=len(source),
        running_offset=0,
        event=event.number,
        reel=event.reel,
        clip=event.name if event.clip is None else event.clip.name,
        source=source,
        source_clock=event.source_clock,
    )


def _note(adjustment: Adjustment, causes: _Causes) -> str:
    if adjustment.extends:
        return "holds the length"
    words = [cause.words for _, cause in sorted(causes.of(adjustment.record), key=itemgetter(0))]
    return "; ".join(dict.fromkeys(words)) or "makes way for what moved up"
