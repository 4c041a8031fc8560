"""Writing somebody's timeline anew after frames went out; what was not cut is left as it was."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from impactcut.core.programme.sequence import Piece
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.hold_length import HeldClock
from impactcut.core.recut.ripple import RippleClock
from impactcut.core.time.frames import FrameRange
from impactcut.lists.otio.library import library
from impactcut.lists.otio.sequence import Cell, Lane, Nest, TimelineSequence

Moved = Callable[[int], int]


def reissue_timeline(sequence: TimelineSequence, done: Recut, title: str) -> str:
    """The JSON of a timeline after its events were cut.

    A clip that is cut becomes several, each with all that the clip carried but its markers, which
    stand once, with the piece that shows their frame; one on a frame that went stands on the next.
    Gaps and nested stacks become shorter, their markers move along.

    Parameters
    ----------
    sequence : TimelineSequence
        Read for this alone: it is changed.
    done : Recut
        Of the same events.
    title : str
    """
    left: dict[int, list[Piece]] = {}
    for piece in done.pieces:
        left.setdefault(piece.event.index, []).append(piece)
    lanes = {id(lane.track): lane for lane in sequence.lanes}
    for nest in sequence.nests:
        lane = lanes.get(id(nest.item))
        pieces = () if lane is None else _pieces_of(lane, left)
        _move_marks(nest.item, nest.seen, nest.offset, _mover(pieces, done.clock))
        if nest.item.source_range is not None and isinstance(done.clock, RippleClock):
            _shorten_nest(nest, done.clock, pieces)
    for lane in sequence.lanes:
        children = list(_children(lane, left, done.clock))
        if [id(child) for child in children] != [id(cell.item) for cell in lane.cells]:
            del lane.track[:]
            lane.track.extend(children)
    sequence.timeline.name = title
    return str(sequence.timeline.to_json_string(indent=4)) + "\n"


def _pieces_of(lane: Lane, left: Mapping[int, Sequence[Piece]]) -> tuple[Piece, ...]:
    indices = (cell.index for cell in lane.cells if cell.index is not None)
    return tuple(piece for index in indices for piece in left[index])


def _mover(pieces: Sequence[Piece], clock: RippleClock | HeldClock) -> Moved:
    """Where record frames come to lie; on one track of held length, with the clips of that."""
    held = pieces and isinstance(clock, HeldClock)
    return HeldClock(pieces, any_track=True).moved if held else clock.moved


def _children(
    lane: Lane, left: dict[int, list[Piece]], clock: RippleClock | HeldClock
) -> Iterator[Any]:
    """What the track holds now. Whole sound that reaches into a gap takes its room from it."""
    otio = library()
    late = 0
    for cell in lane.cells:
        if cell.index is not None:
            pieces = sorted(left[cell.index], key=lambda piece: piece.record)
            yield from _cut(cell, pieces)
            if isinstance(clock, RippleClock):
                stop = clock.moved(pieces[0].event.record.stop)
                late = max(0, pieces[-1].record.stop - stop)
        elif isinstance(cell.item, otio.schema.Gap) and isinstance(clock, RippleClock):
            seen = _seen(cell, lane)
            gone = _gone(clock, seen.shifted(lane.offset))
            taken = min(late, len(seen) - gone)
            late -= taken
            if gone + taken:
                move = cell.own.start - cell.place.start
                _move_marks(cell.item, seen.shifted(move), lane.offset - move, clock.moved)
                _set_range(cell.item, FrameRange(0, len(cell.own) - gone - taken))
            if gone + taken < len(cell.own) or not _is_bare(cell.item):
                yield cell.item
        else:
            yield cell.item


def _seen(cell: Cell, lane: Lane) -> FrameRange:
    start = max(cell.place.start, lane.seen.start)
    return FrameRange(start, max(start, min(cell.place.stop, lane.seen.stop)))


def _gone(clock: RippleClock, record: FrameRange) -> int:
    return len(record) - len(clock.moved_range(record))


def _is_bare(gap: Any) -> bool:
    return not (gap.name or gap.effects or gap.markers or len(gap.metadata))


def _cut(cell: Cell, pieces: Sequence[Piece]) -> Iterator[Any]:
    """The clip, once for each of its pieces; what a nested stack's edge hides stays beside them."""
    source = pieces[0].event.source
    if [piece.source for piece in pieces] == [source]:
        yield cell.item
        return
    ranges = [FrameRange(min(cell.own.start, source.start), source.start)]
    ranges += [piece.source for piece in pieces]
    ranges += [FrameRange(source.stop, max(cell.own.stop, source.stop))]
    kept = _joined(filter(None, ranges))
    parts = [cell.item.deepcopy() for _ in kept]
    for part, frames in zip(parts, kept, strict=True):
        _set_range(part, frames.shifted(-cell.own.start))
        del part.markers[:]
    for marker in cell.item.markers:
        start = _frames_of(marker.marked_range.start_time, cell.item)
        later = (at for at, frames in enumerate(kept) if start < frames.stop)
        at = next(later, len(kept) - 1)
        copy = marker.deepcopy()
        if max(source.start, cell.own.start) <= start < kept[at].start:
            _shift_mark(copy, kept[at].start - math.floor(start), cell.item)
        parts[at].markers.append(copy)
    yield from parts


def _joined(ranges: Iterable[FrameRange]) -> list[FrameRange]:
    joined: list[FrameRange] = []
    for frames in ranges:
        if joined and joined[-1].stop == frames.start:
            joined[-1] = FrameRange(joined[-1].start, frames.stop)
        else:
            joined.append(frames)
    return joined


def _set_range(item: Any, frames: FrameRange) -> None:
    """Show ``frames`` of the item, counted from the first that it showed."""
    otio = library()
    was = item.trimmed_range()
    rate = was.duration.rate
    item.source_range = otio.opentime.TimeRange(
        otio.opentime.RationalTime(was.start_time.value + frames.start, rate),
        otio.opentime.RationalTime(len(frames), rate),
    )


def _shorten_nest(nest: Nest, clock: RippleClock, pieces: Iterable[Piece]) -> None:
    """Show as much as is left, and all of whole sound at the end."""
    record = clock.moved_range(nest.record)
    stop = max((piece.record.stop for piece in pieces), default=record.stop)
    gone = len(nest.record) - (max(record.stop, stop) - record.start)
    if gone:
        length = round(nest.item.source_range.duration.value) - gone
        _set_range(nest.item, FrameRange(0, length))


def _move_marks(item: Any, seen: FrameRange, offset: int, moved: Moved) -> None:
    """Move the markers of what is not a clip; those behind its end keep their place to it."""
    origin = moved(seen.start + offset) - seen.start
    gone = len(seen) - (moved(seen.stop + offset) - origin - seen.start)
    for marker in item.markers:
        time = _frames_of(marker.marked_range.start_time, item)
        frame = math.floor(time)
        if frame in seen:
            place = moved(frame + offset) - origin
            _shift_mark(marker, place - frame, item)
        elif frame >= seen.stop:
            _shift_mark(marker, -gone, item)


def _frames_of(time: Any, item: Any) -> float:
    """A time in frames of the timeline's own rate."""
    return float(time.value_rescaled_to(item.trimmed_range().duration.rate))


def _shift_mark(marker: Any, frames: int, item: Any) -> None:
    if not frames:
        return
    otio = library()
    was = marker.marked_range
    shift = otio.opentime.RationalTime(frames, item.trimmed_range().duration.rate)
    marker.marked_range = otio.opentime.TimeRange(
        was.start_time + shift.rescaled_to(was.start_time.rate), was.duration
    )
