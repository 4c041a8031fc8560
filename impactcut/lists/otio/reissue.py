"""Writing somebody's timeline anew after frames went out; what was not cut is left as it was."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from impactcut.core.grouping import in_runs
from impactcut.core.programme.sequence import Piece, SequenceEvent
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.hold_length import HeldClock
from impactcut.core.recut.recut_marks import Marks, source_frame
from impactcut.core.time.frames import FrameRange, Gaps
from impactcut.lists.otio.library import library
from impactcut.lists.otio.own import METADATA_KEY, id_of, is_stale, own_marker
from impactcut.lists.otio.sequence import (
    Cell,
    Lane,
    Nest,
    TimelineSequence,
    exact_rate,
    frame_of,
    in_frames,
)

Moved = Callable[[int], int]


def reissue_timeline(
    sequence: TimelineSequence,
    done: Recut,
    title: str,
    marks: Marks | None = None,
    own: Mapping[str, object] | None = None,
) -> str:
    """The JSON of a timeline after its events were cut.

    A clip that is cut becomes several, each with all that the clip carried but its markers, which
    stand once, with the piece that shows their frame; one on a frame that went stands on the next.
    Gaps and nested stacks become shorter, their markers move along. What this program wrote before
    is written anew: its metadata, its markers on the project's clips, and the ids of pieces.

    Parameters
    ----------
    sequence : TimelineSequence
        Read for this alone: it is changed.
    done : Recut
        Of the same events.
    marks : mapping of int to sequence of ProgrammeMark
        As of `impactcut.core.recut.recut_marks.marks_of_recut`.
    own : mapping
        The program's own metadata of the new timeline.
    """
    _Reissue(sequence, done, marks or {}).all()
    timeline = sequence.timeline
    timeline.name = title
    timeline.metadata.pop(METADATA_KEY, None)
    if own is not None:
        timeline.metadata[METADATA_KEY] = dict(own)
    return str(timeline.to_json_string(indent=4)) + "\n"


class _Reissue:
    """Changes a timeline in place."""

    def __init__(self, sequence: TimelineSequence, done: Recut, marks: Marks) -> None:
        self._sequence = sequence
        self._rate = sequence.rate
        self._clock = done.clock
        self._marks = marks
        self._left = done.left

    def all(self) -> None:
        lanes = {id(lane.track): lane for lane in self._sequence.lanes}
        for nest in self._sequence.nests:
            lane = lanes.get(id(nest.item))
            pieces = () if lane is None else self._pieces_of(lane)
            moved = _mover(pieces, self._clock)
            _move_marks(nest.item, nest.seen, nest.offset, moved, self._rate)
            if nest.item.source_range is not None and isinstance(self._clock, Gaps):
                _shorten_nest(nest, self._clock, pieces, self._rate)
        for lane in self._sequence.lanes:
            children = list(self._children(lane))
            if [id(child) for child in children] != [id(cell.item) for cell in lane.cells]:
                del lane.track[:]
                lane.track.extend(children)

    def _pieces_of(self, lane: Lane) -> tuple[Piece, ...]:
        indices = (cell.index for cell in lane.cells if cell.index is not None)
        return tuple(piece for index in indices for piece in self._left[index])

    def _children(self, lane: Lane) -> Iterator[Any]:
        """What the track holds now. Whole sound that reaches into a gap takes its room from it."""
        clock, late = self._clock, 0
        for cell in lane.cells:
            if cell.index is not None:
                pieces = self._left[cell.index]
                yield from self._cut(cell, pieces)
                if isinstance(clock, Gaps):
                    stop = clock.moved(pieces[0].event.record.stop)
                    late = max(0, pieces[-1].record.stop - stop)
            elif isinstance(cell.item, library().schema.Gap) and isinstance(clock, Gaps):
                seen = cell.place.shared(lane.seen)
                gone = _gone(clock, seen.shifted(lane.offset))
                taken = min(late, len(seen) - gone)
                late -= taken
                if gone + taken:
                    move = cell.own.start - cell.place.start
                    own = seen.shifted(move)
                    _move_marks(cell.item, own, lane.offset - move, clock.moved, self._rate)
                    left = FrameRange(0, len(cell.own) - gone - taken)
                    _set_range(cell.item, left, self._rate)
                if gone + taken < len(cell.own) or not _is_bare(cell.item):
                    yield cell.item
            else:
                yield cell.item

    def _cut(self, cell: Cell, pieces: Sequence[Piece]) -> Iterator[Any]:
        """The clip, once for each of its pieces; what an edge hides stays beside them."""
        source = pieces[0].event.source
        if [piece.source for piece in pieces] == [source]:
            kept, parts = [cell.own], [cell.item]
        else:
            ranges = [FrameRange(min(cell.own.start, source.start), source.start)]
            ranges += [piece.source for piece in pieces]
            ranges += [FrameRange(source.stop, max(cell.own.stop, source.stop))]
            kept = _joined(filter(None, ranges))
            parts = [cell.item.deepcopy() for _ in kept]
            for part, frames in zip(parts, kept, strict=True):
                _set_range(part, frames.shifted(-cell.own.start), self._rate)
                _give_id(part, frames, pieces[0].record.start)
                del part.markers[:]
            self._share_markers(cell, source, kept, parts)
        self._mark(pieces[0].event, kept, parts)
        yield from parts

    def _share_markers(
        self, cell: Cell, source: FrameRange, kept: Sequence[FrameRange], parts: Sequence[Any]
    ) -> None:
        """Put each marker of a clip on the one of its parts that shows its frame, or the next."""
        for marker in cell.item.markers:
            start = frame_of(marker, self._rate)
            later = (at for at, frames in enumerate(kept) if start < frames.stop)
            at = next(later, len(kept) - 1)
            copy = marker.deepcopy()
            if max(source.start, cell.own.start) <= start < kept[at].start:
                _shift_mark(copy, kept[at].start - start, self._rate)
            parts[at].markers.append(copy)

    def _mark(self, event: SequenceEvent, kept: Sequence[FrameRange], parts: Sequence[Any]) -> None:
        """Put the program's own markers on the parts of a clip, in place of stale ones."""
        if event.clip is None:
            return
        marks = self._marks.get(event.index, ())
        for part in parts:
            kept_on = [marker for marker in part.markers if not is_stale(marker, marks)]
            if len(kept_on) < len(part.markers):
                part.markers[:] = kept_on
        for mark in marks:
            frame = source_frame(event, mark)
            at = next(at for at, frames in enumerate(kept) if frame in frames)
            parts[at].markers.append(own_marker(mark, frame, float(self._rate)))


def _give_id(part: Any, frames: FrameRange, record: int) -> None:
    """Let a part of a clip that had an id of this program's have one of its own."""
    own: Any = part.metadata.get(METADATA_KEY)
    if hasattr(own, "get") and "id" in own:
        own["id"] = id_of(f"{own['id']}/{frames.start}/{frames.stop}/{record}")


def _mover(pieces: Sequence[Piece], clock: Gaps | HeldClock) -> Moved:
    """Where record frames come to lie; on one track of held length, with the clips of that."""
    held = pieces and isinstance(clock, HeldClock)
    return HeldClock(pieces, any_track=True).moved if held else clock.moved


def _gone(clock: Gaps, record: FrameRange) -> int:
    return len(record) - len(clock.moved_range(record))


def _is_bare(gap: Any) -> bool:
    return not (gap.name or gap.effects or gap.markers or len(gap.metadata))


def _joined(ranges: Iterable[FrameRange]) -> list[FrameRange]:
    runs = in_runs(ranges, lambda before, after: before.stop == after.start)
    return [FrameRange(run[0].start, run[-1].stop) for run in runs]


def _set_range(item: Any, frames: FrameRange, rate: Fraction) -> None:
    """Show ``frames`` of the item, counted from the first that it showed."""
    was = item.trimmed_range()
    start, stop = (_edge(was, frame, rate) for frame in (frames.start, frames.stop))
    item.source_range = library().opentime.TimeRange(start, stop - start)


def _edge(was: Any, frame: int, rate: Fraction) -> Any:
    """Where a frame of a range begins; in samples the nearest, but the range's own ends as is."""
    start, stop = was.start_time, was.end_time_exclusive()
    if exact_rate(start.rate) == rate:
        return library().opentime.RationalTime(start.value + frame, start.rate)
    first, last = round(in_frames(start, rate)), round(in_frames(stop, rate))
    if frame in (0, last - first):
        return stop if frame else start
    sample = round((first + frame) * Fraction(start.rate) / rate)
    return library().opentime.RationalTime(sample, start.rate)


def _shorten_nest(nest: Nest, clock: Gaps, pieces: Iterable[Piece], rate: Fraction) -> None:
    """Show as much as is left, and all of whole sound at the end."""
    record = clock.moved_range(nest.record)
    stop = max((piece.record.stop for piece in pieces), default=record.stop)
    gone = len(nest.record) - (max(record.stop, stop) - record.start)
    if gone:
        length = round(in_frames(nest.item.source_range.duration, rate)) - gone
        _set_range(nest.item, FrameRange(0, length), rate)


def _move_marks(item: Any, seen: FrameRange, offset: int, moved: Moved, rate: Fraction) -> None:
    """Move the markers of what is not a clip; those behind its end keep their place to it."""
    origin = moved(seen.start + offset) - seen.start
    gone = len(seen) - (moved(seen.stop + offset) - origin - seen.start)
    for marker in item.markers:
        frame = frame_of(marker, rate)
        if frame in seen:
            place = moved(frame + offset) - origin
            _shift_mark(marker, place - frame, rate)
        elif frame >= seen.stop:
            _shift_mark(marker, -gone, rate)


def _shift_mark(marker: Any, frames: int, rate: Fraction) -> None:
    if not frames:
        return
    was = marker.marked_range
    shift = library().opentime.RationalTime(frames, float(rate))
    marker.marked_range = library().opentime.TimeRange(
        was.start_time + shift.rescaled_to(was.start_time.rate), was.duration
    )
